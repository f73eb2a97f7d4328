"""Reasons, reviews and practice: what a finished plan can be asked."""

__all__: list[str] = []
