"""The command line: thin doors to the rooms. Data on standard output, everything else on standard error."""

from caddiebrain.cli.app import main

__all__ = ["main"]
