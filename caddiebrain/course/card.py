"""What a scorecard says of a hole, from its tags or, where they are silent, from its length."""

from collections.abc import Mapping, Sequence

from caddiebrain.course.drafts import HOLES_MOST, Draft
from caddiebrain.course.findings import Findings
from caddiebrain.course.match import Spot
from caddiebrain.course.tags import PAR_BANDS_YD, hole_numbers, length_yd, par_in_name, whole_numbers

__all__ = ["choose_tee", "compare_length", "par_by_length", "par_of", "stroke_indexes"]

LENGTH_SLACK = 0.08
"""A line and a tagged length may differ by this share before it is worth a note."""


def par_by_length(length: float) -> int:
    """Return the par of a length in yards; where two bands overlap, the middle of the overlap divides."""
    for par in (3, 4):
        if length <= (PAR_BANDS_YD[par][1] + PAR_BANDS_YD[par + 1][0]) / 2:
            return par
    return 5 if length <= PAR_BANDS_YD[5][1] else 6


def par_of(draft: Draft, tee: str, length: float, own: bool, findings: Findings) -> int:
    """Return a hole's par: ``par``, ``par:<tee>``, the name, else by length, which is noted."""
    tags, where = draft.feature.tags, draft.feature.where
    others = sorted(key for key in tags if key.startswith("par:"))
    keys = [f"par:{tee}", "par", *others] if f"par:{tee}" in tags else ["par", *others]
    for key in keys:
        pars = whole_numbers(tags.get(key, ""))
        if pars and 3 <= pars[min(draft.place, len(pars) - 1)] <= 6:
            par = pars[min(draft.place, len(pars) - 1)]
            if len(pars) > max(1, len(hole_numbers(tags))):
                findings.note(f"{draft.label}: {key}={tags[key][:20]} read as {par}")
            return par
        if key in tags:
            if own:
                findings.fault(f"{where}: {key}", repr(tags[key])[:40], "3, 4, 5 or 6")
                return par_by_length(length)
            findings.note(f"{draft.label}: {key}={tags[key][:20]} is no par; passed over")
    named = par_in_name(tags.get("name", ""))
    if named is not None:
        findings.note(f"{draft.label}: par {named} taken from its name")
        return named
    par = par_by_length(length)
    findings.note(f"{draft.label}: no par on the map; par {par} by its length, {length:.0f} yd")
    return par


def compare_length(draft: Draft, length: float, findings: Findings) -> None:
    """Note a tagged length (metres unless a unit is written) that the line does not have."""
    texts = draft.feature.tags.get("dist", "").split(";")
    tagged = length_yd(texts[min(draft.place, len(texts) - 1)])
    if tagged and abs(tagged - length) > LENGTH_SLACK * tagged:
        findings.note(
            f"{draft.label}: measures {length:.0f} yd from the tee in play, "
            f"the map's dist says {tagged:.0f} yd; the measure is used"
        )


def choose_tee(
    draft: Draft,
    spots: Sequence[Spot],
    lengths: Mapping[str, float],
    wanted: str,
    own: bool,
    findings: Findings,
) -> str:
    """Name the tee in play.

    The tee set asked for; else, in a course file of ours, the tee at the line's start; else the longest tee
    that suits the hole's par.

    Parameters
    ----------
    spots : sequence of Spot
        Longest first; at least one.
    lengths : mapping of str to float
        Length of the hole from each of them, yards.
    """
    names = [spot.name for spot in spots]
    if wanted:
        if wanted in names:
            return wanted
        findings.note(f"{draft.label}: has no tee {wanted!r}; played from the longest, {names[0]!r}")
        return names[0]
    start = draft.line[0]
    if own:
        return min(spots, key=lambda spot: float(abs(spot.xy - start).sum())).name
    pars = whole_numbers(draft.feature.tags.get("par", ""))
    par = pars[min(draft.place, len(pars) - 1)] if pars else par_in_name(draft.feature.tags.get("name", ""))
    low, high = PAR_BANDS_YD.get(par or 0, (0.0, 1000.0))
    fit = [name for name in names if low <= lengths[name] <= high] or names
    if len(set(names)) > 1:
        findings.note(f"{draft.label}: {len(names)} tees ({', '.join(names)}); played from {fit[0]!r}")
    return fit[0]


def stroke_indexes(
    drafts: Sequence[Draft],
    pars: Mapping[int, int],
    lengths: Mapping[int, float],
    own: bool,
    findings: Findings,
) -> dict[int, int]:
    """Return every hole's stroke index, each different and between 1 and 18.

    Missing ones are assigned from the rest, lowest to the hole that is longest for its par (common practice;
    committees also judge what a map does not show).
    """
    given: dict[int, int] = {}
    for draft in drafts:
        text = draft.feature.tags.get("handicap", "")
        values = whole_numbers(text)
        if not text:
            continue
        value = values[min(draft.place, len(values) - 1)] if values else 0
        if not 1 <= value <= HOLES_MOST or value in given.values():
            twice = next((hole for hole, index in given.items() if index == value), None)
            found = f"{text[:20]!r}" + (f", which hole {twice} has too" if twice else "")
            if own:
                where = f"{draft.feature.where}: handicap"
                findings.fault(where, found, "a stroke index from 1 to 18, each once")
            else:
                findings.note(f"{draft.label}: stroke index {found}; assigned anew")
            continue
        given[draft.number] = value
    return given | _assigned(drafts, given, pars, lengths, findings)


def _assigned(
    drafts: Sequence[Draft],
    given: Mapping[int, int],
    pars: Mapping[int, int],
    lengths: Mapping[int, float],
    findings: Findings,
) -> dict[int, int]:
    blank = [draft.number for draft in drafts if draft.number not in given]
    free = [index for index in range(1, HOLES_MOST + 1) if index not in given.values()]
    spare = {par: sum(band) / 2 for par, band in PAR_BANDS_YD.items()}
    hardest = sorted(blank, key=lambda n: (-lengths[n] / spare.get(pars[n], 700.0), n))
    if blank:
        which = "every hole" if not given else "holes " + ", ".join(str(n) for n in sorted(blank))
        findings.note(f"no stroke index for {which}; assigned by length for the par")
    return dict(zip(hardest, free, strict=False))
