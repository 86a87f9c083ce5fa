"""The page's server inside the test process, and a bare client that can say anything, right or wrong."""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from websockets.sync.client import ClientConnection, connect

from blankwright.page.folder import Folder
from blankwright.page.guard import new_token
from blankwright.page.opening import opened
from blankwright.page.run import bound, server_of
from blankwright.page.shelf import Shelf

PATIENCE_S = 60
ANSWERS = (
    "shape", "wrong", "doc", "asks", "made", "preview", "families", "choices", "folder", "text", "section",
    "behind", "fitted",
)  # fmt: skip


@dataclass
class Served:
    """A running server.

    Args:
        port: Its port.
        token: Its token.
        shelf: Its designs.
        stop: Ends it, as Ctrl-C does.
    """

    port: int
    token: str
    shelf: Shelf
    stop: Callable[[], None]

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def raw(self, content: bytes) -> bytes:
        """Send bytes and return all that comes back until the server closes."""
        found = b""
        with socket.create_connection(("127.0.0.1", self.port), timeout=PATIENCE_S) as line, suppress(ConnectionError):
            line.sendall(content)
            while piece := line.recv(65536):
                found += piece
        return found

    def get(self, path: str, method: str = "GET", **headers: str) -> tuple[int, dict[str, str], bytes]:
        """Ask for a path below the token and return status, headers and content."""
        lines = {"Host": self.host, "Connection": "close"} | {k.replace("_", "-"): v for k, v in headers.items()}
        head = "".join(f"{name}: {value}\r\n" for name, value in lines.items() if value != "-")
        answer = self.raw(f"{method} {path} HTTP/1.1\r\n{head}\r\n".encode())
        first, _, body = answer.partition(b"\r\n\r\n")
        status, *rest = first.decode("latin-1").split("\r\n")
        named = {line.split(":")[0].lower(): line.partition(":")[2].strip() for line in rest}
        return int(status.split()[1]), named, body

    def talk(self, **more: Any) -> Talk:
        """Open a socket as the page does."""
        stack = ExitStack()
        opening = connect(
            f"ws://{self.host}/{self.token}/talk",
            origin=f"http://{self.host}",  # type: ignore[arg-type]
            open_timeout=PATIENCE_S,
            max_size=None,
            compression=None,
            **more,
        )
        return Talk(stack.enter_context(opening), stack)


@dataclass
class Talk:
    """One page's side of the socket."""

    line: ClientConnection
    stack: ExitStack
    n: int = 0
    heard: list[dict[str, Any]] = field(default_factory=list)

    def ask(self, do: str, **rest: Any) -> int:
        self.n += 1
        self.line.send(json.dumps({"do": do, "n": self.n, **rest}))
        return self.n

    def hear(self, *say: str) -> dict[str, Any]:
        """Return the next message of one of these kinds; what comes before is put aside."""
        while True:
            told: dict[str, Any] = json.loads(self.line.recv(timeout=PATIENCE_S))
            self.heard.append(told)
            if told["say"] in say:
                return told

    def does(self, do: str, **rest: Any) -> dict[str, Any]:
        """Ask and return the message that answers it."""
        n = self.ask(do, **rest)
        while True:
            told = self.hear(*ANSWERS)
            if told.get("n") == n or n in told.get("answers", ()):
                return told

    def close(self) -> None:
        self.stack.close()


@contextmanager
def serving(start: str | None = None) -> Iterator[Served]:
    """Serve the present folder while the context lasts."""
    folder, token = Folder.here(), new_token()
    with bound(0) as listening:
        shelf = Shelf(folder, opened(folder, start) if start else None)
        server = server_of(shelf, token, listening)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()

        def stop() -> None:
            server.should_exit = True
            thread.join(PATIENCE_S)
            shelf.end()

        try:
            yield Served(listening.getsockname()[1], token, shelf, stop)
        finally:
            stop()
        assert not thread.is_alive()


def galley(folder: Path) -> Path:
    """Write a design into a folder and return its path."""
    path = folder / "galley.toml"
    path.write_text(
        'name = "Galley chef"\nfamily = "chef"\n\n[blade]\nlength = "205 mm"  # the rack\n', encoding="utf-8"
    )
    return path


__all__ = ["Served", "Talk", "galley", "serving"]
