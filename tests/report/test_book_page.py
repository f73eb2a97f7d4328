"""The book as a file: self-contained, escaped, described in words, written whole or not at all."""

import html
import json
import os
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

import caddiebrain as cb
from caddiebrain.errors import InputError
from caddiebrain.insight.book import book_of
from caddiebrain.report.book import book_page, check_writable

VOID = {"meta", "br", "link", "img"}


class Tags(HTMLParser):
    """Collects elements and checks that every one is closed in order."""

    def __init__(self, text):
        super().__init__()
        self.open, self.all, self.wrong = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.all.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.all.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


@pytest.fixture(scope="module")
def card(three_plan):
    return cb.carry_card(three_plan, rules=1)


@pytest.fixture(scope="module")
def book(three_plan, card):
    return book_of(three_plan, card)


@pytest.fixture(scope="module")
def page(book, three_plan):
    return book_page(book, three_plan.course)


@pytest.fixture(scope="module")
def tags(page):
    return Tags(page)


def data_in(page):
    return json.loads(
        re.search(r'<script type="application/json" id="book-data">(.*?)</script>', page, re.S)[1]
    )


class TestOneFile:
    def test_it_is_sound_markup(self, tags):
        assert tags.wrong == tags.open == []
        ids = [a["id"] for _, a in tags.all if "id" in a]
        assert len(ids) == len(set(ids)) > 30

    def test_it_needs_nothing_else(self, page, tags):
        for tag, attributes in tags.all:
            assert tag not in {"link", "img", "iframe", "object", "base"}
            assert "src" not in attributes
            assert not [name for name in attributes if name.startswith("on")]
            assert attributes.get("href", "#").startswith("#")
        assert set(re.findall(r"https?://[^\s\"'<]+", page)) == {"http://www.w3.org/2000/svg"}
        assert not re.search(
            r"\b(?:eval|fetch|XMLHttpRequest|import)\s*\(|new Function|@import|url\((?!#)", page
        )

    def test_its_policy_lets_no_other_script_run(self, page):
        policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)[1]
        assert policy.startswith("default-src 'none'")
        assert "script-src 'sha256-" in policy

    def test_it_is_the_same_every_time(self, page, three_plan, card):
        assert cb.book_html(three_plan, card) == page

    def test_every_link_leads_somewhere(self, tags):
        ids = {a["id"] for _, a in tags.all if "id" in a}
        links = [a["href"][1:] for tag, a in tags.all if tag == "a"]
        assert set(links) <= ids
        assert {"cover", "card", "hole-1", "hole-2", "hole-3", "last"} <= set(links)
        named = [name for _, a in tags.all for name in a.get("aria-labelledby", "").split()]
        assert named
        assert set(named) <= ids


class TestForEveryReader:
    def test_every_drawing_says_what_it_shows(self, page):
        drawings = re.findall(r"<svg [^>]*>", page)
        silent = [d for d in drawings if "aria-hidden" not in d and 'role="img"' not in d]
        assert silent == []
        assert all("aria-label" in d for d in drawings if 'role="img"' in d)

    def test_language_headings_and_a_way_past_the_menu(self, tags):
        assert ("html", {"lang": "en"}) in tags.all
        levels = [tag for tag, _ in tags.all if tag in {"h1", "h2", "h3"}]
        assert levels.count("h1") == 1
        assert levels.count("h2") == 6
        links = [a for tag, a in tags.all if tag == "a"]
        assert links[0]["class"] == "skip"

    def test_every_field_has_a_label(self, page):
        assert len(re.findall(r"<label><span>[^<]+</span><select ", page)) == page.count("<select ") == 9

    def test_it_warns_of_rule_4_3a(self, page):
        assert page.count("Rule 4.3a forbids this look-up") == 3
        assert "breach of Rule 4.3a" in page


class TestWords:
    def test_the_answers_a_golfer_asks_for(self, page, book):
        for hole in book.holes:
            sheet = re.search(
                rf'<article [^>]*id="hole-{hole.number}".*?</article>|id="hole-{hole.number}".*?</article>',
                page,
                re.S,
            )[0]
            assert f'<p class="club">{hole.tee.label}</p>' in sheet
            assert f"{hole.expected_score:.2f}" in sheet
            for item in hole.distances:
                assert f"{item.start_yd:.0f}–{item.end_yd:.0f}" in sheet
            assert "Hit</h3>" in sheet
            assert "Scores in 100" in sheet

    def test_rules_to_carry_have_a_page(self, page, card, book, three_plan):
        sheet = re.search(r'<section id="rules".*?</section>', page, re.DOTALL)[0]
        for line in (*(rule.words for rule in card.rules), *card.otherwise, card.sentence):
            assert html.escape(line) in sheet
        assert book.rules
        assert 'id="rules"' not in cb.book_html(three_plan)

    def test_the_data_is_the_book_s(self, page, book):
        data = data_in(page)
        assert data["target"] == 13
        for hole in book.holes:
            spots = data["holes"][str(hole.number)]["spots"]
            assert [s["words"] for s in spots] == [s.words for s in hole.spots]
            assert [s["best"] for s in spots] == [list(s.best) for s in hole.spots]


HOSTILE = "</script><script>alert(1)</script>\"'&<b onload=x>\u2028]]>"


def test_names_from_a_file_stay_text(three_plan, book, page):
    course = replace(
        three_plan.course,
        name=HOSTILE,
        holes=tuple(replace(h, name=HOSTILE) for h in three_plan.course.holes),
    )
    holes = tuple(hole.model_copy(update={"name": HOSTILE}) for hole in book.holes)
    spots = tuple(s.model_copy(update={"words": HOSTILE}) for s in book.holes[0].spots)
    holes = (holes[0].model_copy(update={"spots": spots}), *holes[1:])
    cover = book.cover.model_copy(update={"course": HOSTILE, "player": HOSTILE})
    text = book_page(book.model_copy(update={"cover": cover, "holes": holes}), course)
    assert text.count("<script") == page.count("<script") == 2
    assert "alert(1)</" not in text
    assert Tags(text).wrong == []
    assert data_in(text)["holes"]["1"]["spots"][0]["words"] == HOSTILE


class TestWriting:
    def test_a_book_is_written(self, three_plan, tmp_path):
        target = tmp_path / "round.html"
        target.write_text("old")
        cb.write_book(three_plan, target)
        assert target.read_text(encoding="utf-8") == cb.book_html(three_plan)
        assert os.listdir(tmp_path) == ["round.html"]

    def test_a_failure_leaves_what_was_there(self, three_plan, tmp_path, monkeypatch):
        target = tmp_path / "round.html"
        target.write_text("old")

        def full(*_):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("pathlib.Path.replace", full)
        with pytest.raises(InputError, match=r"round\.html: book: found No space left on device"):
            cb.write_book(three_plan, target)
        assert target.read_text() == "old"
        assert os.listdir(tmp_path) == ["round.html"]

    def test_no_such_directory(self, tmp_path):
        with pytest.raises(InputError, match="found no directory"):
            check_writable(tmp_path / "missing" / "round.html")
        with pytest.raises(InputError, match="found a directory"):
            check_writable(tmp_path)


def test_eighteen_holes_stay_under_three_megabytes(demo_plan):
    assert len(cb.book_html(demo_plan).encode()) < 3_000_000
