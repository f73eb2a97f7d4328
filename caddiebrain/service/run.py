"""Starting the service, and stopping it in good order."""

import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import uvicorn

from caddiebrain.errors import InputError
from caddiebrain.service.app import make_app
from caddiebrain.service.settings import ServiceSettings

__all__ = ["open_door", "serve"]

_BACKLOG = 256


def serve(
    settings: ServiceSettings,
    host: str = "127.0.0.1",
    port: int = 8046,
    *,
    started: Callable[[str], None] | None = None,
) -> None:
    """Serve until SIGINT or SIGTERM; then finish what runs, within ``settings.shutdown_seconds``.

    Parameters
    ----------
    settings : ServiceSettings
    host : str
        Address to listen on.
    port : int
        0 takes a free one.
    started : callable, optional
        Told the service's address once it listens.

    Raises
    ------
    InputError
        If the address cannot be listened on.
    """
    door = open_door(host, port)
    config = uvicorn.Config(
        make_app(settings),
        log_config=None,
        access_log=False,
        limit_concurrency=settings.connections + 1,  # the server refuses the one that reaches its limit
        timeout_graceful_shutdown=max(1, round(settings.shutdown_seconds)),
        server_header=False,
    )
    with door, _stops_quietly():
        shown = f"[{host}]" if ":" in host else host
        if started is not None:
            started(f"http://{shown}:{door.getsockname()[1]}")
        uvicorn.Server(config).run(sockets=[door])


@contextmanager
def _stops_quietly() -> Iterator[None]:
    """Take the signals that the server raises again once it has obeyed them: a stop asked for is no failure."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.signal(number, lambda *_: None) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def open_door(host: str, port: int) -> socket.socket:
    """Return a socket that listens; port 0 takes a free one. Raises InputError if that cannot be."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    door = socket.socket(family, socket.SOCK_STREAM)
    try:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind((host, port))
        door.listen(_BACKLOG)
    except (OSError, OverflowError) as error:
        door.close()
        found = getattr(error, "strerror", None) or str(error)
        raise InputError.one(
            "serve", "address", f"{host}:{port} ({found})", "a free one of this machine"
        ) from None
    return door
