"""The outputs kept in docs/why.md. Run this file to write them again after the model has changed."""

import re
import runpy
from pathlib import Path

import caddiebrain as cb

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "why.md"
BLOCK = re.compile(r"<!-- (?P<name>\w+) -->\n```text\n(?P<kept>.*?)```", re.DOTALL)


def kept() -> dict[str, str]:
    """Output of each example as the page has it."""
    return {m["name"]: m["kept"] for m in BLOCK.finditer(PAGE.read_text(encoding="utf-8"))}


def printed(name: str, plan: cb.RoundPlan) -> str:
    """What an example prints for a plan of the demo."""
    page = runpy.run_path(str(ROOT / "examples" / f"{name}.py"))["page"]
    return str(page(plan)) + "\n"


def main() -> None:
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    text = PAGE.read_text(encoding="utf-8")
    fresh = BLOCK.sub(lambda m: f"<!-- {m['name']} -->\n```text\n{printed(m['name'], plan)}```", text)
    PAGE.write_text(fresh, encoding="utf-8")


if __name__ == "__main__":
    main()
