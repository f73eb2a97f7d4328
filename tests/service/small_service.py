"""A service whose plans take a fraction of a second, on a free port of this machine."""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import caddiebrain as cb
from caddiebrain.hole import GridSpec
from caddiebrain.service import ServiceSettings

BLUNT = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=45.0, near_lattice=18.0, wood_lattice=18.0,
    putt_step_ft=1.0, screen_points=(8, 3), points=(13, 5), tee_points=(21, 5),
)  # fmt: skip
HOLE = {"number": 1, "par": 3, "stroke_index": 1, "length": 150, "green": {"depth": 28, "width": 24}}
COURSE = {"format": "holes-by-numbers", "schema_version": 1, "name": "One short hole", "holes": [HOLE]}
LEVEL = {"handicap_index": 11.0, "clubs": ["7-iron", "8-iron", "9-iron", "sand wedge"]}
ROUND = {
    "holes": [
        {
            "number": 1,
            "shots": [
                {"club": "7-iron"},
                {"club": "putter", "feet": 12},
                {"club": "putter", "feet": 2, "result": "holed"},
            ],
        }
    ]
}


def files(directory: Path) -> tuple[Path, Path]:
    """Write the course and the player."""
    course, player = directory / "course.json", directory / "player.json"
    course.write_text(json.dumps(COURSE), encoding="utf-8")
    golfer = cb.Level(handicap_index=11.0, clubs=tuple(LEVEL["clubs"])).player()
    player.write_text(golfer.model_dump_json(exclude_defaults=True), encoding="utf-8")
    return course, player


def settings(directory: Path, **more: Any) -> ServiceSettings:
    course, player = files(directory)
    given: dict[str, Any] = {"workers": 2, "plan_processes": 1, "grid": BLUNT}
    return ServiceSettings(courses={"demo": course}, players={"demo": player}, **(given | more))


@contextmanager
def running(chosen: ServiceSettings) -> Iterator[str]:
    """Run a service in a thread; yields its address."""
    import uvicorn

    from caddiebrain.service.app import make_app
    from caddiebrain.service.run import open_door

    door = open_door("127.0.0.1", 0)
    config = uvicorn.Config(make_app(chosen), log_config=None, timeout_graceful_shutdown=5)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]})
    thread.start()
    try:
        yield f"http://127.0.0.1:{door.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(60.0)
        door.close()
        assert not thread.is_alive()
