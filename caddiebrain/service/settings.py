"""What one service allows: sizes, times, memory, and how much it remembers."""

import os
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from caddiebrain import demo
from caddiebrain.hole import GridSpec

__all__ = ["ServiceSettings"]

_MEGABYTE = 2**20


class ServiceSettings(BaseModel):
    """Limits of a service. The defaults suit one machine and its own programs."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    workers: int = Field(
        default_factory=lambda: min(4, os.cpu_count() or 1), ge=1, le=64, description="processes that plan"
    )
    plan_processes: int | None = Field(
        default=None, ge=1, description="that share one plan; None: one for each processor, at most 4"
    )
    body_bytes: int = Field(default=4 * _MEGABYTE, ge=1024, description="largest request")
    body_seconds: float = Field(default=30.0, gt=0.0, description="time a client has to send one")
    seconds: float = Field(default=180.0, gt=0.0, description="longest a request may be worked on")
    memory_mb: int | None = Field(
        default=4096,
        ge=128,
        description="address space a worker may take beyond what it starts with, megabytes; None: no limit",
    )
    waiting: int = Field(default=64, ge=0, description="requests that may wait for a worker")
    connections: int = Field(default=256, ge=1, description="open at once")
    plans: int = Field(default=4, ge=0, description="finished plans kept on disk while the service runs")
    plan_bytes: int = Field(default=4096 * _MEGABYTE, ge=0, description="of all of them")
    answers: int = Field(default=512, ge=0, description="answers kept in memory")
    answer_bytes: int = Field(default=64 * _MEGABYTE, ge=0, description="of all of them")
    shutdown_seconds: float = Field(
        default=30.0, gt=0.0, description="time that running requests have when the service is stopped"
    )
    courses: dict[str, Path] = Field(
        default_factory=lambda: {"demo": demo.course_path()}, description="files that requests may name"
    )
    players: dict[str, Path] = Field(
        default_factory=lambda: {"demo": demo.player_path()}, description="files that requests may name"
    )
    grid: GridSpec | None = Field(default=None, description="how finely holes are cut up")
