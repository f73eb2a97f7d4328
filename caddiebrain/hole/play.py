"""Holes played ball by ball in continuous positions: what the compiled graph is checked against.

Many balls are played at once. Every stroke draws its errors from the player's own distribution, flies and rolls
by the compiler's functions over a raster of ``CELL`` yards, and rests where it rests: no lattice, no spots, no
quadrature points. Lies, putting distances and crossings into penalty areas are read from the true position, and
trees stop a ball where its own path meets them.

A plan decides at nodes, so a ball takes the decision of the nearest node of its lie, re-aimed: a shot is played
at the point the node aims at (for a short shot that sets its length as well), a putt with the pace of the nearest
putting distance. Relief from a penalty area is the best by the plan's own interpolated values.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from caddiebrain.errors import SolveError
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.compile import HoleCompiler
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE, PENALTY, Ground, survey
from caddiebrain.hole.places import NO_SPOT, putt_distances
from caddiebrain.hole.strokes import Balls, fly_full, hit_short
from caddiebrain.hole.swings import FullSwing, ShortSwing
from caddiebrain.hole.trouble import Relief, relief_at
from caddiebrain.player.model import PuttingSkill
from caddiebrain.player.putting import BALL_RADIUS_FT, CAPTURE_FT, HOLE_RADIUS_FT
from caddiebrain.terms import Lie

__all__ = ["CELL", "Decisions", "HolePlay", "putt_once"]

CELL = 0.5
"""Side of the raster's cells, yards; half of the compiler's and more than its usual error of a lie's edge."""
_MOST_TURNS = 60
_WALK_YD = 0.5
_BLOCK_YD = 1.0
_FINER = 1e-7
"""Weight of the expected score among reliefs that serve the target equally."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Decisions:
    """What to do at every node and putting distance; row 0 for the lowest expected score.

    Row ``1 + k`` is for ``least + k`` strokes left before the stroke; strokes left outside these rows play row 0.

    Parameters
    ----------
    table : ChoiceTable
    choice : ndarray (rows, nodes)
        Row of the table.
    pace : ndarray (rows, putts)
        Index into ``PACES_FT``.
    strokes : ndarray (kept states,)
        Expected strokes to hole out from cup, putts and nodes.
    chance : ndarray (rows - 1, kept states)
        Chance of the round with ``least + k`` strokes left.
    """

    table: ChoiceTable
    choice: NDArray[np.int64]
    pace: NDArray[np.int64]
    strokes: Floats
    chance: Floats
    least: int

    def row(self, left: NDArray[np.int64]) -> NDArray[np.int64]:
        """Row for numbers of strokes left."""
        at = left - self.least
        return np.where((at >= 0) & (at < len(self.chance)), at + 1, 0)

    def worth(self, left: NDArray[np.int64], states: NDArray[np.int64], weights: Floats) -> Floats:
        """Worth, larger is better, of mixtures of states (n, m) with strokes left (n,) once a drop is paid."""
        finer = -((self.strokes[states] * weights).sum(axis=1) - left)
        if len(self.chance) == 0:
            return np.asarray(finer)
        at = np.clip(left - self.least, 0, len(self.chance) - 1)
        chance = (self.chance[at[:, None], states] * weights).sum(axis=1)
        chance = np.where(
            left < self.least, 0.0, np.where(left - self.least >= len(self.chance), 1.0, chance)
        )
        return np.asarray(chance + _FINER * finer)


class HolePlay:
    """Plays one hole.

    Parameters
    ----------
    compiler : HoleCompiler
        For the player, the day, and the nodes decisions are made at.
    cell : float
        Side of the raster's cells, yards.
    """

    def __init__(self, compiler: HoleCompiler, cell: float = CELL) -> None:
        self.compiler = compiler
        self.ground: Ground = survey(
            compiler.hole, compiler.grid.__class__(cell=cell, margin=compiler.grid.margin)
        )

    def play(
        self, decisions: Decisions, left: NDArray[np.int64], rng: np.random.Generator
    ) -> NDArray[np.int64]:
        """Play the hole once for each entry of ``left``.

        Parameters
        ----------
        decisions : Decisions
        left : ndarray of int (n,)
            Strokes left under the target on the tee.
        rng : numpy.random.Generator

        Returns
        -------
        ndarray of int (n,)
            Strokes taken.

        Raises
        ------
        SolveError
            If a ball is not holed in 60 turns.
        """
        n = len(left)
        tee = self.compiler.hole.tee
        balls = Balls(
            np.full(n, tee[0]), np.full(n, tee[1]), np.full(n, CODE[Lie.TEE]), np.zeros(n, np.int64)
        )
        putting: list[tuple[NDArray[np.int64], Floats]] = []
        playing = np.arange(n)
        for _ in range(_MOST_TURNS):
            if playing.size == 0:
                break
            self._turn(decisions, balls, playing, left, rng)
            playing = playing[~balls.holed[playing]]
            green = balls.lie[playing] == CODE[Lie.GREEN]
            there = playing[green]
            putting.append((there, self._feet(balls, there)))
            playing = playing[~green]
        if playing.size:
            raise SolveError(f"{playing.size} of {n} balls not on the green after {_MOST_TURNS} turns")
        who = np.concatenate([p[0] for p in putting])
        feet = np.concatenate([p[1] for p in putting])
        self._putt_out(decisions, balls, who, feet, left, rng)
        return balls.strokes

    def _feet(self, balls: Balls, who: NDArray[np.int64]) -> Floats:
        return np.asarray(3.0 * self.ground.from_pin(balls.x[who], balls.y[who]), dtype=np.float64)

    # -- strokes from tee to green ------------------------------------------------------------------------

    @cached_property
    def _nodes_of_lie(self) -> dict[int, tuple[NDArray[np.int64], Any]]:
        places = self.compiler.places
        found: dict[int, tuple[NDArray[np.int64], Any]] = {}
        for code in np.unique(places.lie):
            nodes = np.flatnonzero(places.lie == code)
            found[int(code)] = (nodes, KDTree(np.stack([places.x[nodes], places.y[nodes]], axis=1)))
        return found

    def _node(self, balls: Balls, who: NDArray[np.int64]) -> NDArray[np.int64]:
        """Nearest node of each ball's lie; a lie the compiler's raster does not show is taken for rough."""
        node = np.empty(len(who), np.int64)
        lie = balls.lie[who]
        for code in np.unique(lie):
            if int(code) not in self._nodes_of_lie:
                code_there = CODE[Lie.ROUGH] if CODE[Lie.ROUGH] in self._nodes_of_lie else 0
                balls.lie[who[lie == code]] = code_there
            at = np.flatnonzero(lie == code)
            nodes, tree = self._nodes_of_lie[int(balls.lie[who[at[0]]])]
            node[at] = nodes[tree.query(np.stack([balls.x[who[at]], balls.y[who[at]]], axis=1))[1]]
        return node

    def _turn(
        self,
        decisions: Decisions,
        balls: Balls,
        who: NDArray[np.int64],
        left: NDArray[np.int64],
        rng: np.random.Generator,
    ) -> None:
        """Let every ball of ``who`` make its next choice."""
        node = self._node(balls, who)
        row = decisions.choice[decisions.row(left[who] - balls.strokes[who]), node]
        table = decisions.table
        heading, distance = self._re_aimed(table, row, node, balls, who)
        lie = balls.lie[who].astype(np.int64)
        key = (lie * 8 + table.kind[row]) * 4096 + np.where(table.kind[row] == Kind.DROP, 0, table.index[row])
        for value in np.unique(key):
            at = np.flatnonzero(key == value)
            kind, code = Kind(table.kind[row[at[0]]]), int(lie[at[0]])
            if kind is Kind.DROP:
                self._drop(balls, who[at], node[at], table.index[row[at]], table.distance[row[at]])
                continue
            swing = self._swing(kind, code, int(table.index[row[at[0]]]))
            self._strike(decisions, balls, who[at], swing, kind, heading[at], distance[at], left, rng)

    def _swing(self, kind: Kind, code: int, index: int) -> FullSwing | ShortSwing:
        arsenal = self.compiler.arsenal
        if kind is Kind.PUNCH:
            return arsenal.punch
        swings: tuple[FullSwing | ShortSwing, ...] = (
            arsenal.full[code] if kind is Kind.FULL else arsenal.short[code]
        )
        return next(s for s in swings if s.index == index)

    def _re_aimed(
        self,
        table: ChoiceTable,
        row: NDArray[np.int64],
        node: NDArray[np.int64],
        balls: Balls,
        who: NDArray[np.int64],
    ) -> tuple[Floats, Floats]:
        """Heading and distance from each ball to the point its node aims at."""
        places = self.compiler.places
        full = table.kind[row] == Kind.FULL
        reach = np.where(full, self._reach[np.where(full, table.index[row], 0)], table.distance[row])
        heading = table.heading[row]
        dx = places.x[node] + reach * np.sin(heading) - balls.x[who]
        dy = places.y[node] + reach * np.cos(heading) - balls.y[who]
        return np.arctan2(dx, dy), np.maximum(np.hypot(dx, dy), 0.5)

    @cached_property
    def _reach(self) -> Floats:
        """Reach of each pattern from the first lie it is played from, yards."""
        reach = np.ones(len(self.compiler.player.patterns))
        for swings in self.compiler.arsenal.full.values():
            for swing in swings:
                reach[swing.index] = swing.reach_yd
        return reach

    def _strike(
        self,
        decisions: Decisions,
        balls: Balls,
        who: NDArray[np.int64],
        swing: FullSwing | ShortSwing,
        kind: Kind,
        heading: Floats,
        distance: Floats,
        left: NDArray[np.int64],
        rng: np.random.Generator,
    ) -> None:
        x, y = balls.x[who], balls.y[who]
        if isinstance(swing, FullSwing):
            end_x, end_y, holed = fly_full(self.ground, x, y, heading, swing, self.compiler.wind_to_deg, rng)
        else:
            distance = np.minimum(distance, swing.shot.longest_yd)
            end_x, end_y, holed = hit_short(
                self.ground, x, y, heading, distance, swing, kind is Kind.PUNCH, rng
            )
        self._rest(decisions, balls, who, end_x, end_y, holed, left, rng)

    def _rest(
        self,
        decisions: Decisions,
        balls: Balls,
        who: NDArray[np.int64],
        x: Floats,
        y: Floats,
        holed: NDArray[np.bool_],
        left: NDArray[np.int64],
        rng: np.random.Generator,
    ) -> None:
        """Count the stroke and settle each ball where it ended, or where the Rules send it."""
        balls.strokes[who] += 1
        balls.holed[who[holed]] = True
        frame = self.ground.frame
        edge = 1e-6
        x = np.clip(x, frame.x_min + edge, frame.x_min + frame.columns * frame.cell - edge)
        y = np.clip(y, frame.y_min + edge, frame.y_min + frame.rows * frame.cell - edge)
        cell = frame.index(x, y)
        lie = self.ground.lie[cell]
        lost = (rng.random(len(who)) < self.ground.lost[cell]) & ~np.isin(lie, PENALTY)
        out = ((lie == CODE[Lie.OUT]) | lost) & ~holed
        wet = np.isin(lie, PENALTY) & ~holed
        if self.ground.hole.local_rule_e5:
            kind = np.where(out, CODE[Lie.OUT], lie)
            self._relieve(decisions, balls, who, x, y, kind, wet | out, lost, left)
        else:
            balls.strokes[who[out]] += 1
            self._relieve(decisions, balls, who, x, y, lie, wet, lost, left)
        fine = ~(out | wet | holed)
        balls.x[who[fine]], balls.y[who[fine]], balls.lie[who[fine]] = x[fine], y[fine], lie[fine]

    # -- the Rules ----------------------------------------------------------------------------------------

    def _crossing(
        self, balls: Balls, who: NDArray[np.int64], x: Floats, y: Floats, walk: NDArray[np.bool_]
    ) -> tuple[Floats, Floats]:
        """Walk back from each ball toward where it was played until it is out of trouble."""
        x, y = x.copy(), y.copy()
        costly = [*PENALTY, CODE[Lie.OUT]] if self.ground.hole.local_rule_e5 else [*PENALTY]
        dx, dy = balls.x[who] - x, balls.y[who] - y
        far = np.maximum(np.hypot(dx, dy), 1e-9)
        in_it = np.flatnonzero(walk & (far > _WALK_YD))
        for _ in range(2000):
            if in_it.size == 0:
                break
            x[in_it] += dx[in_it] / far[in_it] * _WALK_YD
            y[in_it] += dy[in_it] / far[in_it] * _WALK_YD
            inside = np.isin(self.ground.lie_at(x[in_it], y[in_it]), costly)
            # A walk that reaches the player has nowhere else to go.
            beyond = np.hypot(balls.x[who[in_it]] - x[in_it], balls.y[who[in_it]] - y[in_it]) < _WALK_YD
            in_it = in_it[inside & ~beyond]
        return x, y

    def _relieve(
        self,
        decisions: Decisions,
        balls: Balls,
        who: NDArray[np.int64],
        x: Floats,
        y: Floats,
        lie: NDArray[np.integer],
        in_it: NDArray[np.bool_],
        lost: NDArray[np.bool_],
        left: NDArray[np.int64],
    ) -> None:
        """Choose between stroke and distance and the relief of the crossing point, by the plan's values."""
        if not in_it.any():
            return
        at = np.flatnonzero(in_it)
        who, lie = who[at], lie[at]
        x, y = self._crossing(balls, who, x[at], y[at], ~lost[at])
        block = np.stack([np.floor(x / _BLOCK_YD), np.floor(y / _BLOCK_YD), lie], axis=1)
        keys, which = np.unique(block, axis=0, return_inverse=True)
        which = which.ravel()
        remain = left[who] - balls.strokes[who]
        best = decisions.worth(remain - 1, *self._mixture(balls, who))
        target: list[Relief | None] = [None] * len(who)
        places, number = self.compiler.places, self.compiler.numbering
        for k in range(len(keys)):
            there = np.flatnonzero(which == k)
            first = there[0]
            for relief in relief_at(
                self.compiler.ground, places, float(x[first]), float(y[first]), int(keys[k, 2])
            ):
                states = np.broadcast_to(places.spot_node[relief.spot] + number.node, (len(there), 4))
                weights = np.broadcast_to(places.spot_weight[relief.spot], (len(there), 4))
                worth = decisions.worth(remain[there] - relief.strokes, states, weights)
                for i in there[worth > best[there]]:
                    target[i] = relief
                best[there] = np.maximum(best[there], worth)
        for i, chosen in enumerate(target):
            balls.strokes[who[i]] += 1 if chosen is None else chosen.strokes
            if chosen is not None:
                self._place(balls, who[i : i + 1], np.array([chosen.x]), np.array([chosen.y]), chosen.spot)

    def _mixture(self, balls: Balls, who: NDArray[np.int64]) -> tuple[NDArray[np.int64], Floats]:
        """Nodes (n, 4) and weights that stand for balls at rest, as the compiler interpolates them."""
        places, number = self.compiler.places, self.compiler.numbering
        spot = places.spot_of_cell[self.compiler.ground.frame.index(balls.x[who], balls.y[who])]
        # On the edge of a lie the two rasters differ; then the nearest node of the lie stands for the ball.
        state = np.repeat(self._node(balls, who)[:, None], 4, axis=1)
        weight = np.full((len(who), 4), 0.25)
        same = np.flatnonzero((spot != NO_SPOT) & (places.spot_lie[spot] == balls.lie[who]))
        state[same], weight[same] = places.spot_node[spot[same]], places.spot_weight[spot[same]]
        return state + number.node, weight

    def _place(
        self, balls: Balls, who: NDArray[np.int64], x: Floats, y: Floats, spot: NDArray[np.integer] | int
    ) -> None:
        """Put dropped balls down; where the fine raster does not show the lie of the spot, the spot's holds."""
        places = self.compiler.places
        balls.x[who], balls.y[who] = x, y
        balls.lie[who] = places.spot_lie[spot]

    def _drop(
        self,
        balls: Balls,
        who: NDArray[np.int64],
        node: NDArray[np.int64],
        spot: NDArray[np.int64],
        cost: Floats,
    ) -> None:
        """Ball unplayable: the node's drop, from the true position where that gives the same lie."""
        places = self.compiler.places
        x = balls.x[who] + places.spot_x[spot] - places.x[node]
        y = balls.y[who] + places.spot_y[spot] - places.y[node]
        same = (self.ground.lie_at(x, y) == places.spot_lie[spot]) & self.ground.frame.holds(x, y)
        x, y = np.where(same, x, places.spot_x[spot]), np.where(same, y, places.spot_y[spot])
        balls.strokes[who] += cost.astype(np.int64)
        self._place(balls, who, x, y, spot)

    # -- putting ------------------------------------------------------------------------------------------

    def _putt_out(
        self,
        decisions: Decisions,
        balls: Balls,
        who: NDArray[np.int64],
        feet: Floats,
        left: NDArray[np.int64],
        rng: np.random.Generator,
    ) -> None:
        skill = self.compiler.player.putting
        nodes = putt_distances()
        middle = 0.5 * (nodes[1:] + nodes[:-1])
        while who.size:
            row = decisions.row(left[who] - balls.strokes[who])
            pace = PACES_FT[decisions.pace[row, np.searchsorted(middle, feet)]]
            holed, feet = putt_once(skill, feet, pace, rng)
            balls.strokes[who] += 1
            balls.holed[who[holed]] = True
            who, feet = who[~holed], feet[~holed]


