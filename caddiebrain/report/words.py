"""Numbers as a golfer says them. No arithmetic: every number arrives ready made."""

from collections.abc import Mapping

from caddiebrain.insight.words_chance import settled, tenths_in_hundred
from caddiebrain.terms import Lie

__all__ = [
    "AIMS",
    "CAUTIONS",
    "aim_in_short",
    "chance_words",
    "ground_words",
    "in_hundred",
    "lie_words",
    "place_words",
    "score_words",
    "signed",
    "standing_words",
    "switch_in_short",
    "switch_words",
    "tenths_in_hundred",
]

CAUTIONS = (
    "Wait until the group ahead is out of range. For lightning, leave the course.",
    "Local rules and the committee decide, and the handicap rules what you post.",
    "Made beforehand, this plan may be carried (Rule 4.3a); do not run it mid-round.",
)
"""What every plan says below its numbers."""

AIMS = "at 228: how far a straight ball runs. Full shots' aims hold wind and bias."
"""How to read the aims of a table."""

_LIES = {
    Lie.TEE: "tee",
    Lie.FAIRWAY: "fairway",
    Lie.TIGHT: "tight lie",
    Lie.ROUGH: "rough",
    Lie.THICK: "thick rough",
    Lie.SAND: "sand",
    Lie.TREES: "trees",
    Lie.GREEN: "green",
    Lie.YELLOW: "yellow penalty area",
    Lie.RED: "red penalty area",
    Lie.OUT: "out of bounds",
}

_FROM = {
    Lie.TEE: "on the tee",
    Lie.FAIRWAY: "on the fairway",
    Lie.TIGHT: "on a tight lie",
    Lie.ROUGH: "in the rough",
    Lie.THICK: "in thick rough",
    Lie.SAND: "in sand",
    Lie.TREES: "among trees",
    Lie.GREEN: "on the green",
    Lie.YELLOW: "in a yellow penalty area",
    Lie.RED: "in a red penalty area",
    Lie.OUT: "out of bounds",
}

_SCORES = {
    -3: "albatross",
    -2: "eagle",
    -1: "birdie",
    0: "par",
    1: "bogey",
    2: "double bogey",
    3: "triple bogey",
}

_SHORTER = (
    (" yards", ""),
    (" yard", ""),
    (" of centre, ", " "),
    ("down the centre, ", "centre "),
    ("along the line of play, ", "line "),
    ("the line of play, ", "line "),
    ("of the pin", "of pin"),
)


def chance_words(chance: float) -> str:
    """Say a chance as a count out of a hundred.

    Parameters
    ----------
    chance : float
        0 to 1.

    Returns
    -------
    str
        One decimal below ten and above ninety in a hundred; never "0" or "100" unless exact.

    Examples
    --------
    >>> chance_words(0.0981), chance_words(0.42), chance_words(0.0002), chance_words(1.0)
    ('9.8 in 100', '42 in 100', 'under 0.1 in 100', '100 in 100')
    """
    chance = settled(chance)
    if 0.0 < chance < 0.001:
        return "under 0.1 in 100"
    if 0.999 < chance < 1.0:
        return "over 99.9 in 100"
    if chance in (0.0, 1.0) or 0.0995 <= chance <= 0.9005:
        return f"{chance:.0%}".rstrip("%") + " in 100"
    return f"{chance:.1%}".rstrip("%") + " in 100"


def standing_words(standing: int) -> str:
    """Say how a round stands against par.

    Parameters
    ----------
    standing : int
        Strokes over par so far; negative when under.

    Examples
    --------
    >>> standing_words(3), standing_words(0), standing_words(-2)
    ('3 over', 'level par', '2 under')
    """
    if standing == 0:
        return "level par"
    return f"{standing} over" if standing > 0 else f"{standing} under".removeprefix("-")


def switch_words(label: str, from_standing: int | None, to_standing: int | None) -> str:
    """Say at which standings another choice takes over.

    Parameters
    ----------
    label : str
        The choice, such as ``"driver"``.
    from_standing, to_standing : int or None
        First and last standing (strokes over par) at which it holds; None where there is no end.

    Examples
    --------
    >>> switch_words("driver", 3, None)
    'driver if 3 over or worse'
    >>> switch_words("4-hybrid", None, -1)
    '4-hybrid if 1 under or better'
    >>> switch_words("5-wood", 1, 4), switch_words("5-wood", 0, 0), switch_words("5-wood", None, None)
    ('5-wood if 1 over to 4 over', '5-wood if level par', '5-wood at every standing')
    """
    if from_standing is None and to_standing is None:
        return f"{label} at every standing"
    if to_standing is None and from_standing is not None:
        return f"{label} if {standing_words(from_standing)} or worse"
    if from_standing is None and to_standing is not None:
        return f"{label} if {standing_words(to_standing)} or better"
    if from_standing == to_standing and from_standing is not None:
        return f"{label} if {standing_words(from_standing)}"
    return f"{label} if {standing_words(from_standing or 0)} to {standing_words(to_standing or 0)}"


