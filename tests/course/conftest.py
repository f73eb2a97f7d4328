"""Invented ground for the tests: every hole and every map here is made up."""

import json

import numpy as np
import pytest
import shapely
from shapely.geometry import mapping

from caddiebrain.course.projection import TangentPlane

PLANE = TangentPlane(-3.1, 56.2)  # open sea of our own
GAP_YD = 260.0


def disc(x, y, radius):
    return shapely.Point(x, y).buffer(radius, quad_segs=6)


class Ground:
    """A map being drawn in yards east (x) and north (y) of an invented spot; written out in any format."""

    def __init__(self):
        self.rows = []  # (shape in yards, tags)

    def add(self, shape, **tags):
        self.rows.append((shape, {key.replace("__", ":"): str(value) for key, value in tags.items()}))
        return self

    def hole(self, number=1, x=0.0, length=400.0, *, line=None, tee="white", **tags):
        """One plain hole that runs north: line, tee, fairway, green, a bunker to the right of the green."""
        tags = {"golf": "hole", "ref": number, "par": 4, "handicap": number} | tags
        self.add(line or shapely.LineString([(x, 0), (x, length)]), **tags)
        self.add(shapely.box(x - 5, -5, x + 5, 5), golf="tee", tee=tee)
        self.add(shapely.box(x - 15, 150, x + 15, length - 25), golf="fairway")
        self.add(disc(x, length, 12), golf="green")
        self.add(disc(x + 20, length, 6), golf="bunker")
        return self

    def drop(self, **tags):
        """Take away the features that carry all of these tags."""
        self.rows = [r for r in self.rows if not all(r[1].get(k) == str(v) for k, v in tags.items())]
        return self

    def tagged(self, **tags):
        """The tags (to change in place) of the first feature that carries all of these."""
        return next(r[1] for r in self.rows if all(r[1].get(k) == str(v) for k, v in tags.items()))

    def lonlat(self):
        for shape, tags in self.rows:
            yield shapely.transform(shape, PLANE.to_lonlat), tags

    def geojson(self, own=False, **member):
        features = [
            {"type": "Feature", "properties": dict(tags), "geometry": json.loads(json.dumps(mapping(shape)))}
            for shape, tags in self.lonlat()
        ]
        document = {"type": "FeatureCollection", "features": features}
        if own:
            document["caddiebrain"] = {"schema_version": 1, "name": "Test Links"} | member
        return document


@pytest.fixture
def ground():
    return Ground()


@pytest.fixture
def saved(tmp_path):
    """Write a document, text or bytes to a file and return its path."""

    def save(content, name="course.geojson"):
        path = tmp_path / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
        return path

    return save


def lie_at(hole, x, y):
    """The lie at a spot, by the order of precedence."""
    from caddiebrain.course.lies import PRECEDENCE

    here = {area.lie for area in hole.areas if area.shape.contains(shapely.Point(x, y))}
    return next((lie for lie in PRECEDENCE if lie in here), None)


def turned(xy, degrees):
    angle = np.radians(degrees)
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.asarray(xy) @ rotation.T
