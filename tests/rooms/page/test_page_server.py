"""The server answers its own page and nobody else: all others are refused before anything is read."""

from __future__ import annotations

import json
import os
import random
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from blankwright.base.errors import RequestError
from blankwright.page.guard import Guard
from blankwright.page.run import bound
from blankwright.page.server import static_files
from rooms.page.serving import Served, galley, serving

MALFORMED = 2000


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("knives")
    galley(folder)
    (folder.parent / "secret.toml").write_text('family = "chef"\n', encoding="utf-8")
    before = Path.cwd()
    os.chdir(folder)
    try:
        with serving("galley.toml") as one:
            yield one
    finally:
        os.chdir(before)


def test_the_page_is_handed_out_with_its_own_files(served: Served) -> None:
    status, headers, body = served.get(f"/{served.token}/")
    assert status == 200
    assert b"<!doctype html>" in body
    assert "default-src 'none'" in headers["content-security-policy"]
    for name, (content, kind) in static_files().items():
        status, headers, body = served.get(f"/{served.token}/{name}")
        assert (status, headers["content-type"], body) == (200, kind, content)


def test_nothing_of_the_page_is_loaded_from_elsewhere() -> None:
    for name, (content, _) in static_files().items():
        text = content.decode("utf-8").replace("http://www.w3.org/2000/svg", "")
        for word in ("http://", "https://", "//cdn", "@import", "url(//", "eval("):
            assert word not in text, (name, word)


REFUSED: tuple[tuple[str, dict[str, str], int], ...] = (
    ("GET", {"Host": "example.org"}, 403),
    ("GET", {"Host": "127.0.0.1"}, 403),
    ("GET", {"Host": "127.0.0.1:1"}, 403),
    ("GET", {"Host": "localhost.example.org:PORT"}, 403),
    ("GET", {"Host": "0.0.0.0:PORT"}, 403),
    ("GET", {"Origin": "http://example.org"}, 403),
    ("GET", {"Origin": "null"}, 403),
    ("GET", {"Origin": "https://127.0.0.1:PORT"}, 403),
    ("GET", {"Origin": "http://127.0.0.1:1"}, 403),
    ("GET", {"Sec_Fetch_Site": "cross-site"}, 403),
    ("GET", {"Sec_Fetch_Site": "same-site"}, 403),
    ("GET", {"Content_Length": "5"}, 413),
    ("GET", {"Transfer_Encoding": "chunked"}, 413),
    ("POST", {"Content_Length": "0"}, 405),
    ("POST", {"Content_Length": "3", "Content_Type": "application/x-www-form-urlencoded"}, 405),
    ("PUT", {}, 405),
    ("DELETE", {}, 405),
    ("OPTIONS", {"Origin": "http://example.org", "Access_Control_Request_Method": "GET"}, 403),
)


def test_whoever_is_not_the_page_is_refused(served: Served) -> None:
    for method, headers, status in REFUSED:
        given = {name: value.replace("PORT", str(served.port)) for name, value in headers.items()}
        found, told, body = served.get(f"/{served.token}/", method, **given)
        assert (found, body) == (status, b"refused\n"), (method, headers)
        assert "access-control-allow-origin" not in told


def test_nothing_is_told_without_the_token(served: Served) -> None:
    other = "x" * len(served.token)
    for path in (
        "/",
        "/talk",
        f"/{other}/",
        f"/{served.token[:-1]}/",
        f"/{served.token}x/",
        "/index.html",
        "//",
        "*",
        f"/?{served.token}",
    ):
        assert served.get(path)[0] in (400, 404), path


def test_two_hosts_or_none_are_refused(served: Served) -> None:
    line = f"GET /{served.token}/ HTTP/1.1\r\n"
    for hosts in ("", f"Host: {served.host}\r\nHost: example.org\r\n"):
        answer = served.raw(f"{line}{hosts}Connection: close\r\n\r\n".encode())
        assert answer.split()[1] in (b"400", b"403")


PATHS = (
    "../secret.toml",
    "..%2fsecret.toml",
    "%2e%2e/secret.toml",
    "made/../secret.toml",
    "made/out/../../secret.toml",
    "made/%2e%2e/secret.toml",
    "made/out/x/%2e%2e%2f%2e%2e%2f%2e%2e%2fsecret.toml",
    "made/galley.toml",
    "made//etc/passwd",
    "made/out/chef/.written.json",
    "seen/1/1.png",
    "seen/999999999999999999999/1.png",
    "seen/-1/1.png",
    "static/index.html",
    "__init__.py",
    "../server.py",
    "made/out/a/b/c.txt",
    "%00",
    "main.js%00.txt",
)


