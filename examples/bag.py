"""Which fourteen of sixteen clubs to carry on nine holes, and what each of them is worth."""

from dataclasses import replace

import caddiebrain as cb
from caddiebrain.insight import BagChoice

MORE = ("5-wood", "7-wood", "3-hybrid")


def ask(plan: cb.RoundPlan) -> tuple[cb.Player, BagChoice]:
    """Choose a bag for the front nine of a plan's course from the player's clubs and three more."""
    level = cb.Level(handicap_index=9.0, driver_carry_yd=228.0, clubs=(*MORE, "lob wedge")).player()
    spare = [pattern for pattern in level.patterns if pattern.club in MORE]
    player = plan.player.model_copy(update={"patterns": (*plan.player.patterns, *spare), "posterior": None})
    nine = replace(plan.course, holes=plan.course.holes[:9])
    owned = cb.plan_round(nine, player, target=40)
    return player, cb.choose_bag(owned)


def page(player: cb.Player, found: BagChoice) -> str:
    """Write the choice down."""
    lines = [
        f"{len(player.clubs) + 1} clubs owned, the putter included; at most {found.limit} may be carried (Rule 4.1b).",
        found.words,
        f"Nine holes: {found.expected:.3f} strokes with these, {found.expected_all:.3f} with all "
        f"({found.proposals} bags proposed, {found.exchanges} exchanges solved, {found.status}).",
        "Left out alone, a club would cost (full shots with it in nine holes):",
        *(f"  {row.club}: {row.worth:.3f} ({row.uses:.1f})" for row in found.clubs),
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
