"""Writing to standard output and to files, whole or not at all."""

import sys
from collections.abc import Mapping
from pathlib import Path

from rich.console import Console, RenderableType

__all__ = ["ReaderGone", "show", "show_text", "write_whole"]


class ReaderGone(Exception):  # noqa: N818  # not an error: the reader has had enough
    """Whoever read standard output has closed it; no `OSError`, which typer would swallow."""


def show(*pages: RenderableType) -> None:
    """Write pages for a reader: as wide as the terminal, 80 columns into a pipe, colour where welcome."""
    console = Console(highlight=False)
    with console.capture() as captured:
        for page in pages:
            console.print(page)
    show_text("\n".join(line.rstrip() for line in captured.get().splitlines()))


def show_text(text: str) -> None:
    """Write text as it is, with a line's end.

    Raises
    ------
    ReaderGone
        If nobody reads standard output any longer.
    """
    try:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        raise ReaderGone from None


def write_whole(files: Mapping[Path, str]) -> None:
    """Write files, each whole or not at all.

    Raises
    ------
    OSError
        If a place cannot be written to; nothing half written is left there.
    """
    drafts = {path: path.with_name(path.name + ".part") for path in files}
    try:
        for path, text in files.items():
            try:
                drafts[path].write_text(text, encoding="utf-8")
            except OSError as error:
                error.filename = str(path)  # the name the caller knows
                raise
        for path, draft in drafts.items():
            draft.replace(path)
    finally:
        for draft in drafts.values():
            if draft.parent.is_dir():
                draft.unlink(missing_ok=True)
