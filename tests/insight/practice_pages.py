"""The outputs kept in two pages of the docs. Run this file to write them again after the model has changed."""

import re
import runpy
from pathlib import Path

import caddiebrain as cb

ROOT = Path(__file__).parents[2]
PAGES = tuple(ROOT / "docs" / name for name in ("practice-and-bag.md", "formats.md"))
BLOCK = re.compile(r"<!-- (?P<name>\w+) -->\n```text\n(?P<kept>.*?)```", re.DOTALL)


def kept() -> dict[str, str]:
    """Output of each example as the pages have it."""
    return {m["name"]: m["kept"] for page in PAGES for m in BLOCK.finditer(page.read_text(encoding="utf-8"))}


def printed(name: str, plan: cb.RoundPlan) -> str:
    """What an example prints for a plan of the demo."""
    page = runpy.run_path(str(ROOT / "examples" / f"{name}.py"))["page"]
    return str(page(plan)) + "\n"


def main() -> None:
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        fresh = BLOCK.sub(lambda m: f"<!-- {m['name']} -->\n```text\n{printed(m['name'], plan)}```", text)
        page.write_text(fresh, encoding="utf-8")


if __name__ == "__main__":
    main()
