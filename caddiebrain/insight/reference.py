"""Another golfer's expectation on the same holes, to hold strokes against."""

from collections.abc import Sequence
from dataclasses import dataclass

from caddiebrain.errors import InputError, kind_faults
from caddiebrain.hole import HoleCompiler, player_today
from caddiebrain.insight.at_hand import Putts
from caddiebrain.insight.played import PlacedHole
from caddiebrain.insight.spots import Spot
from caddiebrain.player import Level
from caddiebrain.player.model import Player
from caddiebrain.round.day import day_flight
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.plan import RoundPlan
from caddiebrain.round.prepare import prepare
from caddiebrain.round.worth import Worth
from caddiebrain.terms import Lie

__all__ = ["Reference", "reference_of"]


@dataclass(frozen=True)
class Reference:
    """Expectations of a reference golfer at every place of a played round.

    Parameters
    ----------
    name : str
    values : mapping of int to tuple of float
        By hole number: strokes to hole out from each place the player's strokes were played from.
    """

    name: str
    values: dict[int, tuple[float, ...]]

    @property
    def expected(self) -> float:
        """Strokes expected on these holes."""
        return sum(values[0] for values in self.values.values())

    def gained(self, hole: PlacedHole) -> tuple[float, ...]:
        """Strokes gained on the reference by each stroke of a hole."""
        before = self.values[hole.plan.number]
        after = (*before[1:], 0.0)
        spent = (1 + shot.shot.penalty for shot in hole.shots)
        return tuple(b - a - s for b, a, s in zip(before, after, spent, strict=True))


def reference_of(
    plan: RoundPlan, holes: Sequence[PlacedHole], reference: RoundPlan | Player | Level | None
) -> Reference | None:
    """Work out a reference golfer's expectations at the places of a round.

    Raises
    ------
    InputError
        If a reference plan lacks one of the holes, or the reference is none of these.
    """
    if reference is None:
        return None
    faults = kind_faults("reference", reference, RoundPlan | Player | Level, "a plan, a player or a level")
    if faults:
        raise InputError("review", faults)
    if isinstance(reference, RoundPlan):
        have = {h.number for h in reference.holes}
        missing = [str(h.plan.number) for h in holes if h.plan.number not in have]
        if missing:
            raise InputError.one(
                "reference", "holes", f"none numbered {', '.join(missing)}", "the same holes"
            )
        solved = {h.number: (h.compiler, h.strokes_worth()) for h in reference.holes}
        name = reference.player.name
    else:
        golfer = reference.player() if isinstance(reference, Level) else reference
        solved = {h.plan.number: _solved(plan, h, golfer) for h in holes}
        name = _name(reference)
    values = {
        h.plan.number: tuple(_value(*solved[h.plan.number], shot.spot) for shot in h.shots) for h in holes
    }
    return Reference(name, values)


def _name(reference: Player | Level) -> str:
    if isinstance(reference, Player):
        return reference.name
    index = reference.handicap_index
    return f"a golfer of handicap index {f'+{-index:g}' if index < 0 else f'{index:g}'}"


def _solved(plan: RoundPlan, hole: PlacedHole, golfer: Player) -> tuple[HoleCompiler, Worth]:
    """Compile and solve one hole for another golfer, on the same day."""
    today = player_today(golfer, plan.setup)
    flight = day_flight(today, plan.conditions)
    grid = hole.plan.compiler.grid
    compiler = HoleCompiler(hole.plan.hole, today, flight, plan.conditions, grid, plan.setup.firmness)
    ready = prepare(compiler)
    return ready.model.compiler, Worth((ready.expected.value[: ready.model.numbering.spot],))


def _value(compiler: HoleCompiler, worth: Worth, spot: Spot) -> float:
    if spot.lie is Lie.GREEN:
        return float(Putts(compiler, spot.to_pin * 3.0).values(worth).min())
    return float(spread_from(compiler, spot.x, spot.y, spot.lie).values(worth).min())
