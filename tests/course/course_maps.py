"""Invented ground for the tests: every hole and every map here is made up."""

import itertools
import json
from xml.etree import ElementTree

import numpy as np
import shapely
from shapely.geometry import mapping

from caddiebrain.course import Area, Hole
from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.projection import TangentPlane
from caddiebrain.terms import Lie

PLANE = TangentPlane(-3.1, 56.2)  # open sea of our own
GAP_YD = 260.0


def disc(x, y, radius):
    return shapely.Point(x, y).buffer(radius, quad_segs=6)


class Ground:
    """A map being drawn in yards east (x) and north (y) of an invented spot; written out in any format."""

    def __init__(self):
        self.rows = []  # (shape in yards, tags)
        self.plane = PLANE

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


class Osm:
    """The same map as OpenStreetMap elements: nodes, ways, multipolygons with their rings cut in pieces."""

    def __init__(self, ground, pieces=2):
        self.nodes, self.ways, self.relations = {}, {}, {}
        self.ids = itertools.count(1)
        self.pieces = pieces
        for shape, tags in ground.lonlat():
            self.add(shape, tags)

    def add(self, shape, tags):
        if isinstance(shape, shapely.Point):
            self.node(shape.coords[0], tags)
        elif isinstance(shape, shapely.LineString):
            self.way(shape.coords, tags)
        elif isinstance(shape, shapely.Polygon) and not shape.interiors:
            self.way(shape.exterior.coords, tags)
        else:
            self.multipolygon(shape, tags)

    def node(self, spot, tags=None):
        number = next(self.ids)
        self.nodes[number] = (spot, tags or {})
        return number

    def way(self, spots, tags):
        spots = list(spots)
        refs = [self.node(spot) for spot in spots[:-1]]
        refs.append(refs[0] if spots[0] == spots[-1] else self.node(spots[-1]))
        number = next(self.ids)
        self.ways[number] = (refs, tags)
        return number

    def multipolygon(self, shape, tags):
        members = []
        for polygon in shapely.get_parts(shape):
            for role, rings in (("outer", [polygon.exterior]), ("inner", polygon.interiors)):
                for ring in rings:
                    refs = [self.node(spot) for spot in ring.coords[:-1]]
                    members += [(way, role) for way in self.cut(refs)]
        # In the file's disorder: every second piece first, as members need no order.
        self.relations[next(self.ids)] = (members[::2] + members[1::2], {"type": "multipolygon"} | tags)

    def cut(self, refs):
        """Cut a ring in pieces, every second one drawn the other way."""
        bounds = [round(i * len(refs) / self.pieces) for i in range(self.pieces + 1)]
        ring = [*refs, refs[0]]
        for turn, (start, end) in enumerate(itertools.pairwise(bounds)):
            number = next(self.ids)
            piece = ring[start : end + 1]
            self.ways[number] = (piece[::-1] if turn % 2 else piece, {})
            yield number

    def overpass(self, geom=False):
        elements = []
        for number, ((lon, lat), tags) in self.nodes.items():
            if tags or not geom:
                row = {"type": "node", "id": number, "lat": lat, "lon": lon}
                elements.append(row | ({"tags": tags} if tags else {}))
        for number, (refs, tags) in self.ways.items():
            if not geom:
                elements.append({"type": "way", "id": number, "nodes": refs, "tags": tags})
            elif tags:
                shape = {"geometry": self.places(refs), "nodes": refs}
                elements.append({"type": "way", "id": number, "tags": tags} | shape)
        for number, (members, tags) in self.relations.items():
            rows = [{"type": "way", "ref": way, "role": role} for way, role in members]
            if geom:
                rows = [row | {"geometry": self.places(self.ways[row["ref"]][0])} for row in rows]
            elements.append({"type": "relation", "id": number, "members": rows, "tags": tags})
        return {"version": 0.6, "generator": "test", "elements": elements}

    def places(self, refs):
        return [dict(zip(("lon", "lat"), self.nodes[ref][0], strict=True)) for ref in refs]

    def xml(self):
        root = ElementTree.Element("osm", version="0.6")

        def put(name, number, tags, **attributes):
            node = ElementTree.SubElement(root, name, id=str(number), **attributes)
            for key, value in tags.items():
                ElementTree.SubElement(node, "tag", k=key, v=value)
            return node

        for number, ((lon, lat), tags) in self.nodes.items():
            put("node", number, tags, lon=repr(lon), lat=repr(lat))
        for number, (refs, tags) in self.ways.items():
            way = put("way", number, tags)
            for ref in refs:
                ElementTree.SubElement(way, "nd", ref=str(ref))
        for number, (members, tags) in self.relations.items():
            relation = put("relation", number, tags)
            for ref, role in members:
                ElementTree.SubElement(relation, "member", type="way", ref=str(ref), role=role)
        return ElementTree.tostring(root, encoding="unicode")


def lie_at(hole, x, y):
    """The lie at a spot, by the order of precedence."""
    here = {area.lie for area in hole.areas if area.shape.contains(shapely.Point(x, y))}
    return next((lie for lie in PRECEDENCE if lie in here), None)


def drawn():
    """A hole with one area of every lie, each with all it can carry."""
    areas = [
        Area(Lie.TEE, disc(0, 0, 5)),
        Area(Lie.FAIRWAY, shapely.box(-15, 150, 15, 370), name="landing"),
        Area(Lie.TIGHT, shapely.box(-8, 350, 8, 380)),
        Area(Lie.ROUGH, shapely.box(-40, 0, 40, 420)),
        Area(Lie.THICK, shapely.box(40, 0, 60, 420), lost=0.12),
        Area(Lie.SAND, disc(20, 400, 6), name="the pit"),
        Area(Lie.TREES, shapely.box(-80, 0, -60, 400), "elms", 22.5, 3.0, 8.0, 30.0, 0.2),
        Area(Lie.GREEN, disc(5, 395, 14)),
        Area(Lie.YELLOW, disc(-30, 200, 20).difference(disc(-30, 200, 8))),
        Area(Lie.RED, shapely.MultiPolygon([disc(30, 100, 5), disc(30, 150, 5)])),
        Area(Lie.OUT, shapely.box(90, -50, 200, 500)),
    ]
    line = np.array([[0.0, 0.0], [-20.0, 240.0], [0.0, 396.0]])
    return Hole(
        number=7,
        par=4,
        stroke_index=11,
        line=line,
        areas=tuple(areas),
        bearing_deg=303.2,
        origin_lonlat=(17.3, -33.4),
        name="Elms",
        tees={"white": (0.0, 0.0), "red": (4.0, 60.0)},
        pins={"middle": (0.0, 396.0), "back": (4.0, 404.0)},
        heights=np.array([[0.0, 0.0, 30.0], [0.0, 400.0, 41.5]]),
        local_rule_e5=True,
    )
