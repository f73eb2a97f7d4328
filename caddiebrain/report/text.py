"""Pages for a terminal, from finished records. No arithmetic: what is not in the record is not said."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Literal

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import (
    AIMS,
    CAUTIONS,
    aim_in_short,
    chance_words,
    ground_words,
    in_hundred,
    lie_words,
    score_words,
    standing_words,
    switch_in_short,
    switch_words,
    tenths_in_hundred,
)

if TYPE_CHECKING:
    from caddiebrain.course.describe import CourseReport
    from caddiebrain.player.model import Player
    from caddiebrain.player.summary import ClubRow
    from caddiebrain.round.options import Option
    from caddiebrain.round.record import ChoiceRecord, HoleRecord, PlanRecord

__all__ = [
    "course_page",
    "fit_page",
    "hole_page",
    "options_page",
    "player_page",
    "records_page",
    "round_page",
]


def _table(*columns: tuple[str, str]) -> Table:
    """A plain table; each column is a heading and ``left``, ``right``, ``wrap`` or ``narrow``: right, and may wrap."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for heading, kind in columns:
        side: Literal["left", "right"] = "right" if kind in ("right", "narrow") else "left"
        table.add_column(heading, justify=side, no_wrap=kind in ("left", "right"), vertical="top")
    return table


def _cautions() -> Text:
    return Text("\n".join(CAUTIONS), style="dim")


def round_page(record: "PlanRecord") -> RenderableType:
    """Lay out a plan for 18 holes on one screen.

    Parameters
    ----------
    record : PlanRecord
    """
    wins, plain = tenths_in_hundred(record.chance), tenths_in_hundred(record.chance_expected_policy)
    head = Text.assemble(
        f"{record.course}, par {record.par}. Player: {record.player}.\n",
        (f"{record.target} or better: {wins} rounds in 100 with this plan", "bold"),
        f", {plain} playing for the average.\n",
        f"Expected score, playing for the average: {record.expected_score:.1f}.\n",
    )
    table = _table(
        ("hole", "right"),
        ("par", "right"),
        ("yds", "right"),
        ("off the tee", "left"),
        ("score", "right"),
        ("dbl", "right"),
        (f"for {record.target} instead", "wrap"),
    )
    for hole in record.holes:
        table.add_row(
            f"{hole.number}",
            f"{hole.par}",
            f"{hole.length_yd:.0f}",
            f"{hole.tee_choice.label} {aim_in_short(hole.tee_choice.aim_words)}",
            f"{hole.expected_score:.2f}",
            in_hundred(hole.double_bogey_or_worse),
            _instead(hole),
        )
    thin = Text(_few_shots(record.few_shots), style="dim") if record.few_shots else Text("", end="")
    return Group(head, table, Text(f"{_LEGEND}\n{AIMS}", style="dim"), thin, Text(), _cautions())


def _few_shots(few: Mapping[str, float]) -> str:
    """Name the advice that hangs on few recorded shots."""
    return (
        "On few recorded shots: " + ", ".join(f"{label} ({shots:.0f})" for label, shots in few.items()) + "."
    )


_LISTED = 8
"""Choices from one place that are listed whatever the club."""
_LEGEND = "dbl: double bogey or worse, in 100. to +3: up to three over par on that tee."


def _instead(hole: "HoleRecord") -> str:
    """Say where the target asks for another club than the lowest score does."""
    return ", ".join(
        switch_in_short(switch.choice.label, switch.from_standing, switch.to_standing)
        for switch in hole.switches
        if switch.choice.label != hole.tee_choice.label
    )


