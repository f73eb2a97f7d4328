"""Lets these tests use the reference answers beside them and the named graphs of ``tests/graph``."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "graph")]
