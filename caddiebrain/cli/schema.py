"""``caddiebrain schema``: the JSON Schema of every file and record."""

from pathlib import Path
from typing import Annotated

import typer

from caddiebrain.cli.output import show_text
from caddiebrain.schemas import SCHEMAS, schema_text, write_schemas

__all__ = ["run"]


def run(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Which one; a list of them when left out.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIRECTORY", help="Write all of them there.")
    ] = None,
) -> None:
    """Show the JSON Schema of a kind of file or record."""
    if name is not None and out is not None:
        raise typer.BadParameter("either a name or --out DIRECTORY, which writes every schema")
    if out is not None:
        write_schemas(out)
    elif name is not None:
        show_text(schema_text(name).rstrip("\n"))
    else:
        wide = max(map(len, SCHEMAS))
        show_text("\n".join(f"{key:<{wide}}  {entry.what}" for key, entry in SCHEMAS.items()))
