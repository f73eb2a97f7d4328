"""Clubs by name: how far each carries beside the driver, how it flies, and the nicknames golfers write.

The figures are common practice (launch-monitor averages as commonly published), no single source.
"""

import re
from dataclasses import dataclass

__all__ = ["CATALOGUE", "STANDARD_BAG", "Club", "club_key", "club_name"]


@dataclass(frozen=True)
class Club:
    """One club of the catalogue.

    Parameters
    ----------
    name : str
    ratio_fast, ratio_slow : float
        Carry as a share of the driver's for a player who carries the driver 230 and 150 yards:
        the gaps close as the swing slows.
    apex, descent_deg : float
        Height of the flight as a share of the 230-yard driver's, and angle of descent,
        degrees, at that speed.
    rollout_yd : float
        On level fairway of medium firmness, at that speed.
    tee_only : bool
        Not played off the ground.
    """

    name: str
    ratio_fast: float
    ratio_slow: float
    apex: float
    descent_deg: float
    rollout_yd: float
    tee_only: bool = False


CATALOGUE: tuple[Club, ...] = (
    Club("driver", 1.000, 1.000, 1.00, 36.0, 18.0, tee_only=True),
    Club("2-wood", 0.945, 0.955, 0.98, 38.0, 15.0),
    Club("3-wood", 0.905, 0.925, 0.96, 40.0, 13.0),
    Club("4-wood", 0.880, 0.900, 0.97, 42.0, 11.5),
    Club("5-wood", 0.855, 0.875, 0.99, 43.0, 10.0),
    Club("7-wood", 0.815, 0.840, 1.03, 46.0, 7.5),
    Club("9-wood", 0.780, 0.805, 1.05, 48.0, 6.0),
    Club("2-hybrid", 0.860, 0.880, 0.94, 41.0, 11.0),
    Club("3-hybrid", 0.830, 0.850, 0.97, 43.0, 9.5),
    Club("4-hybrid", 0.795, 0.820, 0.99, 44.0, 8.0),
    Club("5-hybrid", 0.760, 0.785, 1.00, 45.5, 7.0),
    Club("6-hybrid", 0.720, 0.750, 1.01, 46.5, 6.0),
    Club("2-iron", 0.840, 0.850, 0.84, 38.0, 13.0),
    Club("3-iron", 0.815, 0.830, 0.88, 40.0, 11.0),
    Club("4-iron", 0.785, 0.805, 0.93, 42.0, 9.5),
    Club("5-iron", 0.750, 0.775, 0.97, 43.5, 8.0),
    Club("6-iron", 0.708, 0.735, 0.99, 45.0, 6.5),
    Club("7-iron", 0.662, 0.690, 1.00, 46.5, 5.0),
    Club("8-iron", 0.612, 0.640, 0.99, 48.0, 4.0),
    Club("9-iron", 0.558, 0.585, 0.97, 49.5, 3.0),
    Club("pitching wedge", 0.505, 0.530, 0.94, 50.5, 2.5),
    Club("gap wedge", 0.450, 0.468, 0.90, 51.5, 2.0),
    Club("sand wedge", 0.390, 0.405, 0.85, 52.5, 1.5),
    Club("lob wedge", 0.325, 0.338, 0.80, 54.0, 1.0),
)
"""From the driver down; carries fall within each kind of club."""

STANDARD_BAG: tuple[str, ...] = (
    "driver",
    "3-wood",
    "5-wood",
    "4-hybrid",
    "5-iron",
    "6-iron",
    "7-iron",
    "8-iron",
    "9-iron",
    "pitching wedge",
    "gap wedge",
    "sand wedge",
    "lob wedge",
)
"""Thirteen clubs; the putter makes fourteen (Rule 4.1b)."""

_KINDS = {"w": "wood", "h": "hybrid", "i": "iron"}
_WORDS = {
    "d": "driver",
    "dr": "driver",
    "drv": "driver",
    "bigstick": "driver",
    "pw": "pitching wedge",
    "wedge": "pitching wedge",
    "gw": "gap wedge",
    "aw": "gap wedge",
    "uw": "gap wedge",
    "approachwedge": "gap wedge",
    "attackwedge": "gap wedge",
    "sw": "sand wedge",
    "lw": "lob wedge",
    "pt": "putter",
    "flatstick": "putter",
}
_NUMBER_WORDS = {
    word: str(number)
    for number, word in enumerate(("two", "three", "four", "five", "six", "seven", "eight", "nine"), start=2)
}
_LOFTS = (
    (44.0, 48.9, "pitching wedge"),
    (49.0, 53.4, "gap wedge"),
    (53.5, 57.9, "sand wedge"),
    (58.0, 64.0, "lob wedge"),
)
_NUMBERED = re.compile(
    r"([2-9])(w|h|i|wood|hybrid|iron|hyb|rescue|utility|metal|fairway|fairwaywood)|(w|h|i|wood|hybrid|iron)([2-9])"
)


def club_key(text: str) -> str:
    """Return a nickname stripped of case, spaces and marks, for comparing."""
    return re.sub(r"[^a-z0-9.]", "", text.lower())


def club_name(text: str) -> str | None:
    """Return the catalogue's name for what a golfer writes, or None if it is not plain.

    Parameters
    ----------
    text : str
        Such as "7i", "Seven Iron", "PW", "56", "3 wood", "Driver".

    Examples
    --------
    >>> club_name("7i"), club_name("Three wood"), club_name("H4"), club_name("56°"), club_name("old faithful")
    ('7-iron', '3-wood', '4-hybrid', 'sand wedge', None)
    """
    key = club_key(text)
    for word, digit in _NUMBER_WORDS.items():
        key = key.replace(word, digit) if key.startswith(word) else key
    named = {club_key(club.name): club.name for club in CATALOGUE} | {"putter": "putter"}
    if key in named:
        return named[key]
    if key in _WORDS:
        return _WORDS[key]
    if match := _NUMBERED.fullmatch(key):
        return _numbered(match)
    return _by_loft(key)


def _numbered(match: re.Match[str]) -> str | None:
    """Resolve 7i, i7, 3 metal, 4 rescue."""
    number, kind = match[1] or match[4], match[2] or match[3]
    long_kind = {"rescue": "hybrid", "utility": "hybrid", "hyb": "hybrid"}.get(kind)
    if long_kind is None and kind not in ("i", "h", "iron", "hybrid"):
        long_kind = "wood"
    name = f"{number}-{long_kind or _KINDS.get(kind, kind)}"
    return name if any(club.name == name for club in CATALOGUE) else None


def _by_loft(key: str) -> str | None:
    """Resolve a wedge named by its loft in degrees."""
    digits = re.fullmatch(r"(\d\d(?:\.\d)?)(?:deg|degrees?|wedge)?", key)
    if digits is None:
        return None
    loft = float(digits[1])
    return next((name for low, high, name in _LOFTS if low <= loft <= high), None)
