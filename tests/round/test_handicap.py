"""Strokes received against worked examples of the World Handicap System."""

import pytest

from caddiebrain.errors import InputError
from caddiebrain.round.handicap import course_handicap, net_double_bogey, score_differential, strokes_received


@pytest.mark.parametrize(
    ("index", "slope", "rating", "par", "strokes"),
    [
        # course handicap = index x slope / 113 + (course rating - par), by hand:
        (11.0, 113, 72.0, 72, 11),
        (11.0, 125, 72.1, 72, 12),  # 12.168 + 0.1
        (20.4, 140, 71.0, 72, 24),  # 25.274 - 1
        (-2.0, 130, 73.5, 72, -1),  # -2.301 + 1.5
        (12.5, 113, 72.0, 72, 13),  # halves go up
    ],
)
def test_course_handicap(index, slope, rating, par, strokes):
    assert course_handicap(index, slope, rating, par) == strokes


def test_an_allowance_takes_its_share_before_rounding():
    assert course_handicap(20.4, 140, 71.0, 72, allowance=0.95) == 23  # 0.95 x 24.274


def test_strokes_go_by_stroke_index():
    index = list(range(1, 19))
    assert strokes_received(15, index) == (1,) * 15 + (0,) * 3
    assert strokes_received(20, index) == (2, 2) + (1,) * 16
    assert strokes_received(-2, index) == (0,) * 16 + (-1, -1)
    assert strokes_received(0, index) == (0,) * 18
    assert sum(strokes_received(37, index[::-1])) == 37


def test_net_double_bogey():
    # Rules of Handicapping 3.1, worked: course handicap 15, par 4, stroke index 10 -> at most 7.
    received = strokes_received(15, list(range(1, 19)))[9]
    assert net_double_bogey(4, received) == 7


def test_score_differential():
    # Worked: gross 94, rating 73.0, slope 125, PCC 0 -> 18.984 -> 19.0.
    assert score_differential(94, 73.0, 125) == 19.0


@pytest.mark.parametrize(
    ("arguments", "named"),
    [((60.0, 125, 72.0, 72), "index"), ((10.0, 20, 72.0, 72), "slope"), ((10.0, 125, 7.2, 72), "rating")],
)
def test_bad_input_is_named(arguments, named):
    with pytest.raises(InputError, match=named):
        course_handicap(*arguments)


def test_bad_stroke_indexes_and_slopes_are_named():
    with pytest.raises(InputError, match="different"):
        strokes_received(5, [1, 1, 2])
    with pytest.raises(InputError, match=r"strokes_received: handicap: found 4\.5; expected a whole number"):
        strokes_received(4.5, [1, 3, 2])
    with pytest.raises(InputError, match="slope"):
        score_differential(90, 72.0, 0)
