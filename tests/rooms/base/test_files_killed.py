"""A set is old or new after a kill at any move; edited files are kept; nothing is written through a planted name."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

import blankwright
from blankwright.base.deferred import deferred
from blankwright.base.errors import RequestError
from blankwright.base.files import staging, write_files
from blankwright.base.onefile import write_chosen, write_new
from blankwright.base.written import RECORD
from rooms.every import cases

PACKAGE = Path(blankwright.__file__).parent
KILLS = Path(__file__).parents[2] / "bench" / "kills.py"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills are forked")
def test_a_kill_at_any_move_leaves_a_set_whole() -> None:
    environment = os.environ | {"PYTHONPATH": str(PACKAGE.parent)}
    done = subprocess.run(
        [sys.executable, str(KILLS), "--quick"], capture_output=True, text=True, check=False, env=environment
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    assert done.stdout.splitlines()[-1] == "0 faults"


def test_a_signal_waits_for_the_end_of_a_step() -> None:
    seen: list[str] = []
    before = signal.signal(signal.SIGTERM, lambda *_: seen.append("acted on"))
    try:
        with deferred():
            signal.raise_signal(signal.SIGTERM)
            seen.append("step over")
        assert seen == ["step over", "acted on"]
        interrupted = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where a shell starts us behind
        with pytest.raises(KeyboardInterrupt), deferred():
            signal.raise_signal(signal.SIGINT)
            seen.append("not interrupted")
        assert seen[-1] == "not interrupted"
        signal.signal(signal.SIGINT, interrupted)
    finally:
        signal.signal(signal.SIGTERM, before)


def test_a_second_maker_waits_for_the_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []

    def second() -> None:
        write_files(tmp_path / "set", {"a": "second"})
        order.append("second")

    with staging(tmp_path / "set") as stage:
        other = threading.Thread(target=second)
        other.start()
        other.join(0.2)
        stage.write("a", "first")
        stage.put_in_place(["a"])
        order.append("first")
    other.join()
    assert order == ["first", "second"]
    assert (tmp_path / "set" / "a").read_text() == "second"
    monkeypatch.setattr("blankwright.base.files._PATIENCE_S", 0.1)
    with (
        staging(tmp_path / "set"),
        pytest.raises(RequestError, match="another run is writing into this folder and has not moved on for"),
        staging(tmp_path / "set"),
    ):
        pass


def test_a_maker_waits_as_long_as_the_other_moves_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names, pauses = list("abcd"), [0]
    monkeypatch.setattr("blankwright.base.files._PATIENCE_S", 0.2)
    with staging(tmp_path / "set") as slow:

        def pause(_: float) -> None:
            pauses[0] += 1
            if pauses[0] == 3 * len(names):
                slow.put_in_place(names)
            elif pauses[0] % 3 == 0:
                slow.write(names[pauses[0] // 3], "slow")

        slow.write("a", "slow")
        monkeypatch.setattr("time.sleep", pause)
        monkeypatch.setattr("time.monotonic", lambda: 0.05 * pauses[0])
        write_files(tmp_path / "set", {"a": "second"})
    assert pauses == [12], "three times the patience"
    assert (tmp_path / "set" / "a").read_text() == "second"
    assert (tmp_path / "set" / "d").read_text() == "slow"


def test_a_maker_that_stood_still_meanwhile_looks_again_before_it_gives_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock_s = [0.0]
    with staging(tmp_path / "set") as first:

        def stopped(_: float) -> None:
            first.write("a", "first")
            first.put_in_place(["a"])
            clock_s[0] += 3600.0

        monkeypatch.setattr("time.sleep", stopped)
        monkeypatch.setattr("time.monotonic", lambda: clock_s[0])
        write_files(tmp_path / "set", {"a": "second"})
    assert (tmp_path / "set" / "a").read_text() == "second"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no forks here")
def test_a_lock_ends_with_its_step_even_if_a_fork_still_knows_it(tmp_path: Path) -> None:
    held = """if True:
        import os
        from blankwright.base.lock import FolderLock
        one, two = FolderLock(), FolderLock()
        assert one.take(PATH)
        assert not two.take(PATH)
        ours, theirs = os.pipe()
        if os.fork() == 0:
            os.close(theirs)
            os.read(ours, 1)  # a worker that lives longer than the step
            os._exit(0)
        one.release()
        assert two.take(PATH)
    """
    code = f"from pathlib import Path\nPATH = Path({str(tmp_path)!r})\n{held}"
    environment = os.environ | {"PYTHONPATH": str(PACKAGE.parent)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, env=environment)
    assert done.returncode == 0, done.stderr


def test_an_edited_file_is_kept_each_state_once(tmp_path: Path) -> None:
    first = {"a": "one", "b": "one"}
    assert write_files(tmp_path, first) == (["a", "b"], [])
    assert write_files(tmp_path, {"a": "two", "b": "two"}) == (["a", "b"], [])  # ours, as written
    (tmp_path / "a").write_text("by hand")
    _, notes = write_files(tmp_path, first)
    assert notes == ["a was not as it was last written here; what was in it is kept as a.kept"]
    assert (tmp_path / "a.kept").read_text() == "by hand"
    (tmp_path / "a").write_text("by hand")
    write_files(tmp_path, first)
    (tmp_path / "a").write_text("by hand again")
    _, notes = write_files(tmp_path, first)
    assert "a.kept-2" in notes[0]
    (tmp_path / "a").write_text("two")  # somebody else wrote what is to be written now
    assert write_files(tmp_path, {"a": "two"})[1] == []
    assert sorted(p.name for p in tmp_path.iterdir()) == [RECORD, "a", "a.kept", "a.kept-2", "b"]
    assert (tmp_path / "a.kept").read_text() == "by hand", "a kept file is never written over"


@cases("record", ["", "[1]", '{"a": 7, "../b": "x"}', "{" * 5000])
def test_a_record_that_is_none_keeps_what_is_there(tmp_path: Path, record: str) -> None:
    write_files(tmp_path, {"a": "one"})
    (tmp_path / RECORD).write_text(record)
    assert len(write_files(tmp_path, {"a": "two"})[1]) == 1
    assert (tmp_path / "a.kept").read_text() == "one"


@pytest.mark.parametrize("number", range(1, 6))
def test_a_kept_file_is_taken_back_with_the_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    write_files(tmp_path, {"a": "one", "b": "one"})
    (tmp_path / "a").write_text("by hand")
    moved, replace = [], Path.replace

    def full(self: Path, target: Path) -> Path:
        moved.append(target)
        if len(moved) == number:
            raise OSError(28, "No space left on device")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(RequestError, match="No space left"):
        write_files(tmp_path, {"a": "two", "b": "two"})
    assert sorted(p.name for p in tmp_path.iterdir()) == [RECORD, "a", "b"]
    assert (tmp_path / "a").read_text() == "by hand"


def test_a_name_taken_this_moment_is_not_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    check = staging.write

    def late(self: staging, name: str, content: str | bytes) -> None:
        check(self, name, content)
        path.write_text("somebody else's")

    monkeypatch.setattr(staging, "write", late)
    with pytest.raises(RequestError, match="is there already and was not touched"):
        write_new(path, "ours", force=False)
    assert path.read_text() == "somebody else's"
    assert [p.name for p in tmp_path.iterdir()] == ["a.toml"]


@pytest.mark.parametrize("force", [False, True])
def test_a_planted_link_is_not_followed(tmp_path: Path, force: bool) -> None:
    target, link = tmp_path / "target", tmp_path / "link.toml"
    link.symlink_to(target)
    if force:
        write_chosen(link, "ours", force=True)
        assert link.read_text() == "ours"
    else:
        with pytest.raises(RequestError, match="is there already"):
            write_chosen(link, "ours", force=False)
    assert not target.exists()


def test_a_file_system_without_second_names_is_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write_new(tmp_path / "a.toml", "ours", force=False)
    assert (tmp_path / "a.toml").read_text() == "ours"
    with pytest.raises(RequestError, match="is there already"):
        write_new(tmp_path / "a.toml", "again", force=False)


def test_what_a_killed_run_left_is_swept_but_not_what_leads_elsewhere(tmp_path: Path) -> None:
    folder, outside = tmp_path / "set", tmp_path / "outside"
    left = folder / ".writing-abc"
    for sub in ("old", "new"):
        (left / sub).mkdir(parents=True)
    (left / "new" / "x").write_text("half")
    (left / "moves.json").write_text('{"../outside": "00", "x": "00"}')
    outside.write_text("mine")
    (folder / ".writing-link").symlink_to(tmp_path, target_is_directory=True)
    write_files(folder, {"a": "one"})
    assert sorted(p.name for p in folder.iterdir()) == [".writing-link", RECORD, "a"]
    assert outside.read_text() == "mine"


@cases("gone", ["new", "old", "moves.json"])
def test_a_run_killed_while_it_swept_locks_nobody_out(tmp_path: Path, gone: str) -> None:
    """Whatever of it went first, the set that is there stays and the next run writes."""
    folder = tmp_path / "set"
    write_files(folder, {"a": "one", "b": "two"})
    left = folder / ".writing-abc"
    for sub in ("old", "new"):
        (left / sub).mkdir(parents=True)
    (left / "moves.json").write_text("{}")
    (left / gone).rmdir() if gone != "moves.json" else (left / gone).unlink()
    write_files(folder, {"a": "three"})
    assert (folder / "a").read_text() == "three"
    assert not left.exists()
