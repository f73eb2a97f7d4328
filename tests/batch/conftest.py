"""Lets these tests, and the workers they start, import the jobs beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
