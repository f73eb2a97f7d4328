"""A season of notes, round after round: what a few shots say, and when a choice off the tee becomes sure.

Six rounds, each a file of the shots and putts that were noted (invented). The player starts as a level and is updated
after each round. The club for a narrow par 4 is asked for before the season, and how sure it is after it.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

import caddiebrain as cb

SEASON = sorted((Path(__file__).parent / "records" / "season").glob("round_*.json"))
CLUBS = ("driver", "7-iron")


def season() -> Iterator[tuple[str, cb.Player]]:
    """The player before the first round and after each."""
    player = cb.Level(handicap_index=12.0).player()
    yield "at the start", player
    for number, notes in enumerate(SEASON, 1):
        player = cb.update_player(player, notes)
        yield f"round {number}", player


def known(player: cb.Player) -> str:
    """What is known of two clubs, with 90 % ranges."""
    rows = {row.shot: row for row in player.summary()}
    return "   ".join(
        f"{rows[club].carry_yd:3.0f} ±{rows[club].carry_give_yd:2.0f}   {rows[club].two_thirds_low_yd:2.0f} to "
        f"{rows[club].two_thirds_high_yd:2.0f}   {rows[club].shots:3.0f}"
        for club in CLUBS
    )


def seventh(player: cb.Player) -> cb.RoundPlan:
    """Plan the narrow seventh alone."""
    course = cb.demo.course()
    return cb.plan_round(replace(course, holes=course.holes[6:7]), player, target=5)


if __name__ == "__main__":
    print(f"{'':14}" + "   ".join(f"{club:^24}" for club in CLUBS))
    print(f"{'':14}" + "   ".join(f"{'carry':7} {'two thirds':>10} {'shots':>5}" for _ in CLUBS))
    players = dict(season())
    for when, player in players.items():
        print(f"{when:14}{known(player)}")
    first, *_, last = players.values()
    print(f"Off the narrow 7th at the start: {seventh(first).hole(7).tee_choice.label}.")
    print(f"After the season: {seventh(last).confidence(7, np.random.default_rng(7), draws=20).sentence}")
