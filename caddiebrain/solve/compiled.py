"""How loops are compiled to machine code by numba (extra ``compiled``), and the types they share.

Machine code is kept by the file of its loop: who changes a number here compiles the files that use it anew.
"""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = ["DOWN", "UP", "Floats", "Index", "Singles", "compiled", "unsigned"]

DOWN, UP = 1.0 - 2.0**-22, 1.0 + 2.0**-22
"""What is left of a number so that roundings to single precision take it no higher, or no lower, than it was.

Nor do rows that sum to one within 1e-9, where a line's level is subtracted once for the row."""

F = TypeVar("F", bound=Callable[..., Any])
Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Index = NDArray[Any]

unsigned = numba.uint64  # so that no index is taken to count from the end


def compiled(function: F) -> F:
    """Compile for the types of the first call, and keep the machine code where there is a place to write it."""
    options = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}}
    try:
        return cast(F, numba.njit(cache=True, **options)(function))
    except RuntimeError:  # numba found no place for a cache
        return cast(F, numba.njit(**options)(function))
