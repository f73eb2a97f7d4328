"""The tangent plane against pyproj's geodesics (Karney's algorithm on the WGS84 ellipsoid)."""

import numpy as np
import pyproj
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caddiebrain.course.projection import METRES_PER_YARD, TangentPlane

GEOD = pyproj.Geod(ellps="WGS84")
BEARINGS = np.arange(0.0, 360.0, 7.0)


def around(lon, lat, metres):
    """Spots at a true distance in every direction."""
    n = len(BEARINGS)
    lons, lats, _ = GEOD.fwd(np.full(n, lon), np.full(n, lat), BEARINGS, np.full(n, metres))
    return np.column_stack([lons, lats])


@pytest.mark.parametrize("lat", [-89.5, -41.0, 0.0, 28.0, 56.0, 70.0, 89.9])
@pytest.mark.parametrize("lon", [-180.0, -3.1, 0.0, 179.999])
@pytest.mark.parametrize(("metres", "within_m"), [(10.0, 1e-6), (500.0, 1e-4), (2000.0, 1e-3)])
def test_agrees_with_geodesics(lon, lat, metres, within_m):
    got = TangentPlane(lon, lat, bearing_deg=33.0).to_yards(around(lon, lat, metres))
    turn = np.radians(BEARINGS - 33.0)
    want = np.column_stack([np.sin(turn), np.cos(turn)]) * metres / METRES_PER_YARD
    assert np.abs(got - want).max() * METRES_PER_YARD < within_m


def test_a_sphere_would_not_do():
    """A mean radius instead of the ellipsoid is metres off at 500 m: the check above can fail."""
    lon, lat = -3.1, 56.0
    east, north = (around(lon, lat, 500.0) - [lon, lat]).T
    sphere = np.radians(np.column_stack([east * np.cos(np.radians(lat)), north])) * 6371008.8
    turn = np.radians(BEARINGS)
    assert np.abs(sphere - 500.0 * np.column_stack([np.sin(turn), np.cos(turn)])).max() > 0.5


@settings(max_examples=200, deadline=None)
@given(
    st.floats(-180, 180),
    st.floats(-89.9, 89.9),
    st.floats(0, 360),
    st.floats(-2000, 2000),
    st.floats(-2000, 2000),
)
def test_there_and_back(lon, lat, bearing, x, y):
    plane = TangentPlane(lon, lat, bearing)
    assert plane.to_yards(plane.to_lonlat([[x, y]]))[0] == pytest.approx([x, y], abs=1e-6)


def test_y_runs_from_start_to_end_and_x_to_its_right():
    start = (-3.1, 56.0)
    lon, lat, _ = GEOD.fwd(*start, 90.0, 400.0)  # due east
    plane = TangentPlane.through(start, (lon, lat))
    assert plane.bearing_deg == pytest.approx(90.0, abs=0.01)
    assert plane.to_yards([[lon, lat]])[0] == pytest.approx([0.0, 400.0 / METRES_PER_YARD], abs=1e-3)
    south = GEOD.fwd(*start, 180.0, 10.0)[:2]
    assert plane.to_yards([south])[0] == pytest.approx([10.0 / METRES_PER_YARD, 0.0], abs=1e-2)


def test_a_line_of_no_length_looks_north():
    assert TangentPlane.through((5.0, 5.0), (5.0, 5.0)).bearing_deg == 0.0
