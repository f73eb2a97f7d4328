"""A card in a golfer's words."""

from caddiebrain.insight.carry_miss import Miss
from caddiebrain.insight.records_carry import Play, PlayKind, Side, Situation, TeeLine
from caddiebrain.insight.words_chance import tenths_in_hundred
from caddiebrain.insight.words_press import number_words

__all__ = ["card_sentence", "line_words", "miss_words", "otherwise_words", "play_words", "rule_words"]

_FROM = {
    (Situation.FAIRWAY,): "From the fairway",
    (Situation.ROUGH,): "From the rough",
    (Situation.THICK,): "From thick rough",
    (Situation.SAND,): "From sand",
    (Situation.TREES,): "Among trees",
    (Situation.BLOCKED,): "With trees in your way",
    (Situation.FAIRWAY, Situation.ROUGH): "From fairway or rough",
    (Situation.ROUGH, Situation.THICK): "From any rough",
    (Situation.FAIRWAY, Situation.ROUGH, Situation.THICK): "From grass of any length",
    (Situation.TREES, Situation.BLOCKED): "Among trees or with trees in your way",
    (Situation.GREEN,): "On the green",
    (Situation.RED,): "In a red penalty area",
    (Situation.YELLOW,): "In a yellow penalty area",
    (Situation.OUT,): "Lost or out of bounds",
}
_DO = {
    PlayKind.MIDDLE: "take the club for the middle of the green",
    PlayKind.PIN: "go at the pin",
    PlayKind.MORE: "one club more than the middle of the green needs",
    PlayKind.LESS: "one club less than the middle of the green needs",
    PlayKind.PUNCH_OUT: "punch back to the fairway by the shortest way the trees leave open",
    PlayKind.PUNCH_ON: "punch low through the gap that takes you furthest on and onto the fairway",
    PlayKind.UNPLAYABLE: "where it puts you on better grass, call it unplayable and drop for a stroke",
    PlayKind.NEAREST: "take the relief nearest the hole",
    PlayKind.ON_FAIRWAY: "drop on the fairway if the Rules give you a way there, even further back",
    PlayKind.AGAIN: "go back and play again from where you were",
}
_PACES = {0.0: "let it die at the hole", 1.0: "putt to stop a foot past the hole"}
_MISS_WORTH = 0.12
"""Strokes between the sides of a green below which the card does not speak of them."""


def rule_words(situations: tuple[Situation, ...], at_least: float, below: float | None, play: Play) -> str:
    """Say a rule.

    Examples
    --------
    >>> rule_words((Situation.ROUGH,), 180.0, None, Play(kind=PlayKind.AT_MOST, club="7-iron"))
    'From the rough, 180 yards or more: nothing longer than the 7-iron.'
    >>> rule_words((Situation.GREEN,), 20.0, None, Play(kind=PlayKind.PACE))
    'On the green, 20 feet or more: let it die at the hole.'
    >>> rule_words((Situation.FAIRWAY,), 0.0, 25.0, Play(kind=PlayKind.PUTT))
    'From the fairway, inside 25 yards: where short grass leads all the way, putt it to die at the hole.'
    """
    unit = "feet" if situations == (Situation.GREEN,) else "yards"
    if at_least == 0.0:
        band = "" if below is None else f", inside {below:g} {unit}"
    else:
        band = f", {at_least:g} {unit} or more" if below is None else f", {at_least:g} to {below:g} {unit}"
    return f"{_FROM[situations]}{band}: {play_words(play)}."


def play_words(play: Play) -> str:
    """Say an instruction."""
    if play.kind is PlayKind.AT_MOST:
        return f"nothing longer than the {play.club}"
    if play.kind is PlayKind.LEAVE:
        return f"lay up down the middle to leave {play.value:g}"
    if play.kind is PlayKind.PACE:
        return _PACES.get(play.value, f"putt to stop {12 * play.value:.0f} inches past the hole")
    if play.kind is PlayKind.PUTT:
        past = "die at the hole" if play.value == 0.0 else f"stop {12 * play.value:.0f} inches past it"
        return f"where short grass leads all the way, putt it to {past}"
    if play.kind is PlayKind.SHOT:
        past = (
            ""
            if play.value == 0.0
            else f" to finish {abs(play.value):g} yards {_side(play.value)} of the pin"
        )
        past = past.replace("past of", "past")
        return f"{play.club}{past or ' at the pin'}"
    return _DO[play.kind]


def _side(value: float) -> str:
    return "past" if value > 0.0 else "short"


def otherwise_words(close_yd: float) -> tuple[str, ...]:
    """Say what is done where no rule speaks."""
    return (
        "The club that finishes in the middle of the green, wind and slope counted, straight at it.",
        "Green out of reach: the longest club the lie allows, down the middle, or the number on the hole's line.",
        f"Inside {close_yd:g} yards: at the pin, with the shortest of your short shots that gets there.",
        "Putts: to stop a foot past the hole.",
        "After a penalty: the relief nearest the hole.",
    )


def line_words(
    tee: TeeLine,
    instead: TeeLine | None,
    standings: tuple[int | None, int | None],
    then: tuple[float | None, str],
    layup: float | None,
    side: Side,
    miss: Miss,
) -> str:
    """Say a hole in one line; ``then`` is what the tee shot leaves and what to do from there."""
    parts = [f"{tee.label}, {tee.aim_words}"]
    if instead is not None:
        parts.append(f"{instead.label} {_when(*standings)}, {instead.aim_words}")
    if then[0] is not None:
        parts.append(f"{then[0]:.0f} left: {then[1]}")
    if layup is not None and f"to leave {layup:g}" not in then[1]:
        parts.append(f"out of reach leave {layup:g}")
    if side is not Side.MIDDLE:
        parts.append(f"aim at the {side} half of the green")
    if miss_words(miss):
        parts.append(miss_words(miss))
    return "; ".join(parts)


def miss_words(miss: Miss) -> str:
    """Say which side of a green to miss on; nothing where it makes little difference."""
    return f"miss {miss.best}, not {miss.worst}" if miss.saves >= _MISS_WORTH else ""


def _when(first: int | None, last: int | None) -> str:
    """Say at which standings: over par on this tee."""
    if last is None:
        return f"if {_standing(first or 0)} or worse"
    return f"if {_standing(last)} or better"


def _standing(standing: int) -> str:
    if standing == 0:
        return "level"
    return f"{abs(standing)} {'over' if standing > 0 else 'under'}"


def card_sentence(
    rules: int, expected: float, plan_expected: float, target: int, chances: tuple[float, float]
) -> str:
    """Say what the card costs.

    Examples
    --------
    >>> card_sentence(1, 75.12, 74.5, 90, (0.99993, 0.99999)).partition("; ")[2]
    '90 or better >99.9 rounds in 100 for >99.9.'
    """
    cost, (chance, whole) = expected - plan_expected, chances
    count = f"{number_words(rules)} rule{'' if rules == 1 else 's'}"
    return (
        f"{count[0].upper()}{count[1:]} and a line for each hole cost {cost:z.2f} strokes a round beside the "
        f"whole plan ({expected:.2f} for {plan_expected:.2f}); {target} or better "
        f"{tenths_in_hundred(chance)} rounds in 100 for {tenths_in_hundred(whole)}."
    )
