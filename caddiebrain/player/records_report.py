"""What was read from records, as a record other programs can read."""

from pydantic import Field

from caddiebrain.player.patterns import Record
from caddiebrain.player.records import Records

__all__ = ["RecordsReport"]


class RecordsReport(Record):
    """What records hold, and what the reader had to say."""

    schema_version: int = Field(default=1, ge=1, le=1)
    source: str
    rows: dict[str, int] = Field(description="rows of each kind of table")
    warnings: tuple[str, ...]

    @classmethod
    def of(cls, records: Records, source: str) -> "RecordsReport":
        """Count the rows."""
        rows = {kind: len(next(iter(table.values()))) for kind, table in records.tables.items()}
        return cls(source=source, rows=rows, warnings=records.warnings)
