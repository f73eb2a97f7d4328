"""Lets these tests import the small holes beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
