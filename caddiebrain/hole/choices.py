"""Which choices a player has from every node: the table the compiler turns into a decision graph."""

from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["ChoiceTable", "Kind"]


class Kind(IntEnum):
    """What sort of choice a row is."""

    FULL = 0
    """A stock full shot; ``index`` is the pattern."""
    SHORT = 1
    """A short shot meant to stop after ``distance``; ``index`` is the short shot."""
    PUNCH = 2
    """A low shot under branches."""
    DROP = 3
    """Ball unplayable (Rule 19): dropped ``distance`` yards off on ``heading``; ``index`` counts the ways of
    `caddiebrain.hole.drops.WAYS`."""
    PUTT = 4
    """A putt at the hole from off the green; ``index`` counts the paces of `caddiebrain.hole.green.PACES_FT`."""


@dataclass(frozen=True)
class ChoiceTable:
    """Choices as parallel arrays (choices,); graphs are built from tables sorted by node.

    Parameters
    ----------
    node : ndarray of int64
    kind : ndarray of int8
        Members of ``Kind``.
    index : ndarray of int64
    heading : ndarray of float64
        Aimed line, or the way to where a ball is dropped, radians clockwise from the y axis.
    distance : ndarray of float64
        Yards a short shot, punch or putt is meant to stop at, or a ball is dropped at; 0 for full shots.
    step : ndarray of float64
        Radians to the neighbouring aim that was not tried; 0 where there is nothing to refine.
    """

    node: NDArray[np.int64]
    kind: NDArray[np.int8]
    index: NDArray[np.int64]
    heading: NDArray[np.float64]
    distance: NDArray[np.float64]
    step: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.node)

    def take(self, rows: NDArray[np.integer] | NDArray[np.bool_]) -> "ChoiceTable":
        """Return some of the rows, in the order given."""
        return ChoiceTable(
            self.node[rows],
            self.kind[rows],
            self.index[rows],
            self.heading[rows],
            self.distance[rows],
            self.step[rows],
        )

    def with_rows(self, rows: NDArray[np.integer], others: "ChoiceTable") -> "ChoiceTable":
        """Return the table with some of its rows, each once, replaced by the rows of another."""
        order = np.arange(len(self))
        order[rows] = len(self) + np.arange(len(others))
        return ChoiceTable.join([self, others]).take(order)

    @staticmethod
    def join(tables: "list[ChoiceTable]") -> "ChoiceTable":
        """Put tables together, one after the other."""
        columns = zip(*(t._columns() for t in tables), strict=True)
        return ChoiceTable(*(np.concatenate(column) for column in columns))

    def _columns(self) -> tuple[NDArray[Any], ...]:
        return self.node, self.kind, self.index, self.heading, self.distance, self.step

    def by_node(self) -> "ChoiceTable":
        """Sort by node alone; the choices of a node stay in their order."""
        return self.take(self.node_order())

    def node_order(self) -> NDArray[np.int64]:
        """Return the rows in the order of ``by_node``."""
        # Small numbers are sorted by counting.
        small = len(self) and int(self.node.max()) < 2**16
        return np.argsort(self.node.astype(np.uint16) if small else self.node, kind="stable")

    def ordered(self) -> "ChoiceTable":
        """Sort by node, then kind, index, distance and heading."""
        # One key for three: sorting is a good part of laying out a hole.
        first = (self.node * len(Kind) + self.kind) * (1 << 32) + self.index
        keys: list[NDArray[Any]] = [self.heading, self.distance, first]
        return self.take(np.lexsort(keys))

    @staticmethod
    def of(
        node: NDArray[np.integer],
        kind: Kind,
        index: int | NDArray[np.integer],
        heading: NDArray[np.floating] | float = 0.0,
        distance: NDArray[np.floating] | float = 0.0,
        step: NDArray[np.floating] | float = 0.0,
    ) -> "ChoiceTable":
        """Make a table of one kind; scalars are repeated for every node."""
        n = len(node)
        return ChoiceTable(
            np.asarray(node, dtype=np.int64),
            np.full(n, kind, dtype=np.int8),
            _column(index, n, np.int64),
            _column(heading, n, np.float64),
            _column(distance, n, np.float64),
            _column(step, n, np.float64),
        )


def _column(value: float | NDArray[Any], n: int, dtype: type) -> NDArray[Any]:
    column: NDArray[Any] = np.empty(n, dtype=dtype)
    column[:] = value
    return column
