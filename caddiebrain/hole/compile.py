"""The compiler: a hole, a player and a day become a decision graph.

Two steps, because a hole has far more choices than are worth working out finely: ``HoleCompiler.candidates`` lays out
clubs and fans of aims, all of them or a part, ``HoleCompiler.build`` turns any table of choices into a graph, with few
points for each shot or many. The caller solves a coarse graph, keeps what can matter, and builds again with fine
shots (``caddiebrain.round.sift``).
"""

from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.course.model import Hole
from caddiebrain.flight import Conditions, FlightTable
from caddiebrain.graph import StateGraph
from caddiebrain.hole.arsenal import Arsenal, arsenal_of
from caddiebrain.hole.assemble import Row, assemble
from caddiebrain.hole.barred import barred
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.drops import penalty_strokes, seldom_drops, spots_of, unplayable_drops
from caddiebrain.hole.entry import EntryTable
from caddiebrain.hole.full_shots import full_blocks
from caddiebrain.hole.grid import GridSpec
from caddiebrain.hole.ground import CODE, Ground, survey
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.off_green import putt_blocks
from caddiebrain.hole.places import Places, settle
from caddiebrain.hole.points import ErrorPoints, mixture_points
from caddiebrain.hole.propose import Fan, layups, propose
from caddiebrain.hole.resolve import Block, Scene
from caddiebrain.hole.resting import resting
from caddiebrain.hole.short_air import allowance
from caddiebrain.hole.short_shots import short_blocks
from caddiebrain.hole.short_swings import Allowance
from caddiebrain.hole.sight import Sight, Woods, close_sight, samples_upto
from caddiebrain.hole.swings import FullSwing
from caddiebrain.hole.trouble import Trouble, TroubleLog
from caddiebrain.player.model import Player, ShortShot
from caddiebrain.terms import Lie

__all__ = ["TEE_YD", "HoleCompiler", "HoleModel", "hemmed", "shaded"]

_TOGETHER = (Kind.FULL, Kind.DROP, Kind.PUTT)
"""Choices that are worked out together whatever their index."""
TEE_YD = 1.0
"""A ball this near to the tee in play is on it."""


@dataclass(frozen=True)
class HoleModel:
    """A compiled hole: the graph, and what its numbers mean.

    Parameters
    ----------
    graph : StateGraph
        State 0 is the cup; ``numbering`` tells the others.
    table : ChoiceTable
        The choices at nodes, in graph order.
    first_choice : int
        Graph index of the table's first choice.
    trouble : Trouble
        What the states after ``numbering.trouble`` stand for.
    """

    compiler: "HoleCompiler"
    graph: StateGraph
    table: ChoiceTable
    first_choice: int
    trouble: Trouble

    @property
    def numbering(self) -> Numbering:
        """State numbers of the hole."""
        return self.compiler.numbering

    @property
    def tee(self) -> int:
        """State of the ball on the tee."""
        return self.numbering.node


