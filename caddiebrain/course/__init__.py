"""Course files to holes in yards: areas, lies, heights, set-up and relief under the Rules."""

from caddiebrain.course.model import Area, Course, Hole, Point
from caddiebrain.course.projection import TangentPlane
from caddiebrain.course.read import load_course
from caddiebrain.course.write import course_to_geojson, hole_plane, write_course

__all__ = [
    "Area",
    "Course",
    "Hole",
    "Point",
    "TangentPlane",
    "course_to_geojson",
    "hole_plane",
    "load_course",
    "write_course",
]
