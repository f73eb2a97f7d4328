"""Words, tables and pictures from finished records. No arithmetic."""

__all__: list[str] = []
