"""Starting and stopping the page: a port of the loopback, the address, the browser, and a clean end."""

from __future__ import annotations

import gc
import socket
import sys
from typing import TYPE_CHECKING, Any

from blankwright.base.errors import RequestError
from blankwright.page import protocol
from blankwright.page.folder import Folder
from blankwright.page.guard import LOOPBACK, SCHEME, new_token
from blankwright.page.opening import opened

if TYPE_CHECKING:
    import uvicorn

    from blankwright.page.shelf import Shelf

NEEDS = "The page needs a few more libraries. Install them in its checkout: python -m pip install '.[page]'"

_TURN_S = 0.001
"""How long one thread computes before another may; a message must not wait for a whole step of a solve."""

_LAST_S = 2
"""How long open requests may take to end when the server is stopped."""


def bound(port: int) -> socket.socket:
    """Return a socket on the loopback that nobody else has.

    Args:
        port: The port; 0 for any that is free.

    Raises:
        RequestError: The port is taken, or may not be used.
    """
    if not 0 <= port <= 65535:
        raise RequestError(f"--port: {port} is out of range. Allowed: 1 to 65535, or leave it out.")
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    only = getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR)  # elsewhere a port in use stays refused
    found.setsockopt(socket.SOL_SOCKET, only, 1)
    try:
        found.bind((LOOPBACK, port))
        found.listen(64)
    except OSError as error:
        found.close()
        raise RequestError(
            f"--port: port {port} cannot be used ({error.strerror or error}). Another program may have it, perhaps "
            "another page; choose another, or leave --port out for one that is free."
        ) from None
    found.set_inheritable(False)
    return found


def server_of(shelf: Shelf, token: str, listening: socket.socket) -> uvicorn.Server:
    """Return the server, ready to run.

    Args:
        shelf: The designs.
        token: The first part of every path.
        listening: The socket.
    """
    import uvicorn  # noqa: PLC0415 - only who serves needs it

    from blankwright.page.server import guarded  # noqa: PLC0415

    app: Any = guarded(shelf, token, listening.getsockname()[1])
    config = uvicorn.Config(
        app,
        http="h11",
        lifespan="off",
        log_config=None,
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        ws_max_size=protocol.MOST_BYTES,
        ws_per_message_deflate=False,
        h11_max_incomplete_event_size=16_384,
        limit_concurrency=100,
        timeout_graceful_shutdown=_LAST_S,
    )
    return uvicorn.Server(config)


def page(design: str | None, port: int, *, browser: bool) -> None:
    """Serve the page until it is stopped.

    Args:
        design: A family's name or a design file in the folder; None to choose on the page.
        port: The port; 0 for any that is free.
        browser: Whether the browser is opened.

    Raises:
        RequestError: The design cannot be opened, the port is taken, or libraries are missing.
    """
    try:
        import starlette  # noqa: F401, PLC0415
        import tomlkit  # noqa: F401, PLC0415
        import uvicorn  # noqa: F401, PLC0415
        import websockets  # noqa: F401, PLC0415
    except ImportError:
        raise RequestError(NEEDS) from None
    from blankwright.page.shelf import Shelf  # noqa: PLC0415

    sys.setswitchinterval(_TURN_S)
    gc.enable()  # a server lives for hours; the command line leaves its garbage to the end of the process
    folder = Folder.here()
    start = opened(folder, design) if design else None
    gc.freeze()  # what is loaded now stays; looking through it again and again would hold up an edit
    with bound(port) as listening:
        token = new_token()
        address = f"{SCHEME}://{LOOPBACK}:{listening.getsockname()[1]}/{token}/"
        shelf = Shelf(folder, start)
        try:
            sys.stdout.write(address + "\n")
            sys.stdout.flush()
            if browser:
                _open(address)
            server_of(shelf, token, listening).run(sockets=[listening])
        except KeyboardInterrupt:
            pass  # how it is stopped
        finally:
            shelf.end()


def _open(address: str) -> None:
    import webbrowser  # noqa: PLC0415 - only who opens one needs it

    try:
        webbrowser.open(address)
    except (OSError, webbrowser.Error):
        sys.stderr.write("blankwright: no browser could be opened; open the address above in one.\n")