def hole_page(
    hole: "HoleRecord", standing: int, target: int, options: "Iterable[Option | ChoiceRecord]"
) -> RenderableType:
    """Lay out one hole: its scores, where the choice changes, and the choices on its tee, best first.

    Parameters
    ----------
    hole : HoleRecord
    standing : int
        Strokes over par on the tee for which ``options`` are ranked.
    target : int
        Total the round is to be finished at or under.
    options : iterable of Option
    """
    head = Text.assemble(
        (f"Hole {hole.number}, par {hole.par}, {hole.length_yd:.0f} yards", "bold"),
        f", stroke index {hole.stroke_index}. Expected score {hole.expected_score:.2f}; ",
        f"double bogey or worse {chance_words(hole.double_bogey_or_worse)}.\n",
    )
    scores = _table(*((heading, "narrow") for heading in ("in 100", *_scores(hole))))
    scores.add_row("", *(in_hundred(chance) for chance in _scores(hole).values()))
    by_standing = [
        f"{switch_words(s.choice.label, s.from_standing, s.to_standing)}: {s.choice.aim_words}"
        for s in hole.switches
    ]
    return Group(
        head,
        scores,
        Text(),
        Text(f"For {target}, by the standing on this tee", style="bold"),
        *map(Text, by_standing),
        Text(),
        options_page(f"On the tee at {standing_words(standing)}, playing for {target}", options),
    )


def _scores(hole: "HoleRecord") -> Mapping[str, float]:
    """Chance of each score that happens at least once in two hundred times, by name."""
    named = enumerate(hole.score_pmf, start=-hole.par)
    return {score_words(over): float(chance) for over, chance in named if chance >= 0.005}


def options_page(heading: str, options: "Iterable[Option | ChoiceRecord]") -> RenderableType:
    """Lay out ranked choices from one place.

    Parameters
    ----------
    heading : str
        Where the ball lies and how the round stands.
    options : iterable of Option
        Best first. Beyond the first ``_LISTED`` each club's best shot alone is shown.
    """
    options, left_out = _worth_reading(options)
    table = _table(
        ("choice", "wrap"),
        ("aim", "left"),
        ("carry", "right"),
        ("score", "right"),
        ("target", "right"),
        ("ends in, of 100", "wrap"),
    )
    for option in options:
        table.add_row(
            option.label,
            aim_in_short(option.aim_words),
            f"{option.carry_yd:.0f}",
            f"{option.expected:.2f}",
            tenths_in_hundred(option.chance),
            ", ".join(
                f"{lie_words(lie)} {in_hundred(share)}"
                for lie, share in option.shares.items()
                if share >= 0.005
            ),
        )
    allowed = [Text(f"{o.label} {o.allowance_words}") for o in options if o.allowance_words]
    legend = "score: strokes to hole out from here. target: rounds in 100 that reach it."
    if left_out:
        legend += f"\nLeft out: worse shots of the clubs listed ({len(left_out)}); --json has them."
    note = Text(f"{legend}\n{AIMS}", style="dim")
    return Group(Text(heading, style="bold"), table, *allowed, note, Text(), _cautions())


def _worth_reading(
    options: "Iterable[Option | ChoiceRecord]",
) -> "tuple[list[Option | ChoiceRecord], list[Option | ChoiceRecord]]":
    """Tell choices to list from those left out: after so many, further shots of clubs that are listed already."""
    listed: list[Option | ChoiceRecord] = []
    left_out: list[Option | ChoiceRecord] = []
    clubs: set[str] = set()
    for option in options:
        again = len(listed) >= _LISTED and option.club != "" and option.club in clubs
        (left_out if again else listed).append(option)
        clubs.add(option.club)
    return listed, left_out


def course_page(report: "CourseReport") -> RenderableType:
    """Lay out what was read from a course file, hole by hole: what is there, assumed, missing or odd."""
    table = _table(
        ("hole", "right"),
        ("par", "right"),
        ("yds", "right"),
        ("index", "right"),
        ("name", "left"),
        ("areas", "wrap"),
    )
    for hole in report.holes:
        areas = ground_words(hole.areas, hole.heights)
        table.add_row(
            f"{hole.number}", f"{hole.par}", f"{hole.length_yd:.0f}", f"{hole.stroke_index}", hole.name, areas
        )
    remarks = [
        *(f"assumed: {note}" for note in report.notes),
        *(f"hole {hole.number}: no {what}" for hole in report.holes for what in hole.missing),
        *(f"hole {hole.number}: odd: {doubt}" for hole in report.holes for doubt in hole.doubts),
        *(f"hole {hole.number}: assumed: {note}" for hole in report.holes for note in hole.notes),
    ]
    return Group(Text(f"{report.name or 'Course'}: {report.size}\n"), table, *map(Text, remarks))


