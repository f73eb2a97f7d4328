"""Reading invented maps in tests, and what the reader says of them."""

import pytest

from caddiebrain.course import load_course
from caddiebrain.errors import CourseError


def read(ground, saved, **options):
    return load_course(saved(ground.geojson()), **options)


def complaint(ground, saved, **options):
    with pytest.raises(CourseError) as caught:
        read(ground, saved, **options)
    return str(caught.value)


def noted(course, text):
    return any(text in note for note in course.notes)
