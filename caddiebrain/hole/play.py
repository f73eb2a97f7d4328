"""Holes played ball by ball in continuous positions: what the compiled graph is checked against.

Many balls are played at once. Every stroke draws its errors from the player's own distribution, flies and rolls
by the compiler's functions over a raster of ``CELL`` yards, and rests where it rests: no lattice, no spots, no
quadrature points. Lies, putting distances and crossings into penalty areas are read from the true position, and
trees stop a ball where its own path meets them.

A plan decides at nodes, so a ball takes the decision of the nearest node of its lie, re-aimed: a shot is played
at the point the node aims at (for a short shot that sets its length as well), a putt, on the green or off it, at the
hole with the pace of the nearest putting distance or node. Relief from a penalty area, where an unplayable ball is
dropped, and whether to play a ball again from where it came, are decided by the plan's own interpolated values. Among
trees, and where trees stand in the way, a gap ten yards off is no gap: there an adviser, if given, picks the choice
from where the ball lies.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import SolveError
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.compile import HoleCompiler
from caddiebrain.hole.decisions import Decisions
from caddiebrain.hole.drops import best_drops, dropped_at, penalty_strokes, spots_of
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE, PENALTY, Ground, survey
from caddiebrain.hole.nearest import NearestNodes
from caddiebrain.hole.penalties import Wet, best_relief, crossing
from caddiebrain.hole.places import NO_SPOT, putt_distances
from caddiebrain.hole.resolve import NEARLY
from caddiebrain.hole.short_swings import ShortSwing
from caddiebrain.hole.strokes import Balls, fly_full, hit_short, putt_from_off, putt_once
from caddiebrain.hole.swings import FullSwing
from caddiebrain.hole.trouble import Drops
from caddiebrain.terms import Lie

__all__ = ["CELL", "Adviser", "HolePlay", "Watcher"]

CELL = 0.5
"""Side of the raster's cells, yards; half of the compiler's and more than its usual error of a lie's edge."""
_MOST_TURNS = 60

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Adviser = Callable[[Floats, Floats, Ints, Ints, Ints], ChoiceTable]
"""Given x, y, lie codes, nearest nodes and strokes left (n,), a table of n choices in the same order."""
Watcher = Callable[[Ints, Floats, Floats, Ints, ChoiceTable], None]
"""Told which balls (n,) are about to be played off the green, their x, y and lie codes, and their choices."""