def player_page(player: "Player") -> RenderableType:
    """Lay out what was read from a player file."""
    index = "" if player.handicap_index is None else f", handicap index {player.handicap_index:g}"
    table = _table(
        ("club", "left"),
        ("shape", "left"),
        ("height", "left"),
        ("carry", "right"),
        ("carry sd", "right"),
        ("line sd", "right"),
        ("mishits", "right"),
        ("shots", "right"),
    )
    for pattern in player.patterns:
        table.add_row(
            pattern.club,
            pattern.shape,
            pattern.height,
            f"{pattern.carry_yd:.0f}",
            f"{pattern.carry_sd:.1%}",
            f"{pattern.line_sd_deg:.1f}°",
            f"{pattern.mishit:.0%}",
            f"{pattern.shots:.0f}",
        )
    short = ", ".join(f"{s.name} from {lie_words(s.lie)} to {s.longest_yd:.0f}" for s in player.short_game)
    putting = f"{player.putting.aim_sd_deg:.2f}° of line, {player.putting.pace_sd:.1%} of pace"
    rest = Text(f"\nInside a full wedge, yards: {short}.\nPutting spreads: {putting}.")
    return Group(
        Text(f"{player.name}{index}: {len(player.clubs)} clubs\n"), table, rest, *map(Text, player.notes)
    )


def fit_page(name: str, rows: "Iterable[ClubRow]", others: Iterable[str]) -> RenderableType:
    """Lay out how a player was fitted, and how sure each number is.

    A club that goes off the aim by more than may be chance is named below the table.

    Parameters
    ----------
    name : str
    rows : iterable of ClubRow
        Longest club first.
    others : iterable of str
        Short game, putting and notes, in words.
    """
    table = _table(
        ("shot", "left"),
        ("carry", "right"),
        ("line", "right"),
        ("two thirds within", "right"),
        ("mishits in 100", "right"),
        ("shots", "right"),
    )
    leans = []
    for row in rows:
        side = "right" if row.line_yd > 0 else "left"
        if abs(row.line_yd) > row.line_give_yd:
            leans.append(f"{row.shot}: {abs(row.line_yd):.0f} yards {side} of the aim on average")
        table.add_row(
            row.shot,
            f"{row.carry_yd:.0f} ± {row.carry_give_yd:.0f}",
            f"{abs(row.line_yd):.0f}{f' {side}' if round(row.line_yd) else ''} ± {row.line_give_yd:.0f}",
            f"{row.two_thirds_yd:.0f} ({row.two_thirds_low_yd:.0f} to {row.two_thirds_high_yd:.0f})",
            f"{in_hundred(row.mishit)} ({in_hundred(row.mishit_low)} to {in_hundred(row.mishit_high)})",
            f"{row.shots:.0f}",
        )
    legend = (
        "carry: yards. line: where the shot goes on average, yards right or left of the aim. two thirds "
        "within: yards either side of that line. Nine times in ten the truth is inside the range given. No shots: "
        "the level's numbers."
    )
    head = Text(f"{name}\n", style="bold")
    return Group(head, table, Text(legend, style="dim"), Text(), *map(Text, (*leans, *others)))


def records_page(counts: Mapping[str, int], warnings: Iterable[str]) -> RenderableType:
    """Lay out what was read from a file of records, and what the reader left out or doubts."""
    found = ", ".join(f"{kind.replace('_', ' ')} {count}" for kind, count in counts.items())
    return Group(Text(f"records: {found or 'no rows'}"), *(Text(f"note: {warning}") for warning in warnings))