def putt_once(
    skill: PuttingSkill, feet: Floats, past: Floats, rng: np.random.Generator
) -> tuple[NDArray[np.bool_], Floats]:
    """Strike putts on a level green by the published model of two errors (Gelman 2019).

    Parameters
    ----------
    feet : ndarray (n,)
        Distance to the hole.
    past : ndarray (n,)
        How far past the hole the putt is meant to stop, feet.

    Returns
    -------
    holed : ndarray of bool (n,)
    leave : ndarray (n,)
        Feet left after a miss.
    """
    angle = np.deg2rad(skill.aim_sd_deg) * rng.standard_normal(len(feet))
    meant = feet + past
    rolled = np.maximum(meant * (1.0 + skill.pace_sd * rng.standard_normal(len(feet))), 0.0)
    half = np.arcsin(np.minimum((HOLE_RADIUS_FT - BALL_RADIUS_FT) / np.maximum(feet, 1e-6), 1.0))
    on_line = (np.abs(angle) < half) | (feet <= HOLE_RADIUS_FT - BALL_RADIUS_FT)
    holed = on_line & (rolled >= feet) & (rolled <= feet + CAPTURE_FT)
    leave = np.sqrt((feet - rolled) ** 2 + 4.0 * feet * rolled * np.sin(0.5 * angle) ** 2)
    return holed, leave
