"""Course files to holes in yards: areas, lies, heights, set-up and relief under the Rules.

Modules are opened when a name of theirs is first used: whoever plans a round needs few of them.
"""

from typing import TYPE_CHECKING

from caddiebrain.opening import opener

if TYPE_CHECKING:
    from caddiebrain.course.describe import CourseReport, HoleReport, describe_course
    from caddiebrain.course.model import Area, Course, Hole, Point
    from caddiebrain.course.projection import TangentPlane
    from caddiebrain.course.read import course_from_document, load_course
    from caddiebrain.course.setup import Setup, pin_places, prepare
    from caddiebrain.course.write import course_to_geojson, hole_plane, write_course

__all__ = [
    "Area",
    "Course",
    "CourseReport",
    "Hole",
    "HoleReport",
    "Point",
    "Setup",
    "TangentPlane",
    "course_from_document",
    "course_to_geojson",
    "describe_course",
    "hole_plane",
    "load_course",
    "pin_places",
    "prepare",
    "write_course",
]

_MODULES = {
    "describe": (
        "CourseReport",
        "HoleReport",
        "describe_course",
    ),
    "model": (
        "Area",
        "Course",
        "Hole",
        "Point",
    ),
    "projection": ("TangentPlane",),
    "read": (
        "course_from_document",
        "load_course",
    ),
    "setup": (
        "Setup",
        "pin_places",
        "prepare",
    ),
    "write": (
        "course_to_geojson",
        "hole_plane",
        "write_course",
    ),
}

__getattr__ = opener(__name__, _MODULES)
