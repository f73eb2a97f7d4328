"""Packages whose modules are opened when a name of theirs is first used: whoever plans a round needs few of them."""

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from typing import Any

__all__ = ["opener"]


def opener(package: str, modules: Mapping[str, Sequence[str]]) -> Callable[[str], Any]:
    """Make the ``__getattr__`` of a package.

    Parameters
    ----------
    package : str
        Its full name.
    modules : mapping of str to sequence of str
        Public names by the module they come from; modules are found by their own names, too.
    """
    home = {name: module for module, names in modules.items() for name in names}

    def opened(name: str) -> Any:
        if name in home:
            return getattr(import_module(f"{package}.{home[name]}"), name)
        if name in modules:
            return import_module(f"{package}.{name}")
        raise AttributeError(f"module {package!r} has no attribute {name!r}")

    return opened
