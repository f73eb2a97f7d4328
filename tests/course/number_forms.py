"""A plain hole by numbers for tests to change, and the ground that comes of it."""

import shapely

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.numbers import read_numbers
from caddiebrain.terms import Lie


def straight(**more):
    """A plain straight hole of 400 yards, fairway 30 wide from 100 to 380."""
    hole = {
        "number": 1,
        "par": 4,
        "stroke_index": 1,
        "length": 400,
        "fairway": [{"from": 100, "to": 380, "width": 30}],
        "green": {"depth": 30, "width": 24},
    }
    return {**hole, **more}


def course_of(*holes, **more):
    data = {"format": "holes-by-numbers", "schema_version": 1, "name": "Made up", "holes": list(holes)}
    return {**data, **more}


def read(*holes, **more):
    return read_numbers(course_of(*holes, **more), "test")


def one(hole, **more):
    return read(hole, **more).holes[0]


def with_feature(**feature):
    return one(straight(features=[feature]))


def areas(hole, lie):
    return [area for area in hole.areas if area.lie is lie]


def shape(hole, lie):
    return shapely.union_all([area.shape for area in areas(hole, lie)])


def lie_at(hole, spot):
    here = {area.lie for area in hole.areas if area.shape.intersects(shapely.Point(spot))}
    return next((lie for lie in PRECEDENCE if lie in here), Lie.ROUGH)