def test_no_path_leads_out(served: Served) -> None:
    for path in PATHS:
        status, _, body = served.get(f"/{served.token}/{path}")
        assert status in (400, 404), path
        assert b"family" not in body


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="no links here")
def test_no_link_among_the_written_files_leads_out(served: Served) -> None:
    place = served.shelf.folder.root / "out" / "linked"
    place.mkdir(parents=True)
    (place / "secret.txt").symlink_to(served.shelf.folder.root.parent / "secret.toml")
    assert served.get(f"/{served.token}/made/out/linked/secret.txt")[0] == 404


def test_a_body_of_a_gigabyte_is_refused_unread(served: Served) -> None:
    head = f"POST /{served.token}/ HTTP/1.1\r\nHost: {served.host}\r\nContent-Length: 1000000000\r\n\r\n"
    sent = 0
    with socket.create_connection(("127.0.0.1", served.port), timeout=60) as line:
        line.sendall(head.encode())
        try:
            for _ in range(1000):
                line.sendall(bytes(1_000_000))
                sent += 1
        except OSError:
            pass
    assert sent < 200, "the server went on reading"
    assert served.get(f"/{served.token}/")[0] == 200


def test_endless_headers_are_refused(served: Served) -> None:
    answer = served.raw(f"GET /{served.token}/ HTTP/1.1\r\nHost: {served.host}\r\nX: {'a' * 200_000}\r\n\r\n".encode())
    assert not answer or answer.split()[1] in (b"400", b"431")
    assert served.get(f"/{served.token}/")[0] == 200


def test_a_socket_of_another_origin_or_without_the_token_is_refused(served: Served) -> None:
    good = f"http://{served.host}"
    tries = (
        (served.token, "http://example.org", served.host),
        (served.token, None, served.host),
        (served.token, "null", served.host),
        ("x" * 32, good, served.host),
        (served.token, good, "example.org"),
    )
    for token, origin, host in tries:
        line = socket.create_connection(("127.0.0.1", served.port), timeout=60)
        with (
            pytest.raises(InvalidStatus) as refused,
            connect(f"ws://{host}/{token}/talk", origin=origin, sock=line, compression=None),  # type: ignore[arg-type]
        ):
            pass
        assert refused.value.response.status_code == 403


def test_thousands_of_malformed_messages_leave_the_page_as_it_was(served: Served) -> None:
    page = served.talk()
    page.hear("hello")
    page.ask("open", name="galley.toml")
    before = page.hear("shape")
    draw = random.Random(2)
    whole = [
        '{"do": "set", "n": 1, "values": {"blade.length": "205 mm"}}',
        '{"do": "drag", "n": 2, "grip": "blade.length", "to": [1, 2]}',
        '{"do": "open", "n": 3, "name": "galley.toml"}',
        '{"do": "save_as", "n": 4, "name": "x.toml"}',
        "[]",
        "",
        "null",
        "{}",
    ]
    for number in range(MALFORMED):
        text = draw.choice(whole)
        cut = draw.randrange(max(len(text), 1))  # never whole
        page.line.send(text[:cut] + draw.choice(["", "\x00", "{{", '"', "é", "9" * 400]))
        if number % 50 == 49:
            assert all(page.hear("wrong") for _ in range(50))
    page.close()
    again = served.talk()
    again.hear("hello")
    again.ask("open", name="galley.toml")
    after = again.hear("shape")
    assert after["finished"] == before["finished"]
    assert not (served.shelf.folder.root / "x.toml").exists()
    again.close()


def test_a_message_that_is_too_long_closes_that_page_alone(served: Served) -> None:
    page, other = served.talk(), served.talk()
    with pytest.raises(Exception, match=r"1009|closed|received"):  # the server may close before all of it is sent
        page.line.send("x" * 2_000_000)
        for _ in range(10):
            page.line.recv(timeout=60)
    other.hear("hello")
    other.close()


def test_a_busy_port_is_told_and_not_taken(served: Served) -> None:
    with pytest.raises(RequestError, match=f"port {served.port} cannot be used"):
        bound(served.port)
    for port in (-1, 70000):
        with pytest.raises(RequestError, match="out of range"):
            bound(port)


