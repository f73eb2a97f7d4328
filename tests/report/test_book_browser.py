"""The book on the screen of a real browser: drawn, answered, reached by finger and by keyboard."""

import pytest
from book_in_browser import DESK, PHONE, at
from selenium.webdriver.common.keys import Keys

from caddiebrain.insight.book_records import WindOnHole
from caddiebrain.report.book_hole import wind_words
from caddiebrain.round.ranking import GRAIN, LIVE


def choose(page, hole, field, value):
    page.execute_script(
        """const field = document.querySelector(`#hole-${arguments[0]} [data-field=${arguments[1]}]`);
        field.value = String(arguments[2]);
        if (field.value !== String(arguments[2])) throw new Error("no such option");
        field.dispatchEvent(new Event("change"));""",
        hole,
        field,
        value,
    )


def answer(page, hole):
    """The club shown, and the ranked choices with their chances in a hundred."""
    return page.execute_script(
        """const part = document.querySelector(`#hole-${arguments[0]} .lookup`);
        return [part.querySelector(".pick").textContent,
            [...part.querySelectorAll("tbody tr")].map(row =>
                [row.querySelector("button"), ...row.querySelectorAll("td")].map(cell => cell.textContent))];""",
        hole,
    )


class TestOnAScreen:
    def test_every_hole_is_drawn(self, page, plan):
        sizes = page.execute_script(
            """return [...document.querySelectorAll(".hole")].map(hole => [hole.dataset.hole,
                ...[".map svg", ".map .balls", ".map .oval.usual", ".green svg"].map(name => {
                    const box = hole.querySelector(name).getBoundingClientRect();
                    return Math.min(box.width, box.height); })]);"""
        )
        assert [int(row[0]) for row in sizes] == [hole.number for hole in plan.holes]
        for number, drawing, balls, oval, green in sizes:
            assert drawing > 150, number
            assert balls > 10, number
            assert oval > 5, number
            assert green > 80, number

    def test_nothing_is_said_on_the_console(self, page):
        assert page.get_log("browser") == []

    def test_a_standing_picked_changes_the_choice_where_the_plan_switches(self, page, plan):
        """Well inside each run of standings the page shows the club the plan switches to, with its chance."""
        changed = 0
        for hole in plan.holes[1:]:
            shown = set()
            for switch in hole.switches:
                standing = middle(switch, hole)
                options = hole.tee_options(standing)
                choose(page, hole.number, "standing", standing)
                pick, rows = answer(page, hole.number)
                assert pick == options[0].label, (hole.number, standing)
                if LIVE[0] < options[0].chance < LIVE[1]:
                    # In tenths; aims that are level at every standing are one in the book.
                    assert float(rows[0][3]) == pytest.approx(
                        100 * options[0].chance, abs=0.051 + 100 * GRAIN
                    )
                names = [row[0] for row in rows]
                said = [o.label for o in options if o.label in names]
                assert sorted(names) == sorted(said)
                # Clubs that are level to the grain may stand in another order: the book has fewer aims.
                live = LIVE[0] < options[0].chance < LIVE[1]
                worth = {o.label: o.chance if live else o.expected for o in options}
                for name, label in zip(names[:3], said[:3], strict=True):
                    apart = abs(worth[name] - worth[label])
                    assert apart <= (2 * GRAIN if live else 0.01), (hole.number, standing, names, said)
                shown.add(pick)
            changed += len(shown) > 1
            choose(page, hole.number, "standing", 0)
        assert changed >= 2

    def test_the_line_that_holds_is_pointed_out(self, page, plan):
        hole = next(h for h in plan.holes[1:] if len(h.switches) > 1)
        for i, switch in enumerate(hole.switches):
            choose(page, hole.number, "standing", middle(switch, hole))
            lit = page.execute_script(
                "return [...document.querySelectorAll(`#hole-${arguments[0]} .switches tr`)]"
                ".map(row => row.classList.contains('now'))",
                hole.number,
            )
            assert lit == [j == i for j in range(len(hole.switches))]
        choose(page, hole.number, "standing", 0)

    def test_a_spot_tapped_is_looked_up(self, page, plan):
        number = plan.holes[2].number
        before = answer(page, number)
        places = page.execute_script(
            """const svg = document.querySelector(`#hole-${arguments[0]} .map svg`);
            svg.scrollIntoView({block: "center"});
            return [...svg.querySelectorAll(".live .spot")].map(dot => {
                const box = dot.getBoundingClientRect();
                return [box.x + box.width / 2, box.y + box.height / 2]; });""",
            number,
        )
        inside = [i for i, (x, y) in enumerate(places) if 0 < x < DESK[0] and 0 < y < DESK[1]]
        target = inside[len(inside) // 2]
        x, y = places[target]
        for kind in ("mousePressed", "mouseReleased"):
            page.execute_cdp_cmd(
                "Input.dispatchMouseEvent", {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}
            )
        spot = page.execute_script(
            "return document.querySelector(`#hole-${arguments[0]} [data-field=spot]`).value", number
        )
        assert int(spot) == target != 0
        assert answer(page, number) != before
        drawn = page.execute_script(
            "return document.querySelectorAll(`#hole-${arguments[0]} .live .here`).length", number
        )
        assert drawn == 1

    def test_a_choice_can_be_shown_by_keyboard(self, page, plan):
        number = plan.holes[4].number
        page.execute_script(
            "document.querySelectorAll(`#hole-${arguments[0]} .choices button`)[1].focus()", number
        )
        page.switch_to.active_element.send_keys(Keys.SPACE)
        state = page.execute_script(
            """const all = [...document.querySelectorAll(`#hole-${arguments[0]} .choices button`)];
            return [all.map(b => b.getAttribute("aria-pressed")), all.indexOf(document.activeElement)];""",
            number,
        )
        assert state[0][:2] == ["false", "true"]
        assert state[1] == 1

    def test_tab_goes_past_the_menu_then_down_the_page(self, page):
        page.refresh()
        visited = []
        for _ in range(3):
            page.switch_to.active_element.send_keys(Keys.TAB)
            visited.append(page.switch_to.active_element.get_attribute("hash"))
        assert visited[:2] == ["#hole-1", "#cover"]
        assert len(set(visited)) == 3
        order = page.execute_script(
            """return [...document.querySelectorAll("a,select,button,input")].map(e =>
                e.closest(".hole")?.dataset.hole || (e.matches("a") ? "0" : "")).filter(Boolean).map(Number)"""
        )
        assert order == sorted(order)
        assert (
            page.execute_script(
                "return document.querySelectorAll('[tabindex]:not([tabindex=\"-1\"])').length"
            )
            == 0
        )

    @pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
    def test_nothing_sticks_out_sideways(self, page, size):
        at(page, size, touch=size is PHONE)
        try:
            wide = page.execute_script(
                """return [document.documentElement.scrollWidth, innerWidth,
                    ...[...document.querySelectorAll("main *")].filter(e => !e.closest("svg") && !e.closest(".hidden"))
                        .map(e => e.getBoundingClientRect().right)]"""
            )
            assert wide[0] <= wide[1]
            assert max(wide[2:]) <= size[0] + 0.5
        finally:
            at(page, DESK)

    def test_the_wind_in_words_fits_a_phone(self, page):
        longest = wind_words(WindOnHole(mph=18, toward_deg=20, along="tail", from_side="right"))
        at(page, PHONE, touch=True)
        try:
            right = page.execute_script(
                """for (const signs of document.querySelectorAll(".hole .signs")) {
                    const sign = signs.lastElementChild.cloneNode(true);
                    sign.lastChild.textContent = arguments[0];
                    signs.prepend(sign);
                }
                return Math.max(...[...document.querySelectorAll(".sign")]
                    .map(e => e.getBoundingClientRect().right))""",
                longest,
            )
            assert right <= PHONE[0]
        finally:
            page.refresh()
            at(page, DESK)

    def test_a_finger_finds_its_mark(self, page):
        """WCAG 2.2, 2.5.8: targets of at least 24 by 24 CSS pixels."""
        at(page, PHONE, touch=True)
        try:
            small = page.execute_script(
                """return [...document.querySelectorAll("nav a, #hole-1 select, #hole-1 button")]
                    .map(e => e.getBoundingClientRect()).filter(b => b.width < 24 || b.height < 24).length"""
            )
            assert small == 0
        finally:
            at(page, DESK)


def middle(switch, hole):
    """A standing inside a run at which its club is the best one."""
    first, last = switch.from_standing, switch.to_standing
    if first is None and last is None:
        return 0
    tried = (
        range(last, last - 6, -1)
        if first is None
        else range(first, (first + 6 if last is None else last + 1))
    )
    ranked = {s: hole.tee_options(s)[0] for s in tried}
    return next(s for s, o in ranked.items() if o.label == switch.option.label and 0.002 < o.chance < 0.998)
