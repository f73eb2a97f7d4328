"""Chances as counts out of a hundred, in sentences and in tables alike."""

__all__ = ["settled", "tenths_in_hundred"]

_EXACT = 1e-9
"""Chances this near to 0 or 1 are exact as far as the arithmetic goes: beyond it digits are noise of the sums."""


def settled(chance: float) -> float:
    """Round off what is noise beside 0 and 1.

    Examples
    --------
    >>> settled(2e-15), settled(1.0 - 2e-15), settled(0.9999)
    (0.0, 1.0, 0.9999)
    """
    return 0.0 if chance < _EXACT else 1.0 if chance > 1.0 - _EXACT else chance


def tenths_in_hundred(chance: float) -> str:
    """Say a chance as times in a hundred with one decimal, where small differences count.

    Examples
    --------
    >>> tenths_in_hundred(0.1438), tenths_in_hundred(0.00002), tenths_in_hundred(0.99999)
    ('14.4', '<0.1', '>99.9')
    >>> tenths_in_hundred(1.0 - 2e-15), tenths_in_hundred(1.0)
    ('100.0', '100.0')
    """
    chance = settled(chance)
    if 0.0 < chance < 0.0005:
        return "<0.1"
    return ">99.9" if 0.9995 < chance < 1.0 else f"{100.0 * chance:.1f}"