class HoleCompiler:
    """Compiles one hole for one player on one day.

    Parameters
    ----------
    hole : Hole
    player : Player
    flight : FlightTable
        The day's flight of ``player.patterns``, in order.
    conditions : Conditions
    grid : GridSpec
    firmness : float
        0 soft to 1 firm.
    arsenal : Arsenal, optional
        What `arsenal_of` gives for this player and day, where many holes share it.
    """

    def __init__(
        self,
        hole: Hole,
        player: Player,
        flight: FlightTable,
        conditions: Conditions,
        grid: GridSpec | None = None,
        firmness: float = 0.5,
        arsenal: Arsenal | None = None,
    ) -> None:
        self.hole, self.player = hole, player
        self.grid = grid or GridSpec()
        self.ground: Ground = survey(hole, self.grid)
        self.places: Places = settle(self.ground)
        self.numbering = Numbering.of(self.places, self.grid.putt_step_ft)
        self.arsenal = arsenal or arsenal_of(player, flight, conditions, firmness)
        self.to_go: NDArray[np.float32] | None = None

    def knowing(self, to_go: NDArray[np.floating] | None) -> "HoleCompiler":
        """Return a compiler that lets balls go back to where they were played, where that may be better.

        Parameters
        ----------
        to_go : ndarray (fixed states,) or None
            About how many strokes each state takes to hole out; without it every ball is played on from where it lies.
        """
        other = copy(self)
        other.to_go = None if to_go is None else to_go.astype(np.float32)
        return other

    def played_by(self, player: Player, arsenal: Arsenal) -> "HoleCompiler":
        """Return a compiler of the same hole, day and grid for another player."""
        other = copy(self)
        other.player, other.arsenal = player, arsenal
        return other

    @property
    def wind_to_deg(self) -> float | None:
        """Compass bearing the wind blows toward; None in still air."""
        return self.arsenal.wind_to_deg

    def wind_bins(self, swing: FullSwing, heading: NDArray[np.float64]) -> NDArray[np.int64]:
        """Wind bin of a swing on each heading (n,), radians in the hole's axes; 0 in still air."""
        if self.wind_to_deg is None:
            return np.zeros(len(heading), dtype=np.int64)
        return swing.bin_of(self.wind_to_deg - self.hole.bearing_deg - np.rad2deg(heading))

    def allowance(
        self, at: tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]], shot: ShortShot, low: bool
    ) -> Allowance | None:
        """Work out what short shots allow for, and feel, of wind and slope; see `short_air.allowance`."""
        return allowance(self.ground, self.arsenal.air, at, shot, low)

    def __getstate__(self) -> dict[str, Any]:
        # Made again sooner than read.
        return {name: value for name, value in self.__dict__.items() if name not in ("resting", "woods")}

    @cached_property
    def resting(self) -> csr_array:
        """Weights of kept states that stand for every fixed state."""
        return resting(self.places, self.numbering)

    @cached_property
    def woods(self) -> Woods:
        """Trees, ready to cast rays over from any position."""
        return Woods.of(self.ground)

    @cached_property
    def sight(self) -> Sight | None:
        """Trees seen from every node."""
        return self.woods.sight_from(self.places.x, self.places.y)

    @cached_property
    def tee_sight(self) -> Sight | None:
        """Trees seen from the tee in play, closely: all play comes from there, and no other node shares its errors."""
        x, y = self.hole.tee
        return close_sight(self.ground, np.array([x]), np.array([y]))

    @cached_property
    def entries(self) -> EntryTable:
        """Where balls cross into penalty areas."""
        return EntryTable.of(self.ground)

    @cached_property
    def hemmed(self) -> NDArray[np.bool_]:
        """Nodes with trees within 40 yards on the way to the pin."""
        return hemmed(self.ground, self.sight, self.places.x, self.places.y)

    @cached_property
    def shaded(self) -> NDArray[np.bool_]:
        """Nodes with trees somewhere on the way to the pin."""
        return shaded(self.ground, self.sight, self.places.x, self.places.y)

    def candidates(self, which: Fan = Fan.EVERY, nodes: NDArray[np.int64] | None = None) -> ChoiceTable:
        """Every club and a coarse fan of aims, less what trees bar; from the tee a fine fan.

        Parameters
        ----------
        which : Fan
            All of these choices, or a part; drops out of what a ball lies in belong to the middle.
        nodes : ndarray of int (n,), optional
            Some of the nodes; by default all.

        Returns
        -------
        ChoiceTable
            By node.
        """
        places = self.places
        nodes = np.arange(len(places.x)) if nodes is None else nodes
        x, y, lie = places.x[nodes], places.y[nodes], places.lie[nodes]
        trees = self.hemmed[nodes], self.shaded[nodes]
        swings = propose(
            self.ground, self.arsenal, nodes, x, y, lie, nodes == 0, trees[0], which, shaded=trees[1]
        )
        points = mixture_points(*self.grid.screen_points)
        swings = swings.take(~barred(self.sight, swings, places.lie[swings.node], self.arsenal, points))
        swings = swings.take((swings.kind != Kind.PUTT) | places.putts[swings.node])
        tables = [swings]
        if which is not Fan.REST:
            tables.append(unplayable_drops(self.ground, places, nodes, x, y, lie))
        if which is not Fan.MIDDLE:
            tables.append(seldom_drops(self.ground, places, nodes, x, y, lie, self.hemmed[nodes]))
        return ChoiceTable.join(tables).by_node()

    def layups(self, nodes: NDArray[np.int64]) -> ChoiceTable:
        """Layups with the longest short shot from some of the nodes: what is left where no full club serves."""
        places = self.places
        return layups(self.ground, self.arsenal, nodes, places.x[nodes], places.y[nodes], places.lie[nodes])

    def build(self, table: ChoiceTable, screen: bool = False) -> HoleModel:
        """Turn a table of choices into a decision graph.

        Parameters
        ----------
        table : ChoiceTable
            At least one choice for every node.
        screen : bool
            Few points for each shot (for sorting out choices), else many.
        """
        scene = self.own_scene()
        return self._model(table, self.blocks(scene, table, self.places.lie[table.node], screen), scene)

    def _model(self, table: ChoiceTable, blocks: list[Block], scene: Scene) -> HoleModel:
        trouble = Trouble.gather(scene.trouble, self.ground, self.places)
        row = Row(self.places, self.numbering, self.player.putting)
        graph, first = assemble(row, table, blocks, trouble)
        return HoleModel(self, graph, table, first, trouble)

    def own_scene(self) -> Scene:
        """Set the scene for shots from the nodes."""
        number = self.numbering
        origin = number.node + np.arange(number.nodes)
        return self.scene(self.places.x, self.places.y, origin, self.sight)

    def scene(
        self, x: NDArray[np.float64], y: NDArray[np.float64], origin: NDArray[np.int64], sight: Sight | None
    ) -> Scene:
        """Set the scene for shots from positions (x, y); see `Scene`."""
        return Scene(
            self.ground,
            self.places,
            self.entries,
            x,
            y,
            origin,
            sight,
            self.wind_to_deg,
            self.numbering,
            TroubleLog(),
            self.to_go,
        )

    def blocks(self, scene: Scene, table: ChoiceTable, lie: NDArray[np.uint8], screen: bool) -> list[Block]:
        """Work out the outcomes of every choice of a table, swing by swing; ``lie`` is (choices,)."""
        blocks: list[Block] = []
        swing = np.where(np.isin(table.kind, _TOGETHER), 0, table.index)
        group = (lie.astype(np.int64) * 8 + table.kind) * 1024 + swing
        order = np.argsort(group, kind="stable")
        edges = np.flatnonzero(np.diff(group[order], prepend=-1, append=-1))
        for start, stop in pairwise(edges):
            rows = order[start:stop]
            code = int(lie[rows[0]])
            if code == CODE[Lie.TEE] and self._on_the_tee(scene, table.node[rows]):
                # All play comes from there: most points and most rays.
                points, there = self.grid.tee_points, self._at_the_tee(scene)
            else:
                points, there = self.grid.screen_points if screen else self.grid.points, scene
            blocks.extend(self._group(there, table, rows, code, mixture_points(*points)))
        return blocks

    def _on_the_tee(self, scene: Scene, node: NDArray[np.int64]) -> bool:
        """Whether some nodes of a scene are the tee in play."""
        x, y = self.hole.tee
        return bool(np.hypot(scene.x[node] - x, scene.y[node] - y).max() <= TEE_YD)

    def _at_the_tee(self, scene: Scene) -> Scene:
        """Return the scene with the trees as they are seen from the tee in play."""
        sight = self.tee_sight
        if sight is not None:
            sight = replace(sight, row=np.full(len(scene.x), sight.row[0]))
        return replace(scene, sight=sight)

    def _group(
        self, scene: Scene, table: ChoiceTable, rows: NDArray[np.int64], code: int, points: ErrorPoints
    ) -> list[Block]:
        kind, index = Kind(table.kind[rows[0]]), int(table.index[rows[0]])
        if kind is Kind.FULL:
            swings = self.arsenal.swing_set(code, points)
            swing = np.searchsorted(swings.index, table.index[rows])
            return full_blocks(scene, table, rows, swing, swings)
        if kind is Kind.SHORT:
            short = next(s for s in self.arsenal.short[code] if s.index == index)
            return short_blocks(scene, table, rows, short.shot, points, self.arsenal.air)
        if kind is Kind.PUNCH:
            punch, air = self.arsenal.punch.shot, self.arsenal.air
            return short_blocks(scene, table, rows, punch, points, air, low=True)
        if kind is Kind.PUTT:
            return putt_blocks(scene, table, rows, self.arsenal.putter, points)
        dropped = table.take(rows)
        spot = spots_of(self.ground, self.places, scene.x[dropped.node], scene.y[dropped.node], dropped)
        state = (spot + self.numbering.spot).astype(np.int32)[:, None]
        strokes = penalty_strokes(dropped).astype(np.uint8)[:, None]
        return [Block(rows, state, np.ones(state.shape), strokes)]


