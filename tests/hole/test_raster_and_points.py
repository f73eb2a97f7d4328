"""The raster against a geometry library; the points of a shot against the normal distribution."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm
from shapely import MultiPolygon, Point, Polygon, box

from caddiebrain.hole.points import mixture_points, normal_points
from caddiebrain.hole.raster import Frame, fill


@st.composite
def shapes(draw):
    """Star-shaped polygons, some with a hole, some in two parts."""
    n = draw(st.integers(3, 12))
    radius = draw(st.lists(st.floats(3.0, 25.0), min_size=n, max_size=n))
    angle = 2 * np.pi * np.arange(n) / n
    ring = np.stack([30 + radius * np.sin(angle), 25 + radius * np.cos(angle)], axis=1)
    shape = Polygon(ring)
    if draw(st.booleans()):
        shape = shape.difference(Point(30, 25).buffer(2.0))
    if draw(st.booleans()):
        shape = MultiPolygon([*getattr(shape, "geoms", [shape]), box(70, 3, 78.3, 11.9)])
    return shape


@settings(max_examples=60, deadline=None)
@given(shapes(), st.sampled_from([0.5, 1.0, 2.0]))
def test_a_filled_shape_is_the_cells_whose_centre_it_contains(shape, cell):
    frame = Frame(0.0, 0.0, int(90 / cell), int(60 / cell), cell)
    x, y = frame.centres()
    inside = shapely.contains_xy(shape, x, y)
    # A centre on the outline itself may go either way.
    sure = shapely.distance(shapely.points(x, y), shape.boundary) > 1e-9
    assert (fill(shape, frame) == inside)[sure].all()


def test_a_shape_partly_off_the_frame_is_clipped():
    frame = Frame(0.0, 0.0, 20, 20, 1.0)
    assert (
        fill(box(-50, 5, 50, 8), frame).reshape(20, 20).sum(axis=1).tolist() == [0] * 5 + [20] * 3 + [0] * 12
    )
    assert not fill(box(30, 30, 40, 40), frame).any()


def test_cells_beyond_the_border_count_for_the_nearest():
    frame = Frame(-10.0, 0.0, 20, 30, 1.0)
    x, y = np.array([-99.0, 99.0, -9.5]), np.array([-5.0, 99.0, 0.5])
    assert frame.index(x, y).tolist() == [0, 30 * 20 - 1, 0]
    assert frame.holds(x, y).tolist() == [False, False, True]


@pytest.mark.parametrize("n", [13, 21, 89, 377])
def test_points_have_the_moments_of_the_standard_normal(n):
    points = normal_points(n)
    assert points.mean(axis=0) == pytest.approx([0, 0], abs=1e-12)
    assert points.T @ points / n == pytest.approx(np.eye(2), abs=1e-12)


@pytest.mark.parametrize(("n", "worst"), [(89, 2.2), (377, 2.6)])
def test_shares_beyond_straight_edges_are_met_to_about_one_over_n(n, worst):
    points = normal_points(n)
    off = []
    for turn in np.linspace(0, np.pi, 37):
        along = points @ [np.sin(turn), np.cos(turn)]
        off += [abs((along > edge).mean() - norm.sf(edge)) for edge in np.linspace(-2.5, 2.5, 41)]
    assert max(off) * n < worst * np.log(n) / 2
    assert np.mean(off) * n < 1.2


def test_shares_in_quadrants_against_the_bivariate_integral():
    points = normal_points(377)
    rho = 0.5
    both = np.stack([points[:, 0], rho * points[:, 0] + np.sqrt(1 - rho**2) * points[:, 1]], axis=1)
    law = multivariate_normal(cov=[[1, rho], [rho, 1]])
    for a in (-1.0, 0.0, 0.7):
        for b in (-0.5, 0.0, 1.2):
            assert ((both < [a, b]).all(axis=1)).mean() == pytest.approx(law.cdf([a, b]), abs=4 / 377)


def test_both_parts_of_a_mixture_keep_their_weight_and_come_solid_first():
    points = mixture_points(89, 21)
    assert points.solid.tolist() == [True] * 89 + [False] * 21
    assert points.weight[points.solid].sum() == pytest.approx(1)
    assert points.weight[~points.solid].sum() == pytest.approx(1)
    assert (np.diff(points.direction[:89]) >= 0).all()
    assert (np.diff(points.direction[89:]) >= 0).all()
