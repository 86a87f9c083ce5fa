"""`blankwright page`: one line on stdout, a clean stop, and what is wrong told before anything is served."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rooms.page.serving import galley

PATIENCE_S = 60


def started(folder: Path, *words: str) -> subprocess.Popen[str]:
    line = [sys.executable, "-m", "blankwright", "page", *words]
    env = os.environ | {"PYTHONUTF8": "1"}
    return subprocess.Popen(line, cwd=folder, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.mark.skipif(os.name == "nt", reason="there it is stopped by another signal")
def test_the_address_is_all_it_prints_and_ctrl_c_ends_it_cleanly(tmp_path: Path) -> None:
    galley(tmp_path)
    server = started(tmp_path, "galley.toml", "--no-browser")
    assert server.stdout is not None
    address = server.stdout.readline().strip()
    start, host, token, end = address.replace("http://", "http:/").split("/")
    assert (start, end) == ("http:", "")
    assert host.startswith("127.0.0.1:")
    assert len(token) >= 32
    with socket.create_connection(("127.0.0.1", int(host.split(":")[1])), timeout=PATIENCE_S) as line:
        line.sendall(f"GET /{token}/ HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
        assert line.recv(100).startswith(b"HTTP/1.1 200")
    server.send_signal(signal.SIGINT)
    out, err = server.communicate(timeout=PATIENCE_S)
    assert (server.returncode, out, err) == (0, "", "")


def test_what_is_wrong_is_told_before_anything_is_served(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    (tmp_path / "knives").mkdir()
    galley(tmp_path)
    monkeypatch.chdir(tmp_path / "knives")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        for words, told in (
            (["nothing"], "unknown family 'nothing'"),
            (["missing.toml"], "missing.toml"),
            (["../galley.toml"], "no name of a file in the folder knives"),
            (["chef", "--port", "70000"], "out of range"),
            (["chef", "--port", str(taken.getsockname()[1])], "cannot be used"),
        ):
            ran = command("page", *words, "--no-browser")
            assert (ran.code, ran.out) == (2, ""), words
            assert told in ran.err, words