def aim_in_short(aim_words: str) -> str:
    """Shorten an aim for a table.

    Parameters
    ----------
    aim_words : str
        An option's aim in full.

    Examples
    --------
    >>> aim_in_short("10 yards left of centre, at 228"), aim_in_short("down the centre, at 190")
    ('10 left at 228', 'centre at 190')
    >>> aim_in_short("4 yards right of the pin"), aim_in_short("1 yard left of the line of play, at 210")
    ('4 right of pin', '1 left of line at 210')
    """
    for long, short in _SHORTER:
        aim_words = aim_words.replace(long, short)
    return aim_words


def in_hundred(chance: float) -> str:
    """Say a chance as whole times in a hundred, for a table.

    Examples
    --------
    >>> in_hundred(0.183), in_hundred(0.002), in_hundred(0.0), in_hundred(1.0)
    ('18', '<1', '0', '100')
    """
    chance = settled(chance)
    if 0.0 < chance < 0.005:
        return "<1"
    return ">99" if 0.995 < chance < 1.0 else f"{chance:.0%}".rstrip("%")


def switch_in_short(label: str, from_standing: int | None, to_standing: int | None) -> str:
    """Say at which standings a choice holds in a few letters, for a table; as `switch_words` otherwise.

    Examples
    --------
    >>> switch_in_short("driver", 3, None), switch_in_short("4-hybrid", None, -1)
    ('driver from +3', '4-hybrid to -1')
    >>> switch_in_short("5-wood", 1, 4), switch_in_short("5-wood", 0, 0)
    ('5-wood +1 to +4', '5-wood at level')
    >>> switch_in_short("5-wood", None, None)
    '5-wood always'
    """
    first, last = (None if s is None else f"{s:+d}" if s else "level" for s in (from_standing, to_standing))
    if first is None:
        return f"{label} always" if last is None else f"{label} to {last}"
    if last is None:
        return f"{label} from {first}"
    return f"{label} at {first}" if first == last else f"{label} {first} to {last}"


def ground_words(areas: Mapping[Lie, int], heights: int) -> str:
    """Say what lies on a hole: pieces of every lie, and spot heights where there are any.

    Examples
    --------
    >>> ground_words({Lie.FAIRWAY: 1, Lie.SAND: 3}, 0), ground_words({}, 2), ground_words({}, 0)
    ('fairway 1, sand 3', 'spot heights 2', 'no areas')
    """
    pieces = [f"{lie_words(lie)} {count}" for lie, count in areas.items()]
    pieces += [f"spot heights {heights}"] if heights else []
    return ", ".join(pieces) or "no areas"


def lie_words(lie: str) -> str:
    """Say a lie; a result that is no lie, such as ``"holed"``, is said as it is written.

    Examples
    --------
    >>> lie_words("thick"), lie_words("holed")
    ('thick rough', 'holed')
    """
    return _LIES[Lie(lie)] if lie in set(Lie) else lie.replace("_", " ")


def place_words(
    hole: int,
    to_pin: float,
    lie: str,
    strokes: int,
    standing: int,
    position: tuple[float, float] | None = None,
) -> str:
    """Say where a ball lies and how the round stands.

    Parameters
    ----------
    hole : int
    to_pin : float
        Yards.
    lie : str
    strokes : int
        Taken on this hole.
    standing : int
        Strokes over par before this hole.
    position : tuple of float, optional
        Yards right of the straight line tee to pin, and along it.

    Examples
    --------
    >>> place_words(7, 165.0, "rough", 1, 3)
    'Hole 7, 165 yards to the pin, in the rough, 1 stroke played, 3 over before this hole'
    >>> place_words(7, 389.0, "tee", 0, 0)
    'Hole 7, on the tee, level par before this hole'
    >>> place_words(7, 1.2, "tight", 3, 0, (2.0, 388.0))
    'Hole 7, at 2, 388, 1 yard to the pin, on a tight lie, 3 strokes played, level par before this hole'
    """
    at = "" if position is None else f", at {position[0]:.0f}, {position[1]:.0f}"
    yards = f"{to_pin:.0f} yard{'' if round(to_pin) == 1 else 's'} to the pin, "
    where = f"{'' if lie == Lie.TEE and not at else yards}{_FROM[Lie(lie)]}"
    fresh = strokes == 0 and lie == Lie.TEE
    played = "" if fresh else f", {strokes} stroke{'' if strokes == 1 else 's'} played"
    return f"Hole {hole}{at}, {where}{played}, {standing_words(standing)} before this hole"


def score_words(over_par: int) -> str:
    """Name a score on a hole by strokes over par.

    Examples
    --------
    >>> score_words(0), score_words(2), score_words(5), score_words(-4)
    ('par', 'double bogey', '5 over', '4 under')
    """
    return _SCORES.get(over_par, standing_words(over_par))


def signed(value: float, form: str) -> str:
    """Write a number with its sign; what rounds to nothing is written as plus nothing, whatever its last digits.

    Examples
    --------
    >>> signed(-0.125, "+.2f"), signed(-0.0004, "+.2f"), signed(0.0312, "+.1%")
    ('-0.12', '+0.00', '+3.1%')
    """
    text = format(value, form)
    return text.replace("-", "+") if not any(c in "123456789" for c in text) else text
