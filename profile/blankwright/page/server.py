"""The server: the page's own files, pictures and written files over HTTP, everything else over one web socket."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from blankwright.base.errors import BlankwrightError
from blankwright.page import press, protocol
from blankwright.page.guard import HEADERS, App, Guard
from blankwright.page.manual import POLICY, Manual
from blankwright.page.session import Page
from blankwright.page.shelf import QUICK, Shelf

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.websockets import WebSocket

STATIC = Path(__file__).parent / "static"

TYPES = {
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml", ".png": "image/png", ".pdf": "application/pdf", ".json": "application/json",
    ".dxf": "image/vnd.dxf", ".txt": "text/plain; charset=utf-8", ".stl": "model/stl",
}  # fmt: skip
"""Kinds of files that are handed out."""

MOST_WAITING = 500
"""Messages that wait for a page which does not read; then it is let go, and may come back."""

_MOST_PAGES = 40


@cache
def static_files() -> dict[str, tuple[bytes, str]]:
    """Return the page's own files by their path below static/; nothing else can be asked for."""
    found = {}
    for path in sorted(STATIC.rglob("*")):
        if path.is_file() and path.suffix in TYPES:
            found[path.relative_to(STATIC).as_posix()] = (path.read_bytes(), TYPES[path.suffix])
    return found


def guarded(shelf: Shelf, token: str, port: int) -> App:
    """Return the application behind its guard.

    Args:
        shelf: The designs.
        token: The first part of every path.
        port: The port that is listened on.
    """
    from starlette.applications import Starlette  # noqa: PLC0415 - only who serves needs it
    from starlette.routing import Route, WebSocketRoute  # noqa: PLC0415

    handed = _Handed(shelf)
    routes = [
        WebSocketRoute(f"/{token}/talk", handed.talk),
        Route(f"/{token}/", handed.index, methods=["GET"]),
        Route(f"/{token}/seen/{{number:int}}/{{page}}", handed.seen, methods=["GET"]),
        Route(f"/{token}/made/{{name:path}}", handed.made, methods=["GET"]),
        Route(f"/{token}/manual/{{name:path}}", handed.manual, methods=["GET"]),
        Route(f"/{token}/{{name:path}}", handed.static, methods=["GET"]),
    ]
    return Guard(Starlette(routes=routes), token, port)


class _Handed:
    """What the server hands out."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._manual = Manual()
        self._open = 0

    async def index(self, request: Request) -> Response:
        return self._static("index.html")

    async def static(self, request: Request) -> Response:
        return self._static(request.path_params["name"])

    def _static(self, name: str) -> Response:
        found = static_files().get(name)
        return _response(*found) if found else _nothing()

    async def seen(self, request: Request) -> Response:
        page = request.path_params["page"].split(".")[0]
        found = self._shelf.previews.get(request.path_params["number"], int(page) if page.isdecimal() else 0)
        return _response(found.content, found.kind) if found else _nothing()

    async def made(self, request: Request) -> Response:
        path = press.given_out(self._shelf.folder, request.path_params["name"])
        if path is None or path.suffix not in TYPES:
            return _nothing()
        saved = {"content-disposition": f"attachment; filename*=UTF-8''{quote(path.name)}"}
        return _response(await asyncio.to_thread(path.read_bytes), TYPES[path.suffix], saved)

    async def manual(self, request: Request) -> Response:
        told = await asyncio.to_thread(self._manual.told)
        if told:
            return _response(told.encode("utf-8"), TYPES[".html"])
        path = self._manual.file(request.path_params["name"])
        if path is None or path.suffix not in TYPES:
            return _nothing()
        policy = HEADERS["content-security-policy"].replace("form-action 'none'", POLICY)
        content = await asyncio.to_thread(path.read_bytes)
        return _response(content, TYPES[path.suffix], {"content-security-policy": policy})

    async def talk(self, socket: WebSocket) -> None:
        if self._open >= _MOST_PAGES:
            await socket.close(1013)
            return
        await socket.accept()
        self._open += 1
        waiting: asyncio.Queue[str | None] = asyncio.Queue()
        loop = asyncio.get_running_loop()

        def put(text: str) -> None:
            waiting.put_nowait(text if waiting.qsize() < MOST_WAITING else None)

        def send(text: str) -> None:
            with suppress(RuntimeError):  # the server has ended
                loop.call_soon_threadsafe(put, text)

        page = Page(send)
        telling = asyncio.create_task(_tell(socket, waiting))
        try:
            await asyncio.to_thread(self._shelf.hello, page)
            await self._listen(socket, page)
        finally:
            self._open -= 1
            telling.cancel()
            self._shelf.left(page)

    async def _listen(self, socket: WebSocket, page: Page) -> None:
        while True:
            message = await socket.receive()
            if message["type"] != "websocket.receive":
                return
            try:
                asked = protocol.read(message.get("text") or "")
            except BlankwrightError as error:
                page.say({"say": "wrong", "n": None, "text": str(error), "key": None})
                continue
            if asked.do in QUICK:
                self._shelf.take(page, asked)
            else:
                await asyncio.to_thread(self._shelf.take, page, asked)


async def _tell(socket: WebSocket, waiting: asyncio.Queue[str | None]) -> None:
    while True:
        text = await waiting.get()
        if text is None:
            await socket.close(1013)
            return
        await socket.send_text(text)


def _response(content: bytes, kind: str, more: dict[str, str] | None = None) -> Response:
    from starlette.responses import Response  # noqa: PLC0415

    return Response(content, media_type=None, headers={**HEADERS, "content-type": kind, **(more or {})})


def _nothing() -> Response:
    from starlette.responses import Response  # noqa: PLC0415

    return Response("nothing here\n", 404, headers={**HEADERS, "content-type": "text/plain; charset=utf-8"})
