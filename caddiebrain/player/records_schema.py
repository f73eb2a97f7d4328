"""JSON Schema of a file of records, from the same tables of columns that the reader goes by."""

from typing import Any

from caddiebrain.player.records_columns import TABLES, Column, TableKind

__all__ = ["records_schema"]

Schema = dict[str, Any]

_UNITS = {"yd": "distance in the file's units, yards if none are declared", "ft": "the same, feet if none"}


def records_schema() -> Schema:
    """Return the schema of records as JSON.

    Headings stand as the reader names them. It also knows other words and spellings for them, and passes over
    columns it does not know, so further members of a row are allowed.
    """
    tables = {kind.name: {"$ref": f"#/$defs/{kind.name}"} for kind in TABLES}
    bundle = {
        "type": "object",
        "properties": {
            "schema_version": {"const": 1},
            "units": {"type": "string", "description": "yards or metres"},
            "notes": True,
            **tables,
            "rounds": {"$ref": "#/$defs/cards"},
        },
        "anyOf": [{"required": [name]} for name in (*tables, "rounds")],
        "additionalProperties": False,
    }
    rows = {"type": "array", "items": {"type": "object"}, "minItems": 1}
    return {
        "description": "tables by name, or the rows of one table whose kind its columns tell",
        "anyOf": [bundle, rows],
        "$defs": {kind.name: _table(kind) for kind in TABLES},
    }


def _table(kind: TableKind) -> Schema:
    """Rows, or columns of equal length."""
    cells = {column.name: _cell(column) for column in kind.columns}
    columns = {name: {"type": "array", "items": cell} for name, cell in cells.items()}
    return {
        "description": f"smallest form: {kind.minimal}",
        "anyOf": [
            {"type": "array", "items": {"type": "object", "properties": cells}},
            {"type": "object", "properties": columns},
        ],
    }


def _cell(column: Column) -> Schema:
    if column.kind in ("number", "count"):
        said = [_UNITS[column.unit]] if column.unit else []
        unit = f" {column.unit}" if column.unit else ""
        said.append(f"{column.low:g} to {column.high:g}{unit}")
        return {"type": ["number", "string", "null"], "description": "; ".join(said)}
    if column.kind == "yes":
        return {"type": ["boolean", "number", "string", "null"], "description": "yes or no"}
    words = {"date": "YYYY-MM-DD", "club": "such as driver, 7-iron or pw", "text": "any text"}
    return {"type": ["string", "number", "null"], "description": words.get(column.kind, column.kind)}
