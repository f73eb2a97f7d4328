"""The outputs of examples kept in the docs. Run this file to write them again after the model has changed.

PYTHONPATH=. python tests/insight/kept_pages.py               # every page
PYTHONPATH=. python tests/insight/kept_pages.py why.md        # one

A kept output is an example of what a golfer would read, so it need not repeat the last digit of today's model.
`unlike` says whether it is still the same page: the same sections and tables in the same order, nearly all lines
of the same kind, and numbers near those of today where a line stands in both.
"""

import re
import runpy
import sys
from collections.abc import Iterator
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import caddiebrain as cb

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
PAGES = {
    "why.md": ("why_this_club", "press_or_protect", "review_a_round"),
    "practice-and-bag.md": ("practice", "bag", "fewer_doubles"),
    "formats.md": ("stableford",),
    "carry.md": ("card_to_carry",),
}
NAMES = tuple(name for names in PAGES.values() for name in names)

SAME_KIND = 0.7
"""Least share of lines that are of the same kind, in the same order."""
NEAR = {0: (6.0, 0.3), 1: (1.5, 0.15)}
"""Digits after the point -> how far a number may be off: absolutely, or as a share of it."""
NEAR_FINE = (0.06, 0.15)
"""The same for two digits and more: strokes."""

BLOCK = re.compile(r"<!-- (?P<name>\w+) -->\n```text\n(?P<kept>.*?)```", re.DOTALL)
VERSION = re.compile(r"(?<=printed by\ncaddiebrain )\d+\.\d+\.\d+|(?<=printed by caddiebrain )\d+\.\d+\.\d+")
NUMBER = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?")
CLUB = re.compile(
    r"\b(?:low )?(?:driver|\d-(?:wood|hybrid|iron)|(?:pitching|gap|sand|lob) wedge)\b(?: (?:draw|fade))?"
)


def text_of(page: str) -> str:
    return (ROOT / "docs" / page).read_text(encoding="utf-8")


def kept(page: str) -> dict[str, str]:
    """Output of each example as a page has it."""
    return {m["name"]: m["kept"] for m in BLOCK.finditer(text_of(page))}


def example(name: str) -> dict[str, Any]:
    """An example's names: ``ask`` puts its questions to a plan, ``page`` writes the answers down."""
    return runpy.run_path(str(EXAMPLES / f"{name}.py"))


# -- likeness -------------------------------------------------------------------------------------------------


def plain(text: str) -> str:
    return " ".join(NUMBER.sub("#", text).split())


def kind(text: str) -> str:
    """A line's words without its numbers and clubs."""
    return " ".join(NUMBER.sub("#", CLUB.sub("@", text)).split())


def is_table(lines: list[str]) -> bool:
    return any(re.search(r"\S {2,}\S|^ {2}", line) for line in lines)


def frame(text: str) -> list[str]:
    """Of every paragraph what makes it the section it is: a title, a table's heading, the first word of prose."""
    found = []
    for paragraph in text.strip().split("\n\n"):
        lines = paragraph.splitlines()
        if paragraph.isupper() or is_table(lines):
            found.append(kind(lines[0]))
        else:
            found.append(kind(paragraph).split()[0])
    return found


def units(text: str) -> Iterator[str]:
    """Lines of tables, sentences of prose."""
    for paragraph in text.strip().split("\n\n"):
        lines = paragraph.splitlines()
        yield from lines if is_table(lines) else re.split(r"(?<=[.;:])\s+", " ".join(lines))


def far(old: str, new: str) -> bool:
    """Whether two numbers as printed are further apart than a model that was only tuned would bring them."""
    least, share = NEAR.get(len(new.partition(".")[2]), NEAR_FINE)
    return abs(float(old) - float(new)) > max(least, share * abs(float(new)))


def unlike(old: str, new: str) -> list[str]:
    """What makes a kept output another page than a fresh one; nothing if it is only a little older."""
    if frame(old) != frame(new):
        return [f"sections {frame(old)} became {frame(new)}"]
    was, now = list(units(old)), list(units(new))
    same = SequenceMatcher(None, [kind(u) for u in was], [kind(u) for u in now], autojunk=False)
    faults = (
        [] if same.ratio() >= SAME_KIND else [f"only {same.ratio():.0%} of the lines are of the same kind"]
    )
    words = SequenceMatcher(None, [plain(u) for u in was], [plain(u) for u in now], autojunk=False)
    for block in words.get_matching_blocks():
        for a, b in zip(was[block.a :][: block.size], now[block.b :][: block.size], strict=True):
            pairs = zip(NUMBER.findall(a), NUMBER.findall(b), strict=True)
            faults += [f"{x} became {y}: {b.strip()}" for x, y in pairs if far(x, y)]
    return faults


# -- writing --------------------------------------------------------------------------------------------------


def main() -> None:
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    for page in sys.argv[1:] or PAGES:
        fresh = text_of(page)
        for name in PAGES[page]:
            run = example(name)
            output = f"<!-- {name} -->\n```text\n{run['page'](*run['ask'](plan))}\n```"
            fresh = re.sub(
                rf"<!-- {name} -->\n```text\n.*?```", lambda _, o=output: o, fresh, flags=re.DOTALL
            )
        (ROOT / "docs" / page).write_text(VERSION.sub(cb.__version__, fresh), encoding="utf-8")


if __name__ == "__main__":
    main()
