"""The HTTP API itself: paths, bodies and statuses."""

import asyncio
import codecs
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Coroutine
from contextlib import asynccontextmanager
from typing import Any, NoReturn

from fastapi import FastAPI, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from caddiebrain.errors import Fault
from caddiebrain.faults import FaultRecord, FaultReport, fault_report
from caddiebrain.service.asks import ASKS, PlanAsk
from caddiebrain.service.desk import Answer, Desk, RefusedError, refused
from caddiebrain.service.openapi import TITLE, document
from caddiebrain.service.settings import ServiceSettings
from caddiebrain.version import __version__

__all__ = ["make_app"]

Endpoint = Callable[[Request], Awaitable[Response]]


def make_app(settings: ServiceSettings | None = None) -> FastAPI:
    """Make the application, for ``caddiebrain serve`` or any ASGI server.

    Parameters
    ----------
    settings : ServiceSettings, optional
    """
    chosen = settings or ServiceSettings()
    desk = Desk(chosen)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        desk.start()
        try:
            yield
        finally:
            await desk.stop()

    # The document is ours, and no page of FastAPI's is served: they fetch scripts from elsewhere.
    app = FastAPI(title=TITLE, version=__version__, openapi_url=None, redirect_slashes=False, lifespan=life)
    app.state.desk = desk
    for verb, ask in ASKS.items():
        app.add_api_route(f"/{verb}", _endpoint(desk, verb, ask), methods=["POST"], response_model=None)
    app.add_api_route("/openapi.json", _document(chosen), methods=["GET"], response_model=None)
    app.add_api_route("/health", _health(desk), methods=["GET"], response_model=None)
    app.add_exception_handler(RefusedError, _tell)
    app.add_exception_handler(HTTPException, _tell_other)
    return app


def _endpoint(desk: Desk, verb: str, kind: type[PlanAsk]) -> Endpoint:
    async def answer(request: Request) -> Response:
        try:
            body = await _body(request, desk.settings)
        except ClientDisconnect:
            return Response(status_code=204)  # to nobody
        ask = await asyncio.to_thread(_read, kind, body)
        found = await _unless_gone(request, desk.answer(verb, ask))
        if found is None:
            return Response(status_code=204)  # to nobody
        return _json(200, found.body, {"Server-Timing": f"work;dur={1000.0 * found.seconds:.1f}"})

    return answer


async def _unless_gone(request: Request, asked: Coroutine[Any, Any, Answer]) -> Answer | None:
    """Wait for an answer while the client does; None if it hangs up."""
    answer = asyncio.ensure_future(asked)
    gone = asyncio.ensure_future(request.receive())  # the body is read: nothing else can come
    try:
        await asyncio.wait({answer, gone}, return_when=asyncio.FIRST_COMPLETED)
        return await answer if answer.done() else None
    finally:
        answer.cancel()
        gone.cancel()


def _document(settings: ServiceSettings) -> Endpoint:
    text = json.dumps(document(settings)).encode()

    async def openapi(request: Request) -> Response:
        return _json(200, text)

    return openapi


def _health(desk: Desk) -> Endpoint:
    async def health(request: Request) -> Response:
        state = {
            "status": "ok",
            "version": __version__,
            "workers": len(desk.crew.members),
            "busy": desk.crew.busy,
            "waiting": desk.crew.waiting,
            "plans": len(desk.plans),
            "plan_bytes": desk.plans.bytes,
            "answers": len(desk.answers),
            "answer_bytes": desk.answers.bytes,
        }
        return _json(200, json.dumps(state).encode())

    return health


async def _body(request: Request, settings: ServiceSettings) -> bytes:
    """The body of a request, within the bounds of size and time."""
    sort = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if sort != "application/json":
        raise refused(415, "not JSON", Fault("content-type", sort[:60] or "none", "application/json"))
    packed = request.headers.get("content-encoding", "identity").strip().lower()
    if packed not in ("", "identity"):
        raise refused(415, "compressed", Fault("content-encoding", packed[:60], "a body as it is"))
    try:
        async with asyncio.timeout(settings.body_seconds):
            return await _bounded(request, settings.body_bytes)
    except TimeoutError:
        raise refused(408, "too slow", f"the body took more than {settings.body_seconds:g} seconds") from None


async def _bounded(request: Request, most: int) -> bytes:
    too_large = refused(413, "too large", Fault("body", f"more than {most} bytes", f"at most {most}"))
    stated = request.headers.get("content-length", "")
    if stated.isdigit() and len(stated) < 20 and int(stated) > most:
        raise too_large
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > most:
            raise too_large
        parts.append(part)
    return b"".join(parts)


def _read(kind: type[PlanAsk], body: bytes) -> PlanAsk:
    """A request from its body; every fault is named."""
    body = body.removeprefix(codecs.BOM_UTF8)  # some languages write one before every text
    try:
        json.loads(body.decode("utf-8"), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise refused(400, "not JSON", Fault("body", _no_json(error), "a JSON object")) from None
    try:
        return kind.model_validate_json(body, strict=True)
    except ValidationError as error:
        broken = any(fault["type"] == "json_invalid" for fault in error.errors())
        raise RefusedError(400 if broken else 422, fault_report(error, model=kind)) from None


def _no_json(error: ValueError | RecursionError) -> str:
    """What is wrong with a body that cannot be read."""
    if isinstance(error, RecursionError):
        return "nested too deep"
    if isinstance(error, json.JSONDecodeError | UnicodeDecodeError | _NoNumberError):
        return str(error)[:120]
    return "a number of thousands of digits"


class _NoNumberError(ValueError):
    """NaN or an infinity, which JSON has not."""


def _no_number(word: str) -> NoReturn:
    raise _NoNumberError(f"the value {word}")


def _json(status: int, body: bytes, headers: dict[str, str] | None = None) -> Response:
    return Response(body, status, headers, "application/json")


async def _tell(request: Request, error: Any) -> Response:
    headers = {"Retry-After": str(error.retry)} if error.retry else {}
    if error.status in (408, 413, 415):
        headers["Connection"] = "close"  # the rest of the body is not read
    return _json(error.status, error.report.model_dump_json().encode(), headers)


async def _tell_other(request: Request, error: Any) -> Response:
    """No such path, or not with this method."""
    said = f"{request.method[:20]} {request.url.path[:80]}: {str(error.detail).lower()}; see /openapi.json"
    report = FaultReport(error=str(error.detail).lower(), faults=(FaultRecord(line=said),))
    return _json(error.status_code, report.model_dump_json().encode(), dict(error.headers or {}))
