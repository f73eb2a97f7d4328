"""``caddiebrain fit``: records of play to a player file."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.errors import Fault, RecordsError
from caddiebrain.insight.like_index import like_index
from caddiebrain.player import Level, fit_player, save_player
from caddiebrain.player.summary import club_rows
from caddiebrain.report.text import fit_page

__all__ = ["run"]


def run(
    records: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="RECORDS...",
            help="CSV or JSON files of shots, tallies, putts, cards; with --index none are needed.",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Where to write the player; nowhere when left out."),
    ] = None,
    index: Annotated[
        float | None,
        typer.Option(
            "--index", metavar="N", help="Handicap index to start from; -2 for +2. Else from the cards."
        ),
    ] = None,
    women: Annotated[
        bool, typer.Option("--women", help="Start from the published distances of women; of men otherwise.")
    ] = False,
    driver: Annotated[
        float | None,
        typer.Option("--driver", metavar="YARDS", help="A known carry with the driver; needs --index."),
    ] = None,
    clubs: Annotated[
        str | None,
        typer.Option(
            "--clubs",
            metavar="LIST",
            help='The clubs you own, "driver, 5w, 4h, 6i, 8i, pw, sw"; else a full bag.',
        ),
    ] = None,
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="Name of the player.")] = "player",
    half_life: Annotated[
        float | None,
        typer.Option(
            "--half-life", metavar="DAYS", help="Records this old count half; none fade when left out."
        ),
    ] = None,
    alias: Annotated[
        list[str] | None,
        typer.Option(
            "--alias", metavar="OWN=CLUB", help='A club by its own name, "old faithful=7-wood"; repeatable.'
        ),
    ] = None,
    metres: Annotated[
        bool, typer.Option("--metres", help="Bare numbers are metres; yards otherwise.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Make a player from records of any kind, a handicap index or both, and say how sure it is of each club."""
    if not records and index is None:
        raise typer.BadParameter("expected RECORDS, --index N, or both")
    if driver is not None and index is None:
        raise typer.BadParameter("--driver needs --index: the level it is a known carry of")
    level = (
        None
        if index is None
        else Level(handicap_index=index, sex="women" if women else "men", driver_carry_yd=driver)
    )
    units, aliases = "metres" if metres else None, _aliases(alias or [])
    try:
        player = fit_player(
            records or [],
            level,
            name=name,
            clubs=None if clubs is None else [club.strip() for club in clubs.split(",") if club.strip()],
            half_life_days=half_life,
            units=units,
            aliases=aliases,
        )
    except RecordsError as error:
        raise RecordsError(error.source, [_in_options(fault) for fault in error.faults]) from None
    like = like_index(player, "women" if women else "men")
    if like is not None:
        player = player.model_copy(update={"notes": (*player.notes, like.sentence)})
    if out is not None:
        save_player(player, out)
    for warning in player.posterior.warnings if player.posterior is not None else ():
        print(f"caddiebrain: note: {warning}", file=sys.stderr)
    if as_json:
        show_text(player.model_dump_json(indent=2, exclude_defaults=True))
    else:
        others = (*player.describe()[len(player.patterns) :], *player.notes)
        show(fit_page(player.name, club_rows(player.beliefs()), others))


def _aliases(given: list[str]) -> dict[str, str]:
    """Read ``OWN=CLUB``."""
    pairs = [text.partition("=") for text in given]
    wrong = next(("".join(pair) for pair in pairs if not all(part.strip() for part in pair)), None)
    if wrong is not None:
        raise typer.BadParameter(
            f"--alias: found {wrong!r}; expected OWN=CLUB, such as 'old faithful=7-wood'"
        )
    return {own.strip(): club.strip() for own, _, club in pairs}


def _in_options(fault: Fault) -> Fault:
    """Say what would do in options of the command line where the library speaks of arguments."""
    if fault.where == "level":
        return Fault("level", fault.found, "--index N, or cards of at least three rounds")
    option = {"half_life_days": "--half-life", "clubs": "--clubs"}.get(fault.where, fault.where)
    return Fault(option, fault.found, fault.expected)
