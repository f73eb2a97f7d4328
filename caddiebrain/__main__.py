"""``python -m caddiebrain`` is the command line."""

import sys

from caddiebrain.cli import main

__all__: list[str] = []

if __name__ == "__main__":
    sys.exit(main())
