"""The book as a real browser prints it: sizes of pages, and greens against their size on the ground, in the PDF."""

import base64
import io
import re

import numpy as np
import pypdf
import pytest
import shapely
from book_in_browser import DESK, at
from scipy.spatial import procrustes

import caddiebrain as cb
from caddiebrain.course.model import Course
from caddiebrain.course.picture import picture_of_green
from caddiebrain.terms import Lie
from tests.conftest import BLUNT, open_hole


@pytest.fixture(scope="module")
def pdf(page):
    """The book as printed, without the background graphics that browsers leave out."""
    made = page.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False})
    return pypdf.PdfReader(io.BytesIO(base64.b64decode(made["data"])))


@pytest.fixture(scope="module")
def sheets(pdf, plan):
    """Every third hole with the words and the lines on its page; reading a page takes a while."""
    some = list(zip(plan.holes, pdf.pages[2:], strict=False))[::3]
    return [(hole, *read(paper)) for hole, paper in some]


@pytest.fixture
def long_book(browser, tmp_path, demo_player):
    """A straight par 5 of 600 yards with twelve rules, open on a desk."""
    course = Course("Long", (open_hole(600.0, 5),))
    plan = cb.plan_round(course, demo_player, target=5, grid=BLUNT)
    card = cb.carry_card(plan, 1)
    card = card.model_copy(update={"rules": card.rules[:1] * 12})
    target = tmp_path / "long.html"
    cb.write_book(plan, target, card)
    at(browser, DESK)
    before = browser.current_url
    browser.get(target.as_uri())
    yield browser
    browser.get(before)


def print_at_size(page):
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    at(page, (408, 672))


def back_to_the_screen(page):
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    at(page, DESK)


def cut_off(page):
    """Pages, and the lists on them that may shrink, with something below their lower edge; and how far, pixels."""
    over = page.execute_script(
        """return [...document.querySelectorAll(".page, .next")].map(e =>
            [e.id || `${e.closest(".page").id} ${e.className}`,
            Math.max(...[...e.querySelectorAll("*")]
                .filter(c => !c.closest("svg *") && c.getBoundingClientRect().height > 0)
                .map(c => c.getBoundingClientRect().bottom)) - e.getBoundingClientRect().bottom])"""
    )
    return [row for row in over if row[1] > 0.5]


class TestOnPaper:
    def test_pages_fit_a_pocket(self, pdf, plan):
        """Rule 4.3a, clarification 1 (2023): no larger than 4.25 x 7 inches; a point is 1/72 inch."""
        sizes = {(float(p.mediabox.width) / 72, float(p.mediabox.height) / 72) for p in pdf.pages}
        assert all(wide <= 4.25 + 1e-3 and tall <= 7.0 + 1e-3 for wide, tall in sizes)
        assert len(pdf.pages) == len(plan.holes) + 3

    def test_one_hole_to_a_page_with_its_answers(self, sheets):
        for hole, written, _ in sheets:
            text = " ".join(written.split())
            assert hole.tee_choice.label in text
            assert f"{hole.expected_score:.2f}" in text
            assert f"{hole.length_yd:.0f} yards" in text
            assert "Try a score" not in text  # the look-up stays on the screen

    def test_nothing_is_cut_off(self, page):
        print_at_size(page)
        try:
            assert cut_off(page) == []
        finally:
            back_to_the_screen(page)

    def test_a_long_straight_hole_is_whole(self, long_book):
        """A map drawn as wide as its column must not be so tall that it pushes the green off the page."""
        print_at_size(long_book)
        try:
            assert cut_off(long_book) == []
            tall = long_book.execute_script(
                "return [...document.querySelectorAll('.map svg, .green svg')]"
                ".map(e => e.getBoundingClientRect().height)"
            )
            assert len(tall) == 2
            assert min(tall) > 100
        finally:
            back_to_the_screen(long_book)

    def test_rules_with_two_digits_are_whole(self, long_book):
        """The margin of a page is 0.24 inches, 17.28 points; what is left of it is cut."""
        made = long_book.execute_cdp_cmd(
            "Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False}
        )
        pdf, starts = pypdf.PdfReader(io.BytesIO(base64.b64decode(made["data"]))), []

        def see(text, cm, tm, font, size):
            if text.strip().startswith("10."):
                starts.append(tm[4] * cm[0] + cm[4])

        pdf.pages[2].extract_text(visitor_text=see)
        assert len(starts) == 1
        assert starts[0] >= 17.28

    def test_words_are_large_enough_to_read(self, pdf):
        """Nothing below 6 points, in the text or on the maps."""
        sizes = []

        def see(text, cm, tm, font, size):
            if text.strip():
                matrix = np.array([[tm[0], tm[1]], [tm[2], tm[3]]]) @ np.array(
                    [[cm[0], cm[1]], [cm[2], cm[3]]]
                )
                sizes.append(size * abs(np.linalg.det(matrix)) ** 0.5)

        for number in (2, 5, 10):
            pdf.pages[number].extract_text(visitor_text=see)
        assert len(sizes) > 50
        assert min(sizes) >= 5.99

    def test_greens_are_no_larger_than_one_to_480(self, sheets):
        """Each green's outline is found in the PDF by its corners and measured against its size on the ground."""
        for hole, written, runs in sheets:
            outline = shapely.get_coordinates(green_on_the_ground(hole.hole))[:-1]
            found = [run[: len(outline)] for run in runs if same_shape(run, outline)]
            scales = [yards_wide(outline) * 36 * 72 / yards_wide(run) for run in found]
            assert scales, hole.number
            assert min(scales) >= 480 * 0.999, hole.number
            assert min(scales) == pytest.approx(printed_scale(written), rel=0.01), hole.number

    def test_the_bar_of_ten_yards_is_ten_yards(self, sheets):
        for _, written, runs in sheets:
            printed = printed_scale(written)
            lengths = [np.hypot(*(run[1] - run[0])) for run in runs if len(run) == 2]
            assert min(abs(length * printed / 72 / 36 - 10.0) for length in lengths) < 0.05


def printed_scale(written):
    """The scale written beside the bar."""
    return int(re.search(r"10yards\(1:(\d+)\)", re.sub(r"\s", "", written))[1])


def green_on_the_ground(hole):
    """The green's outline in yards, turned as the drawing turns it."""
    pin = picture_of_green(hole).place([hole.pin])[0]
    greens = [p for p in picture_of_green(hole).patches if p.lie is Lie.GREEN]
    return min(greens, key=lambda p: p.shape.distance(shapely.Point(pin))).shape.exterior


def same_shape(run, outline):
    """Whether a run of points is an outline moved, turned, mirrored and scaled."""
    if len(run) - len(outline) not in (0, 1):
        return False
    return procrustes(outline, run[: len(outline)])[2] < 1e-3


def yards_wide(run):
    """Diagonal of the box around points; the same whichever way up."""
    return float(np.hypot(*np.ptp(np.asarray(run), axis=0)))


def read(paper):
    """The words of a page and every run of straight lines on it, in points of the paper."""
    runs, here = [], []

    def see(op, args, cm, tm):
        if op in (b"m", b"l"):
            x, y = (float(a) for a in args)
            spot = (x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5])
            if op == b"m":
                here.append([])
            if here:
                here[-1].append(spot)
        elif op in (b"f", b"f*", b"S", b"s", b"B", b"B*", b"n", b"W", b"W*"):
            runs.extend(np.array(run) for run in here if len(run) > 1)
            here.clear()

    return paper.extract_text(visitor_operand_before=see), runs
