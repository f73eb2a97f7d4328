import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "flight.md"


def test_the_page_runs_and_its_table_is_what_it_prints(capsys):
    text = PAGE.read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    assert len(blocks) == 2
    exec("\n".join(blocks), {"__name__": "flight_page"})
    printed = capsys.readouterr().out
    assert printed.count("|\n") == 7
    assert printed in text
    for line in printed.splitlines():
        ours, _, band = (cell.strip() for cell in line.strip("|").split("|")[1:])
        low, high = (float(end) for end in band.split(" to "))
        assert low <= float(ours) <= high
