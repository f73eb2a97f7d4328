"""How long course files take to read: the demo, and an invented city of 50 MB in every map format.

Run as ``python tests/bench/course_reading.py``; prints seconds, those of the processor and peak memory, each read in
a process of its own. Nothing here is a test.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

COURSE = Path(__file__).parents[2] / "course_specs" / "demo_course.geojson"
SIZE = 50 * 2**20
Element = dict[str, object]


def city(rng: np.random.Generator, lon: float, lat: float) -> Iterator[tuple[Element, list[list[float]]]]:
    """Give tags and outline of houses, streets and copses around a place, for ever."""
    kinds = [{"building": "yes"}, {"highway": "residential"}, {"natural": "wood"}, {"natural": "water"}]
    while True:
        kind = kinds[rng.choice(4, p=[0.7, 0.2, 0.06, 0.04])]
        centre = np.add([lon, lat], rng.normal(0.0, 0.08, 2))
        angle = np.linspace(0.0, 2 * np.pi, 1 + int(rng.integers(4, 14)))
        size = 1e-4 if "building" in kind else 1e-3
        ring = centre + size * np.column_stack([np.cos(angle), np.sin(angle)])
        ring[-1] = ring[0]
        yield dict(kind), np.round(ring, 7).tolist()


def write_city(form: str, path: Path) -> None:
    """Write the demo course and a city around it, about 50 MB of it."""
    course = json.loads(COURSE.read_text(encoding="utf-8"))
    rows = [(f["properties"], f["geometry"]) for f in course["features"]]
    first = next(g for p, g in rows if p.get("golf") == "hole")["coordinates"][0]
    rng = np.random.default_rng(1)
    with path.open("w", encoding="utf-8") as out:
        WRITERS[form](out, rows, city(rng, *first[:2]))


def write_geojson(out, rows, houses) -> None:
    out.write('{"type": "FeatureCollection", "features": [\n')
    for tags, geometry in rows:
        out.write(json.dumps({"type": "Feature", "properties": tags, "geometry": geometry}) + ",\n")
    while out.tell() < SIZE:
        tags, ring = next(houses)
        closed = "highway" not in tags
        geometry = {"type": "Polygon" if closed else "LineString", "coordinates": [ring] if closed else ring}
        out.write(json.dumps({"type": "Feature", "properties": tags, "geometry": geometry}) + ",\n")
    out.write('{"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [0, 0]}}]}')


def shapes(rows) -> Iterator[tuple[Element, list[list[float]]]]:
    """The demo's points, lines and outer rings."""
    for tags, geometry in rows:
        tags = {key: str(value) for key, value in tags.items() if key != "hole" or tags.get("golf") == "tee"}
        coordinates = geometry["coordinates"]
        if geometry["type"] == "Point":
            yield tags, [coordinates]
        elif geometry["type"] == "LineString":
            yield tags, coordinates
        elif geometry["type"] == "Polygon":
            yield tags, coordinates[0]


def write_overpass(out, rows, houses, body: bool = False) -> None:
    out.write('{"version": 0.6, "elements": [\n')
    number = 1
    drawn = shapes(rows)
    while out.tell() < SIZE:
        tags, ring = next(drawn, None) or next(houses)
        if len(ring) == 1:
            lon, lat = ring[0][:2]
            row = {"type": "node", "id": number, "lat": lat, "lon": lon, "tags": tags}
        elif body:
            refs = list(range(number + 1, number + 1 + len(ring)))
            for ref, (lon, lat) in zip(refs, ring, strict=True):
                out.write(json.dumps({"type": "node", "id": ref, "lat": lat, "lon": lon}) + ",\n")
            refs[-1] = refs[0] if ring[0] == ring[-1] else refs[-1]
            row = {"type": "way", "id": number, "nodes": refs, "tags": tags}
        else:
            places = [{"lat": lat, "lon": lon} for lon, lat in ring]
            row = {"type": "way", "id": number, "geometry": places, "tags": tags}
        number += 1 + len(ring)
        out.write(json.dumps(row) + ",\n")
    out.write('{"type": "node", "id": 9999999999, "lat": 0, "lon": 0}]}')


def write_xml(out, rows, houses) -> None:
    out.write('<?xml version="1.0" encoding="UTF-8"?>\n<osm version="0.6">\n')
    number = 1
    ways = []
    drawn = shapes(rows)
    while out.tell() < SIZE * 0.8:
        tags, ring = next(drawn, None) or next(houses)
        marks = "".join(f'<tag k="{k}" v="{v}"/>' for k, v in tags.items())
        if len(ring) == 1:
            lon, lat = ring[0][:2]
            out.write(f'<node id="{number}" lat="{lat}" lon="{lon}" version="1">{marks}</node>\n')
        else:
            refs = list(range(number + 1, number + 1 + len(ring)))
            for ref, (lon, lat) in zip(refs, ring, strict=True):
                out.write(f'<node id="{ref}" lat="{lat}" lon="{lon}" version="1"/>\n')
            refs[-1] = refs[0] if ring[0] == ring[-1] else refs[-1]
            ways.append(
                f'<way id="{number}">' + "".join(f'<nd ref="{r}"/>' for r in refs) + f"{marks}</way>\n"
            )
        number += 1 + len(ring)
    out.writelines(ways)
    out.write("</osm>\n")


WRITERS = {
    "GeoJSON": write_geojson,
    "Overpass JSON, out geom": write_overpass,
    "Overpass JSON, out body": lambda *args: write_overpass(*args, body=True),
    "OSM XML": write_xml,
}


def read_once(path: str) -> None:
    """Read one file in this process and print seconds, megabytes and holes."""
    from caddiebrain.course import load_course

    start, used = time.perf_counter(), time.process_time()
    course = load_course(path)
    seconds, used = time.perf_counter() - start, time.process_time() - used
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    areas = sum(len(hole.areas) for hole in course.holes)
    print(
        f"{seconds:8.2f} s {used:8.2f} s of a processor {peak:6.0f} MB  {len(course.holes)} holes, {areas} areas",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        for form in (None, *WRITERS):
            path = COURSE
            if form is not None:
                path = Path(folder) / "city"
                write_city(form, path)
            print(f"{form or 'demo course':26} {path.stat().st_size / 2**20:6.1f} MB", end=" ", flush=True)
            subprocess.run([sys.executable, __file__, str(path)], check=True)


if __name__ == "__main__":
    read_once(sys.argv[1]) if len(sys.argv) > 1 else main()