def hemmed(
    ground: Ground, sight: Sight | None, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether trees stand within 40 yards of each position on the way to the pin."""
    return _ways_under_trees(ground, sight, x, y, np.full(len(x), 40.0)) >= 2


def shaded(
    ground: Ground, sight: Sight | None, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether trees stand anywhere on the way, or beside it, from each position to the pin."""
    to_pin = np.hypot(ground.hole.pin[0] - x, ground.hole.pin[1] - y)
    return _ways_under_trees(ground, sight, x, y, to_pin) >= 1


def _ways_under_trees(
    ground: Ground,
    sight: Sight | None,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    yards: NDArray[np.float64],
) -> NDArray[np.int64]:
    """How many of three ways toward the pin meet trees within so many yards, (n,)."""
    ways = np.zeros(len(x), dtype=np.int64)
    if sight is None:
        return ways
    px, py = ground.hole.pin
    sees = sight.row >= 0
    row, within = sight.row[sees][:, None], samples_upto(yards[sees])[:, None]
    toward = np.arctan2(px - x[sees], py - y[sees])[:, None] + np.deg2rad([-8.0, 0.0, 8.0])
    rays = sight.rays(np.broadcast_to(row, toward.shape), toward)
    met = np.zeros(toward.shape)
    for i in range(len(sight.canopies)):
        met += rays.yards(i, within)
    ways[sees] = (met > 0).sum(axis=1)
    return ways
