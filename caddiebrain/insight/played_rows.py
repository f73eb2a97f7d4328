"""A played round as rows of shot records, for the next fit of the player."""

from collections.abc import Sequence
from typing import Any

from caddiebrain.insight.played import PlacedHole, PlacedShot
from caddiebrain.insight.records_review import PlayedRound
from caddiebrain.terms import Lie

__all__ = ["rows_for_fit"]

_SHORT_YD = 50.0


def rows_for_fit(holes: Sequence[PlacedHole], played: PlayedRound) -> dict[str, Any]:
    """Rows as `caddiebrain.player.load_records` reads them: full shots, short game, and first putts."""
    common: dict[str, Any] = {"date": played.date} if played.date else {}
    rows: dict[str, list[dict[str, Any]]] = {"shots": [], "short_game": [], "putts": []}
    for hole in holes:
        for i, shot in enumerate(hole.shots):
            after = hole.shots[i + 1] if i + 1 < len(hole.shots) else None
            kind, row = _row(hole, shot, after)
            if row is not None:
                rows[kind].append(common | row)
        row = _putts(hole)
        if row is not None:
            rows["putts"].append(common | row)
    return {"units": "yards"} | {kind: found for kind, found in rows.items() if found}


def _row(hole: PlacedHole, shot: PlacedShot, after: PlacedShot | None) -> tuple[str, dict[str, Any] | None]:
    """A full or a short shot; putts are counted by hole."""
    spot, club = shot.spot, shot.shot.club.strip().lower()
    known = {name.lower() for name in hole.plan.compiler.player.clubs}
    to_pin = 0.0 if after is None else after.spot.to_pin
    if spot.lie is Lie.GREEN or club == "putter":  # a putt from off the green tells nothing of chips
        return "putts", None
    if spot.to_pin <= _SHORT_YD and spot.lie is not Lie.TEE:
        if shot.shot.penalty:
            return "short_game", None
        leave = round(3.0 * to_pin, 1)
        return "short_game", {"lie": str(spot.lie), "distance": round(spot.to_pin, 1), "leave": leave}
    if club not in known:
        return "shots", None
    row: dict[str, Any] = {
        "hole": hole.plan.number,
        "stroke": shot.number,
        "club": club,
        "lie": str(spot.lie),
        "before": round(spot.to_pin, 1),
        "lie_after": shot.result,
        "penalty": shot.shot.penalty,
    }
    if not shot.shot.penalty:
        row["after"] = round(to_pin, 1)
    return "shots", row


def _putts(hole: PlacedHole) -> dict[str, Any] | None:
    """Length of the first putt and how many it took, where the rest was putted out."""
    on = [i for i, shot in enumerate(hole.shots) if shot.spot.lie is Lie.GREEN]
    if not on or on != list(range(on[0], len(hole.shots))):
        return None
    feet = 3.0 * hole.shots[on[0]].spot.to_pin
    return {"distance": round(feet, 1), "putts": len(on)} if feet >= 0.05 else None
