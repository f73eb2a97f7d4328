"""The heath that comes with the project, a whole course by numbers."""

import json
from pathlib import Path

import pytest
import shapely
from number_forms import areas, lie_at, shape

from caddiebrain.course.numbers import is_numbers
from caddiebrain.course.read import load_course
from caddiebrain.terms import Lie

ROOT = Path(__file__).parents[2]
HEATH = ROOT / "course_specs" / "heath_by_numbers.json"


@pytest.fixture(scope="module")
def heath():
    return load_course(HEATH)


class TestTheHeath:
    CARD = (
        (4, 322), (4, 375), (3, 135), (4, 341), (5, 478), (4, 398), (3, 170), (4, 289), (4, 410),
        (4, 334), (4, 421), (3, 152), (4, 356), (4, 362), (5, 502), (4, 308), (3, 188), (4, 379),
    )  # fmt: skip

    def test_its_card(self, heath):
        assert tuple((hole.par, round(hole.length_yd, 3)) for hole in heath.holes) == self.CARD
        assert (heath.par, round(heath.length_yd)) == (70, 5920)
        assert sorted(hole.stroke_index for hole in heath.holes) == list(range(1, 19))
        assert heath.notes == ()
        assert all(hole.local_rule_e5 for hole in heath.holes)

    @pytest.mark.parametrize("number", range(1, 19))
    def test_every_hole_is_whole(self, heath, number):
        hole = heath.hole(number)
        assert all(area.shape.is_valid and area.shape.area > 1.0 for area in hole.areas)
        assert lie_at(hole, hole.tee) is Lie.TEE
        assert lie_at(hole, hole.pin) is Lie.GREEN
        assert set(hole.tees) == {"back", "day", "short"}
        assert len(areas(hole, Lie.SAND)) >= 2
        if hole.par > 3:
            fairway = shape(hole, Lie.FAIRWAY)
            assert fairway.intersection(shapely.LineString(hole.line)).length > 150.0
        woods = shape(hole, Lie.TREES)
        assert woods.intersection(shape(hole, Lie.FAIRWAY)).area < 1.0

    def test_tee_sets_are_chosen_by_name(self, heath):
        day = load_course(HEATH, tees="day")
        assert day.length_yd == pytest.approx(heath.length_yd - 18 * 14, abs=0.5)

    def test_it_is_told_apart_by_its_content(self, tmp_path):
        copy = tmp_path / "course.geojson"
        copy.write_text(HEATH.read_text(encoding="utf-8"), encoding="utf-8")
        assert load_course(copy).par == 70
        assert is_numbers(json.loads(HEATH.read_text(encoding="utf-8")))
        assert [is_numbers(other) for other in ([], {"format": "other"}, None)] == [False] * 3
