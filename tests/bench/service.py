"""The service on loopback: what a plan costs over HTTP, and fifty clients at once for a minute.

The clients ask of two plans of the demo, 18 holes on the usual grid, made beforehand: nine in ten requests are options
from ever new places, which a worker has to work out; the rest are the plan, a comparison, a review, bad input.

    python tests/bench/service.py [seconds] [clients]
"""

import asyncio
import json
import os
import re
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import numpy as np

import caddiebrain as cb

ROUND = json.loads((Path(__file__).parents[2] / "examples" / "demo_round.json").read_text(encoding="utf-8"))
TARGETS = (79, 85)


@contextmanager
def service() -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Run the command; its address and its process."""
    command = [sys.executable, "-m", "caddiebrain", "serve", "--port", "0", "--waiting", "200"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        line = process.stderr.readline() if process.stderr else ""
        found = re.search(r"http://\S+:\d+", line)
        if found is None:
            raise SystemExit(line)
        try:
            yield found[0], process
        finally:
            process.terminate()


def overhead(address: str) -> None:
    """Plan in this process and over HTTP in turn."""
    course, player = cb.demo.course(), cb.demo.player()
    ratios = []
    for target in TARGETS:
        start = time.perf_counter()
        cb.plan_round(course, player, target).record().model_dump_json()
        own = time.perf_counter() - start
        start = time.perf_counter()
        answer = httpx.post(f"{address}/plan", json={"target": target}, timeout=600).raise_for_status()
        served = time.perf_counter() - start
        work = float(answer.headers["server-timing"].removeprefix("work;dur=")) / 1000.0
        ratios.append(served / own)
        print(
            f"demo for {target}: here {own:.1f} s; over HTTP {served:.2f} s, of which the worker worked {work:.2f} s "
            f"and the way there and back took {served - work:.2f} s; {served / own:.3f} times",
            flush=True,
        )
        time.sleep(3.0)  # the plan is written to disk after its answer
    print(f"median {statistics.median(ratios):.3f}")


def ask(rng: np.random.Generator) -> tuple[str, dict[str, Any], int]:
    """A path, a request and the status it should have."""
    kind, target = rng.random(), int(rng.choice(TARGETS))
    if kind < 0.90:
        place = {
            "hole": int(rng.integers(1, 19)),
            "to_pin": round(float(rng.uniform(40, 130)), 2),
            "lie": "rough",
        }
        return "options", place | {"target": target, "standing": int(rng.integers(-2, 12))}, 200
    if kind < 0.94:
        return "plan", {"target": target}, 200
    if kind < 0.96:
        first = {"hole": 7, "first": "driver", "second": "4-hybrid", "standing": int(rng.integers(0, 9))}
        return "compare", first | {"target": target}, 200
    if kind < 0.97:
        return "review", {"target": target, "round": ROUND}, 200
    return "options", {"hole": 40, "target": target}, 422


async def client(address: str, until: float, seed: int, seen: Counter[str], waits: list[float]) -> None:
    rng = np.random.default_rng(seed)
    async with httpx.AsyncClient(base_url=address, timeout=120.0) as link:
        while time.monotonic() < until:
            path, body, status = ask(rng)
            start = time.monotonic()
            try:
                answer = await link.post(f"/{path}", json=body)
                seen[
                    f"{path} {answer.status_code}" if answer.status_code == status else f"ERROR {answer.text}"
                ] += 1
            except httpx.HTTPError as error:
                seen[f"ERROR {error!r}"] += 1
            waits.append(time.monotonic() - start)


def resident(root: int) -> tuple[int, int]:
    """Megabytes of the server itself and of its workers."""
    tasks = Path(f"/proc/{root}/task")
    workers = {n for task in tasks.iterdir() for n in (task / "children").read_text(encoding="ascii").split()}
    page = os.sysconf("SC_PAGE_SIZE") / 2**20
    sizes = [
        int(Path(f"/proc/{n}/statm").read_text(encoding="ascii").split()[1]) * page
        for n in (root, *sorted(workers))
    ]
    return round(sizes[0]), round(sum(sizes[1:]))


async def soak(address: str, root: int, seconds: float, clients: int) -> None:
    seen: Counter[str] = Counter()
    waits: list[float] = []
    until = time.monotonic() + seconds
    running = [asyncio.create_task(client(address, until, i, seen, waits)) for i in range(clients)]
    sizes = []
    while time.monotonic() < until:
        await asyncio.sleep(seconds / 12)
        sizes.append(resident(root))
    await asyncio.gather(*running)
    print(f"{clients} clients, {seconds:.0f} s: {sum(seen.values())} requests, {dict(sorted(seen.items()))}")
    print(f"waits: median {np.median(waits):.2f} s, 99 in 100 within {np.quantile(waits, 0.99):.2f} s")
    print(f"memory, MB of the server and of its workers: {sizes}")
    print((await asyncio.to_thread(httpx.get, f"{address}/health")).text)
    errors = [text for text in seen if text.startswith("ERROR")]
    if errors:
        raise SystemExit(f"errors: {errors[:5]}")


def main(seconds: float, clients: int) -> None:
    with service() as (address, process):
        overhead(address)
        asyncio.run(soak(address, process.pid, seconds, clients))


if __name__ == "__main__":
    given = [float(text) for text in sys.argv[1:3]]
    main(*(given[:1] or [60.0]), int(given[1]) if len(given) > 1 else 50)
