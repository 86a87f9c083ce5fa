"""Who may speak to the server: this machine's own page with its token, nobody else. Asked before anything is read."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOOPBACK, SCHEME = "127.0.0.1", "http"

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
        "font-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
"""What every answer says: nothing from elsewhere is loaded, nobody else may frame or read it."""


def new_token() -> str:
    """Return a token that nobody guesses (192 bits)."""
    return secrets.token_urlsafe(24)


class Guard:
    """Refuses whatever does not come from the page itself.

    Args:
        app: What is guarded.
        token: The first part of every path.
        port: The port that is listened on.
    """

    def __init__(self, app: App, token: str, port: int) -> None:
        self._app = app
        self._token = token
        self._hosts = {f"{name}:{port}" for name in (LOOPBACK, "localhost")}
        self._origins = {f"{SCHEME}://{host}" for host in self._hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, or refuse it unread."""
        if scope["type"] not in ("http", "websocket"):
            return
        status = self.refused(scope)
        if status is None:
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await _refuse(send, status)

    def refused(self, scope: Scope) -> int | None:
        """Return the status with which a request is refused; None for one that may pass."""
        named = [(name.lower(), value.decode("latin-1")) for name, value in scope["headers"]]
        headers = dict(named)
        socket = scope["type"] == "websocket"
        hosts = [value for name, value in named if name == b"host"]
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return 403
        origin = headers.get(b"origin")
        if (origin is None and socket) or (origin is not None and origin.lower() not in self._origins):
            return 403
        if headers.get(b"sec-fetch-site", "none") not in ("same-origin", "none"):
            return 403
        if not socket and scope["method"] not in ("GET", "HEAD"):
            return 405
        if b"transfer-encoding" in headers or headers.get(b"content-length", "0") != "0":
            return 413
        first = scope["path"].split("/")[1] if scope["path"].startswith("/") else ""
        if not hmac.compare_digest(first.encode("utf-8", "replace"), self._token.encode("ascii")):
            return 404
        return None


async def _refuse(send: Send, status: int) -> None:
    body = b"refused\n"
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]
    headers.append((b"connection", b"close"))
    headers += [(name.encode(), value.encode()) for name, value in HEADERS.items()]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
