"""Whatever the map, the graph is born whole: a choice everywhere, the cup in reach, chances that sum to 1."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Point, box
from small_holes import compiler_of, one_club_player, trees

from caddiebrain import solve
from caddiebrain.course.model import Area, Hole
from caddiebrain.hole import GridSpec
from caddiebrain.terms import Lie

VERY_COARSE = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=40.0, near_lattice=15.0,
    putt_step_ft=0.5, screen_points=(8, 3), points=(13, 5), tee_points=(21, 8),
)  # fmt: skip


@st.composite
def areas(draw):
    lie = draw(st.sampled_from([Lie.SAND, Lie.YELLOW, Lie.RED, Lie.OUT, Lie.THICK, Lie.TIGHT, Lie.TREES]))
    x, y = draw(st.floats(-60, 60)), draw(st.floats(10, 330))
    shape = box(x, y, x + draw(st.floats(3, 60)), y + draw(st.floats(3, 60)))
    # The tee and the pin are never in trouble: the reader of courses refuses such maps.
    shape = shape.difference(box(-8, -8, 8, 8)).difference(Point(0, 300).buffer(12))
    if lie is Lie.TREES:
        return trees(shape)
    return Area(lie, shape, lost=draw(st.sampled_from([0.0, 0.3])) if lie is Lie.THICK else 0.0)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(areas(), max_size=6), st.booleans(), st.floats(-60, 60))
def test_a_hole_of_any_shape_has_a_whole_graph(extra, e5, corner):
    line = np.array([[0.0, 0.0], [corner, 160.0], [0.0, 300.0]])
    green = Area(Lie.GREEN, Point(0, 300).buffer(10))
    hole = Hole(1, 4, 1, line, (green, *(a for a in extra if not a.shape.is_empty)), local_rule_e5=e5)
    compiler = compiler_of(hole, one_club_player(mishit=0.1), VERY_COARSE)
    model = compiler.build(compiler.candidates())
    model.graph.check()
    number = model.numbering
    per_state = np.diff(model.graph.choice_start)
    assert (per_state[1:] > 0).all()
    assert number.cup == 0
    solved = solve.fewest_strokes(model.graph)
    assert 2.0 < solved.value[model.tee] < 30.0
