"""What a watcher sees on standard error while work goes on; nothing where nobody watches."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

__all__ = ["at_work", "progress_bar"]


@contextmanager
def progress_bar() -> Iterator[Callable[[int, int, str], None]]:
    """Show progress on standard error while the block runs, if someone is looking."""
    if not sys.stderr.isatty():
        yield lambda done, total, what: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.completed} of {task.total}"))
    console = Console(stderr=True)
    with Progress(*columns, TimeElapsedColumn(), console=console, transient=True) as bar:
        task = bar.add_task("plan", total=None)
        yield lambda done, total, what: bar.update(task, completed=done, total=total, description=what)


@contextmanager
def at_work(what: str) -> Iterator[None]:
    """Say what is being worked out while the block runs, and for how long already, if someone is looking."""
    if not sys.stderr.isatty():
        yield
        return
    columns = (TextColumn("{task.description}"), SpinnerColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as line:
        line.add_task(what, total=None)
        yield
