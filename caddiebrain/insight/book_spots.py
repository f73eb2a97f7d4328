"""What can be looked up from the tee, from the places where balls come to rest, and on the green."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, Kind
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.at_hand import Putts
from caddiebrain.insight.book_arrivals import CLOSE_YD, Place
from caddiebrain.insight.book_choices import Ranked
from caddiebrain.insight.book_records import NextShot, SpotChoice, SpotLookup
from caddiebrain.insight.book_rests import Spreads, reaches
from caddiebrain.insight.book_worth import Ledger, Weighed
from caddiebrain.round.aims import Aim, aim_points
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.options import label_of
from caddiebrain.round.ranking import LIVE
from caddiebrain.terms import Lie

__all__ = ["next_shots", "putting_lookups", "spot_lookups"]

_MILLION = 1_000_000
_SHORT_OF_GREEN_YD = 15.0
_PUTTS_FT = (5.0, 10.0, 20.0, 35.0, 60.0)
_OFTEN = 0.03
_NEXT = 3

Floats = NDArray[np.float64]


def spot_lookups(
    hole: HolePlan,
    places: Sequence[Place],
    ranked: tuple[Ranked, Ranked | None],
    ledger: Ledger,
    spreads: Spreads,
) -> tuple[SpotLookup, ...]:
    """Make the look-ups of a hole: the tee, then its places; ``ranked`` has the choices of both."""
    tee, others = ranked
    x, y = hole.hole.tee
    px, py = hole.hole.pin
    start = Place(0, x, y, Lie.TEE, float(np.hypot(px - x, py - y)), "", (0.0,))
    looks = [_lookup(start, 0, 0, tee, _described(hole, [start], tee, spreads), ledger)]
    if others is not None:
        described = _described(hole, places, others, spreads)
        looks += [_lookup(p, i, p.strokes, others, described, ledger) for i, p in enumerate(places)]
    return tuple(looks)


def _lookup(
    place: Place, node: int, strokes: int, ranked: Ranked, described: "_Described", ledger: Ledger
) -> SpotLookup:
    rows = ranked.of_place(node)
    chance = ranked.weighed.chance[rows]
    best = chance.max(axis=0)
    live = np.flatnonzero((best > LIVE[0]) & (best < LIVE[1]))
    span = slice(int(live[0]), int(live[-1]) + 1) if live.size else slice(0, 0)
    lost = _millionths(best[span] - chance[:, span])
    return SpotLookup(
        words=_words(place),
        lie=str(place.lie),
        x=round(place.x, 1),
        y=round(place.y, 1),
        to_pin_yd=place.to_pin_yd,
        share=place.share,
        strokes=strokes,
        least_left=int(ledger.levels[span.start]) if live.size else 0,
        best=tuple(_millionths(best[span]).tolist()),
        choices=tuple(
            described.choice(*choice)
            for choice in zip(
                rows.tolist(),
                ranked.weighed.strokes[rows].tolist(),
                ranked.club[rows].tolist(),
                lost.tolist(),
                strict=True,
            )
        ),
    )


def _millionths(chance: Floats) -> NDArray[np.int64]:
    return np.rint(chance * _MILLION).astype(np.int64)


def _words(place: Place) -> str:
    """Name a place: "155 to the pin, left rough"."""
    if place.lie is Lie.TEE:
        return "tee"
    lie = {Lie.THICK: "thick rough", Lie.SAND: "bunker", Lie.TIGHT: "mown ground"}.get(
        place.lie, str(place.lie)
    )
    yards = f"{place.to_pin_yd:.0f} to the pin"
    if place.side in ("short", "long"):
        return f"{yards}, {lie} {place.side} of the green"
    if place.to_pin_yd < CLOSE_YD and place.side:
        return f"{yards}, {lie} {place.side} of the green"
    return f"{yards}, {place.side} {lie}" if place.side else f"{yards}, {lie}"


class _Described:
    """Labels, carries, aims and ovals of ranked choices; a choice without an oval is not aimed anywhere."""

    def __init__(self, labels: list[str], carries: Floats, aims: list[Aim], ovals: Floats) -> None:
        self.labels, self.carries, self.aims = labels, carries.tolist(), aims
        rounded = np.round(ovals, 1).tolist()
        none: NDArray[np.bool_] = np.any(np.isnan(ovals), axis=1)
        self.ovals = [
            None if gone else tuple(oval) for gone, oval in zip(none.tolist(), rounded, strict=True)
        ]

    def choice(self, row: int, expected: float, club: int, lost: list[int]) -> SpotChoice:
        """Make the record of one row."""
        aim, oval = self.aims[row], self.ovals[row]
        return SpotChoice(
            label=self.labels[row],
            club=club,
            aim="" if oval is None else aim.words,
            aim_xy=(round(aim.xy[0], 1), round(aim.xy[1], 1)),
            carry_yd=self.carries[row],
            expected=expected,
            lost=tuple(lost),
            oval=oval,
        )


def _described(hole: HolePlan, places: Sequence[Place], ranked: Ranked, spreads: Spreads) -> _Described:
    table, compiler = ranked.table, hole.compiler
    x = np.array([places[i].x for i in table.node])
    y = np.array([places[i].y for i in table.node])
    lie = np.array([CODE[places[i].lie] for i in table.node])
    labels = [
        label_of(compiler, Kind(kind), int(index), float(distance))
        for kind, index, distance in zip(table.kind, table.index, table.distance, strict=True)
    ]
    reach = reaches(compiler, x, y, lie, table)
    drop = table.kind == Kind.DROP
    x[drop] += table.distance[drop] * np.sin(table.heading[drop])
    y[drop] += table.distance[drop] * np.cos(table.heading[drop])
    reach[drop] = 0.0
    at_pin = ~drop & (reach >= compiler.ground.from_pin(x, y) - _SHORT_OF_GREEN_YD)
    aims = aim_points(compiler.ground, x, y, table.heading, reach, at_pin)
    ovals, carries = spreads.ovals(compiler, x, y, lie, table)
    return _Described(labels, carries, aims, ovals)


def putting_lookups(hole: HolePlan, ledger: Ledger) -> tuple[SpotLookup, ...]:
    """Look-ups for putts of some lengths: at which pace to strike them."""
    line = hole.hole.line
    back = line[-2] - line[-1]
    back = back / max(float(np.hypot(*back)), 1e-9)
    tee = Place(0, 0.0, 0.0, Lie.GREEN, 0.0, "", (0.0,))
    after = hole.chances_with(ledger.levels - 1) if len(ledger.levels) else np.zeros((0, 0))
    looks = []
    for feet in _PUTTS_FT:
        x, y = (line[-1] + back * feet / 3.0).tolist()
        putts = Putts(hole.compiler, feet)
        strokes = putts.values(hole.strokes_worth())
        chance = putts.chances(after)
        rows = np.arange(len(PACES_FT))
        table = ChoiceTable.of(np.zeros(len(rows), dtype=np.int64), Kind.SHORT, rows)
        ranked = Ranked(table, rows, Weighed(strokes, np.clip(chance, 0.0, 1.0)), ledger.levels)
        aim = Aim(0.0, hole.hole.pin, feet / 3.0, 0.0, "pin")
        labels = [putts.label(int(row)) for row in rows]
        described = _Described(
            labels, np.zeros(len(rows)), [aim] * len(rows), np.full((len(rows), 5), np.nan)
        )
        look = _lookup(tee, 0, max(1, hole.par - 2), ranked, described, ledger)
        words, yards = f"putt of {feet:.0f} feet", feet / 3.0
        looks.append(
            look.model_copy(update={"words": words, "x": round(x, 1), "y": round(y, 1), "to_pin_yd": yards})
        )
    return tuple(looks)


def next_shots(
    hole: HolePlan, places: Sequence[Place], ranked: Ranked | None, spreads: Spreads
) -> tuple[NextShot, ...]:
    """Make lines for the places a ball is played from most often after the tee shot, furthest first."""
    if ranked is None:
        return ()
    often = [
        i for i in sorted(range(len(places)), key=lambda i: -places[i].share) if places[i].share >= _OFTEN
    ]
    if hole.par > 3:
        often = [i for i in often if places[i].to_pin_yd >= CLOSE_YD]
    # Each further line about standings takes the room of one of these.
    shown = sorted(often[: max(1, _NEXT - max(0, len(hole.switches) - 2))])
    if not shown:
        return ()
    best = np.array([ranked.of_place(i)[0] for i in shown])
    some = ranked.take(best)
    described = _described(hole, places, some, spreads)
    px, py = hole.hole.pin
    lines = []
    for row, i in enumerate(shown):
        place, aim, oval = places[i], described.aims[row], described.ovals[row]
        stop = aim.xy if oval is None else oval  # a drop has no oval
        lines.append(
            NextShot(
                to_pin_yd=place.to_pin_yd,
                lie=str(place.lie),
                side=place.side,
                share=min(1.0, place.share),
                label=described.labels[row],
                aim_words=aim.words,
                leaves_yd=0.0 if aim.reference == "pin" else float(np.hypot(px - stop[0], py - stop[1])),
                expected=float(some.weighed.strokes[row]),
            )
        )
    return tuple(lines)
