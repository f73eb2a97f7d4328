"""The version, in a file of its own: plans that are kept say what made them."""

__all__ = ["__version__"]

__version__ = "0.1.0"