def test_only_the_loopback_listens(served: Served) -> None:
    with bound(0) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"


def test_two_pages_on_one_design_see_the_same(served: Served) -> None:
    one, two = served.talk(), served.talk()
    for page in (one, two):
        page.hear("hello")
        page.ask("open", name="galley.toml")
        page.hear("shape")
    two.ask("look", units="in")
    two.hear("shape")
    shape = one.does("set", values={"blade.length": "8 1/4 in"})
    seen = two.hear("shape")
    assert seen["finished"] == shape["finished"]
    assert seen["answers"] == []
    assert shape["values"]["blade.length"]["shown"] == "209.55 mm"
    assert seen["values"]["blade.length"]["shown"] == "8 1/4 in"
    undone = two.does("undo")
    assert undone["values"]["blade.length"]["value"] == pytest.approx(205 / 25.4, abs=1e-5)
    one.close()
    two.close()


def test_of_drags_that_wait_the_newest_is_answered_for_all(served: Served) -> None:
    page = served.talk()
    page.hear("hello")
    page.ask("open", name="galley.toml")
    y = next(grip["at"][1] for grip in page.hear("shape")["grips"] if grip["id"] == "blade.length")
    page.hear("more")
    asked = [page.ask("drag", grip="blade.length", to=[205 + i * 0.5, y], held=True) for i in range(1, 60)]
    asked.append(page.ask("drag", grip="blade.length", to=[220.0, y], held=False))
    covered: list[int] = []
    shapes = 0
    while asked[-1] not in covered:
        shape = page.hear("shape")
        covered += shape["answers"]
        shapes += 1
    assert sorted(covered) == asked
    assert shapes < len(asked)
    assert shape["values"]["blade.length"]["shown"] == "220 mm"
    assert shape["doc"]["undo"] == "blade length"
    rest = page.hear("rest")
    while rest["edit"] != shape["edit"]:
        rest = page.hear("rest")
    page.does("undo")
    page.close()


def test_a_broken_line_in_the_middle_of_a_drag_keeps_what_was_reached(served: Served) -> None:
    page = served.talk()
    page.hear("hello")
    page.ask("open", name="galley.toml")
    page.hear("shape")
    page.does("drag", grip="blade.heel_height", to=[0.0, 51.0], held=True)
    page.close()
    again = served.talk()
    again.hear("hello")
    again.ask("open", name="galley.toml")
    shape = again.hear("shape")
    assert shape["values"]["blade.heel_height"]["value"] == pytest.approx(51)
    assert shape["doc"]["undo"] == "heel height"
    again.does("undo")
    again.close()


def test_lists_are_told_to_who_asks(served: Served) -> None:
    page = served.talk()
    hello = page.hear("hello")
    assert {"families", "papers", "processes", "services", "files", "start"} <= set(hello)
    assert {f["name"] for f in page.does("families")["families"]} == {f["name"] for f in hello["families"]}
    assert "walnut" in json.dumps(page.does("choices", key="scales.material"))
    assert page.does("choices", key="blade.length")["say"] == "wrong"
    assert {"name": "galley.toml", "title": "Galley chef"} in page.does("folder")["files"]
    assert page.does("set", values={"blade.length": "200"})["say"] == "wrong", "no design is open yet"
    assert page.does("look", units="furlongs")["say"] == "wrong"
    page.ask("look", units="in")
    page.ask("open", name="galley.toml")
    assert page.hear("form")["units"] == "in"
    page.close()


def test_the_guard_alone_refuses_a_wrong_token(served: Served) -> None:
    """The routes have the token in them as well; the guard must not lean on that."""

    async def never(*_: object) -> None:
        raise AssertionError

    guard = Guard(never, served.token, served.port)
    headers = [(b"host", served.host.encode()), (b"origin", f"http://{served.host}".encode())]
    scope = {"type": "http", "method": "GET", "headers": headers, "path": f"/{served.token}/x"}
    assert guard.refused(scope) is None
    for path in ("", "/", "/x/", f"/{served.token}x/", f"/x/{served.token}/", f"{served.token}/", "/é/"):
        assert guard.refused(scope | {"path": path}) == 404
        assert guard.refused(scope | {"path": path, "type": "websocket"}) == 404