@dataclass(frozen=True)
class _Game:
    """Balls in play, what is decided for them, strokes left on the tee (n,), and chance.

    ``dropped`` (n,) marks balls that were unplayable and are not yet played.
    """

    balls: Balls
    decisions: Decisions
    left: NDArray[np.int64]
    rng: np.random.Generator
    adviser: Adviser | None
    watcher: Watcher | None
    dropped: NDArray[np.bool_]

    def remain(self, who: NDArray[np.int64]) -> NDArray[np.int64]:
        """Strokes left now."""
        return self.left[who] - self.balls.strokes[who]


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
        self.ground: Ground = survey(compiler.hole, replace(compiler.grid, cell=cell))

    def play(
        self,
        decisions: Decisions,
        left: NDArray[np.int64],
        rng: np.random.Generator,
        adviser: Adviser | None = None,
        watcher: Watcher | None = None,
    ) -> NDArray[np.int64]:
        """Play the hole once for each entry of ``left``.

        Parameters
        ----------
        decisions : Decisions
        left : ndarray of int (n,)
            Strokes left under the target on the tee.
        rng : numpy.random.Generator
        adviser : callable, optional
            Given x, y, lie codes, nearest nodes and strokes left of some balls, returns a choice for each.
        watcher : callable, optional
            Told every choice off the green, and where it is made.

        Returns
        -------
        ndarray of int (n,)
            Strokes taken.

        Raises
        ------
        SolveError
            If a ball is not on the green after 60 turns.
        """
        balls = Balls.on_the_tee(len(left), self.compiler.hole.tee)
        game = _Game(balls, decisions, left, rng, adviser, watcher, np.zeros(len(left), dtype=bool))
        putting = [np.zeros(0, np.int64)]
        playing = np.arange(len(left))
        for _ in range(_MOST_TURNS):
            if playing.size == 0:
                break
            self._turn(game, playing)
            playing = playing[~balls.holed[playing]]
            green = balls.lie[playing] == CODE[Lie.GREEN]
            putting.append(playing[green])
            playing = playing[~green]
        if playing.size:
            raise SolveError(
                f"{playing.size} of {len(left)} balls not on the green after {_MOST_TURNS} turns"
            )
        self._putt_out(game, np.concatenate(putting))
        return balls.strokes

    # -- strokes from tee to green ------------------------------------------------------------------------

    @cached_property
    def _nearest(self) -> NearestNodes:
        return NearestNodes(self.compiler.places)

    def _node(self, balls: Balls, who: NDArray[np.int64]) -> NDArray[np.int64]:
        """Nearest node of each ball's lie, and of those from which one putts where the ball can be putted."""
        places, spot = self.compiler.places, self._spot(balls, who)
        putts = (spot != NO_SPOT) & places.putts[places.spot_node[spot, 0]]
        node, balls.lie[who] = self._nearest.of(balls.x[who], balls.y[who], balls.lie[who], putts)
        return node

    def _turn(self, game: _Game, who: NDArray[np.int64]) -> None:
        """Let every ball of ``who`` make its next choice."""
        node = self._node(game.balls, who)
        choice = self._chosen(game, who, node)
        lie = game.balls.lie[who].astype(np.int64)
        if game.watcher is not None:
            game.watcher(who, game.balls.x[who], game.balls.y[who], lie, choice)
        swing = np.where(choice.kind == Kind.DROP, 0, choice.index)
        key = (lie * 8 + choice.kind) * 4096 + swing
        for value in np.unique(key):
            at = np.flatnonzero(key == value)
            kind, code = Kind(choice.kind[at[0]]), int(lie[at[0]])
            game.dropped[who[at]] = kind is Kind.DROP
            if kind is Kind.DROP:
                self._drop(game.balls, who[at], choice.take(at))
            elif kind is Kind.PUTT:
                self._putt_from_off(game, who[at], float(PACES_FT[swing[at[0]]]))
            else:
                self._strike(game, who[at], self._swing(kind, code, int(swing[at[0]])), choice.take(at))

    def _chosen(self, game: _Game, who: NDArray[np.int64], node: NDArray[np.int64]) -> ChoiceTable:
        """One choice for each ball: its node's, re-aimed, or the adviser's near trees."""
        decisions, balls = game.decisions, game.balls
        choice = decisions.table.take(decisions.choice[decisions.row(game.remain(who)), node])
        heading, distance = self._re_aimed(choice, node, balls, who)
        choice = replace(choice, heading=heading, distance=distance)
        near = (balls.lie[who] == CODE[Lie.TREES]) | (self.compiler.hemmed[node] & (node > 0))
        at = np.flatnonzero(near)
        if game.adviser is not None and at.size:
            ball = who[at]
            advised = game.adviser(balls.x[ball], balls.y[ball], balls.lie[ball], node[at], game.remain(ball))
            choice = choice.with_rows(at, advised)
        return self._dropping(game, who, node, choice)

    def _swing(self, kind: Kind, code: int, index: int) -> FullSwing | ShortSwing:
        arsenal = self.compiler.arsenal
        if kind is Kind.PUNCH:
            return arsenal.punch
        swings: tuple[FullSwing | ShortSwing, ...] = (
            arsenal.full[code] if kind is Kind.FULL else arsenal.short[code]
        )
        return next(s for s in swings if s.index == index)

    def _re_aimed(
        self, choice: ChoiceTable, node: NDArray[np.int64], balls: Balls, who: NDArray[np.int64]
    ) -> tuple[Floats, Floats]:
        """Heading and distance from each ball to the point its node aims at."""
        places = self.compiler.places
        full = choice.kind == Kind.FULL
        reach = np.where(full, self._reach[np.where(full, choice.index, 0)], choice.distance)
        dx = places.x[node] + reach * np.sin(choice.heading) - balls.x[who]
        dy = places.y[node] + reach * np.cos(choice.heading) - balls.y[who]
        return np.arctan2(dx, dy), np.maximum(np.hypot(dx, dy), 0.5)

    def _dropping(
        self, game: _Game, who: NDArray[np.int64], node: NDArray[np.int64], choice: ChoiceTable
    ) -> ChoiceTable:
        """Make the drops from where each ball lies: the best of all that are lawful there.

        A ball that has none, or that has just been dropped, plays as the nearest node of its lie that has a stroke.
        """
        at = np.flatnonzero(choice.kind == Kind.DROP)
        first = at[~game.dropped[who[at]]]
        if first.size:
            ground, places, ball = self.compiler.ground, self.compiler.places, who[first]
            lie, hemmed = game.balls.lie[ball].astype(np.uint8), self.compiler.hemmed[node[first]]
            here = game.balls.x[ball], game.balls.y[ball], lie, hemmed
            best = best_drops(ground, places, here, lambda i, *drop: self._dropped(game, ball[i], *drop))
            choice = choice.with_rows(first[best.node], best)
            at = np.setdiff1d(at, first[best.node])
        return choice.with_rows(at, self._not_dropping(game, who[at])) if at.size else choice

    def _not_dropping(self, game: _Game, who: NDArray[np.int64]) -> ChoiceTable:
        """What the nearest node of each ball's lie does that neither drops nor putts, re-aimed."""
        decisions, balls, places = game.decisions, game.balls, self.compiler.places
        near = np.empty(len(who), np.int64)
        row = decisions.row(game.remain(who))
        for i, ball in enumerate(who):
            nodes = np.flatnonzero(places.lie == balls.lie[ball])
            away = np.hypot(places.x[nodes] - balls.x[ball], places.y[nodes] - balls.y[ball])
            kind = decisions.table.kind[decisions.choice[row[i], nodes]]
            near[i] = nodes[np.argmin(np.where((kind == Kind.DROP) | (kind == Kind.PUTT), np.inf, away))]
        choice = decisions.table.take(decisions.choice[row, near])
        heading, distance = self._re_aimed(choice, near, balls, who)
        return replace(choice, heading=heading, distance=distance)

    @cached_property
    def _reach(self) -> Floats:
        """Reach of each pattern from the first lie it is played from, yards."""
        reach = np.ones(len(self.compiler.player.patterns))
        for swings in self.compiler.arsenal.full.values():
            for swing in swings:
                reach[swing.index] = swing.reach_yd
        return reach

    def _strike(
        self, game: _Game, who: NDArray[np.int64], swing: FullSwing | ShortSwing, choice: ChoiceTable
    ) -> None:
        x, y = game.balls.x[who], game.balls.y[who]
        if isinstance(swing, FullSwing):
            ends = fly_full(self.ground, x, y, choice.heading, swing, self.compiler.wind_to_deg, game.rng)
        else:
            distance = np.minimum(choice.distance, swing.shot.longest_yd)
            low = Kind(choice.kind[0]) is Kind.PUNCH
            allowed = self.compiler.allowance((x, y, choice.heading, distance), swing.shot, low)
            ends = hit_short(self.ground, x, y, choice.heading, distance, swing, allowed, low, game.rng)
        self._rest(game, who, *ends)

    def _putt_from_off(self, game: _Game, who: NDArray[np.int64], past: float) -> None:
        x, y, putter = game.balls.x[who], game.balls.y[who], self.compiler.arsenal.putter
        ends = putt_from_off(self.ground, x, y, np.full(len(who), past), putter, game.rng)
        self._rest(game, who, *ends)

    def _rest(
        self, game: _Game, who: NDArray[np.int64], x: Floats, y: Floats, holed: NDArray[np.bool_]
    ) -> None:
        """Count the stroke and settle each ball where it ended, or where the Rules send it."""
        balls, frame = game.balls, self.ground.frame
        balls.strokes[who] += 1
        balls.holed[who[holed]] = True
        edge = 1e-6
        x = np.clip(x, frame.x_min + edge, frame.x_min + frame.columns * frame.cell - edge)
        y = np.clip(y, frame.y_min + edge, frame.y_min + frame.rows * frame.cell - edge)
        cell = frame.index(x, y)
        lie = self.ground.lie[cell].astype(np.int64)
        wet = np.isin(lie, PENALTY) & ~holed
        lost = (game.rng.random(len(who)) < self.ground.lost[cell]) & ~np.isin(lie, (*PENALTY, CODE[Lie.OUT]))
        out = ((lie == CODE[Lie.OUT]) | lost) & ~holed
        fine = ~(out | wet | holed)
        if self.ground.hole.local_rule_e5:
            lie, wet = np.where(out, CODE[Lie.OUT], lie), wet | out
        else:
            balls.strokes[who[out]] += 1
        if wet.any():
            at = who[wet]
            there = Wet(x[wet], y[wet], balls.x[at], balls.y[at], lie[wet])
            self._relieve(game, at, there, *crossing(self.compiler.ground, there, ~lost[wet]))
        self._lie(game, who[fine], x[fine], y[fine], lie[fine])

    # -- the Rules ----------------------------------------------------------------------------------------

    def _lie(self, game: _Game, who: NDArray[np.int64], x: Floats, y: Floats, lie: NDArray[np.int64]) -> None:
        """Leave balls where they came to rest, unless stroke and distance serves better (Rules 18.1, 19.2a, 19.3a)."""
        balls = game.balls
        some = who[self._may_go_back(balls, who, x, y) & (lie != CODE[Lie.GREEN])]
        before = balls.x[some], balls.y[some], balls.lie[some]
        back = self._worth(game, some, 1)
        balls.x[who], balls.y[who], balls.lie[who] = x, y, lie
        again = back > self._worth(game, some, 0)
        gone = some[again]
        balls.x[gone], balls.y[gone], balls.lie[gone] = (column[again] for column in before)
        balls.strokes[gone] += 1

    def _may_go_back(self, balls: Balls, who: Ints, x: Floats, y: Floats) -> NDArray[np.bool_]:
        """Which balls, now at rest at (x, y), the plan lets go back to where they were played from."""
        compiler, number = self.compiler, self.compiler.numbering
        if compiler.to_go is None:
            return np.zeros(len(who), dtype=bool)
        spots = compiler.places.spot_of_cell
        before = spots[compiler.ground.frame.index(balls.x[who], balls.y[who])]
        after = spots[compiler.ground.frame.index(x, y)]
        known = (before != NO_SPOT) & (after != NO_SPOT)
        back = compiler.to_go[number.spot + before] + (1.0 - NEARLY)
        may: NDArray[np.bool_] = known & (back <= compiler.to_go[number.spot + after])
        return may

    def _worth(self, game: _Game, who: NDArray[np.int64], cost: int) -> Floats:
        """Worth of balls where they are once so many strokes are paid."""
        return game.decisions.worth(game.remain(who) - cost, *self._mixture(game.balls, who))

    def _relieve(self, game: _Game, who: NDArray[np.int64], there: Wet, x: Floats, y: Floats) -> None:
        """Choose between stroke and distance and the relief of the crossing point, by the plan's values."""
        places, balls = self.compiler.places, game.balls

        def worth(drops: Drops) -> Floats:
            return self._dropped(game, who[drops.place], drops.spot, drops.strokes)

        best = best_relief(self.compiler, (x, y, there.lie), self._worth(game, who, 1), worth)
        cost = np.ones(len(who), dtype=np.int64)
        cost[best.place] = best.strokes
        balls.strokes[who] += cost
        at = who[best.place]
        balls.x[at], balls.y[at], balls.lie[at] = best.x, best.y, places.spot_lie[best.spot]

    def _dropped(self, game: _Game, who: Ints, spot: Ints, strokes: Ints) -> Floats:
        """Worth of balls dropped on spots for so many strokes."""
        places, number = self.compiler.places, self.compiler.numbering
        states = places.spot_node[spot].astype(np.int64) + number.node
        return game.decisions.worth(game.remain(who) - strokes, states, places.spot_weight[spot])

    def _mixture(self, balls: Balls, who: NDArray[np.int64]) -> tuple[NDArray[np.int64], Floats]:
        """States (n, 4) and weights that stand for balls at rest, as the compiler interpolates them."""
        places, number = self.compiler.places, self.compiler.numbering
        # Without a spot the nearest node of the lie stands for the ball.
        state = np.repeat(self._node(balls, who)[:, None], 4, axis=1)
        weight = np.full((len(who), 4), 0.25)
        spot = self._spot(balls, who)
        same = np.flatnonzero(spot != NO_SPOT)
        state[same], weight[same] = places.spot_node[spot[same]], places.spot_weight[spot[same]]
        return state + number.node, weight

    def _spot(self, balls: Balls, who: NDArray[np.int64]) -> NDArray[np.int32]:
        """Spots of balls; none on the edge of a lie, where the two rasters differ."""
        places = self.compiler.places
        spot = places.spot_of_cell[self.compiler.ground.frame.index(balls.x[who], balls.y[who])]
        same = (spot != NO_SPOT) & (places.spot_lie[spot] == balls.lie[who])
        return np.where(same, spot, np.int32(NO_SPOT))

    def _drop(self, balls: Balls, who: NDArray[np.int64], drop: ChoiceTable) -> None:
        """Ball unplayable: dropped where the Rule puts it."""
        places, ground = self.compiler.places, self.compiler.ground
        balls.strokes[who] += penalty_strokes(drop)
        spot = spots_of(ground, places, balls.x[who], balls.y[who], drop)
        balls.lie[who] = places.spot_lie[spot]
        balls.x[who], balls.y[who] = dropped_at(balls.x[who], balls.y[who], drop.heading, drop.distance)

    # -- putting ------------------------------------------------------------------------------------------

    def _putt_out(self, game: _Game, who: NDArray[np.int64]) -> None:
        skill, balls = self.compiler.player.putting, game.balls
        nodes = putt_distances()
        middle = 0.5 * (nodes[1:] + nodes[:-1])
        feet = np.asarray(3.0 * self.ground.from_pin(balls.x[who], balls.y[who]), dtype=np.float64)
        while who.size:
            row = game.decisions.row(game.remain(who))
            pace = PACES_FT[game.decisions.pace[row, np.searchsorted(middle, feet)]]
            holed, feet = putt_once(skill, feet, pace, game.rng)
            balls.strokes[who] += 1
            balls.holed[who[holed]] = True
            who, feet = who[~holed], feet[~holed]
