"""Kills and races: a set of files is whole and old or whole and new, whatever ends the run that writes it.

    python tests/bench/kills.py            everything, a quarter of an hour on two cores
    python tests/bench/kills.py --quick    the writing room alone, without a knife, two seconds: part of the suite

One kill by each signal at every single move of a file, in every command that writes; kills at random times; two makers
at once. After SIGKILL a hidden folder may stay, and files may be missing, but no new file lies beside an older one, and
the next run mends it. Of two makers at once the second waits for the first; it may be refused only where the first did
not move on for a whole minute, in the words for that, and then the files are the first one's. Every fault is told, and
ends with exit code 1.
"""

from __future__ import annotations

import argparse
import itertools
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from forks import loaded

from blankwright.base.files import staging, write_files
from blankwright.base.onefile import write_over
from blankwright.base.written import RECORD

SIGNALS = (signal.SIGTERM, signal.SIGINT, signal.SIGKILL)
State = dict[str, bytes]
TIRED = (
    "blankwright: out/chef: another run is writing into this folder and has not moved on for 60 s. Wait for it to end, "
    "stop it, or choose another folder.\n"
)
"""What the second of two makers is told; no other refusal is allowed."""


@dataclass(frozen=True)
class Case:
    """Something that writes.

    Args:
        name: What it is called.
        old: Writes the older state.
        new: Writes the newer one over it; this is what is killed.
        edited: Whether the older state was edited by hand, and has to be kept.
        words: The command line that is `new`; empty where it is none.
    """

    name: str
    old: Callable[[], object]
    new: Callable[[], object]
    edited: bool = False
    words: tuple[str, ...] = ()


def state(folder: Path) -> State:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def tidy(found: State) -> bool:
    return not any(".writing-" in name for name in found)


def forked(run: Callable[[], object], folder: Path, kill_at: int | None, number: int) -> tuple[int, int]:
    """Run something in a fork of this process, killed after a move or removal; return status and number of moves."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        moves = 0
        os.chdir(folder)

        def counted(move: Callable[..., object]) -> Callable[..., object]:
            def moved(*args: object, **kwargs: object) -> object:
                nonlocal moves
                try:
                    return move(*args, **kwargs)
                finally:
                    moves += 1
                    if moves == kill_at:
                        os.kill(os.getpid(), number)

            return moved

        for name in ("replace", "rename", "link", "unlink", "rmdir"):
            setattr(os, name, counted(getattr(os, name)))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        code = 70
        try:
            if kill_at == 0:
                os.kill(os.getpid(), number)
            run()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0
        except KeyboardInterrupt:
            code = 130
        finally:
            os.write(theirs, str(moves).encode())
            os._exit(code)
    os.close(theirs)
    _, status = os.waitpid(child, 0)
    with os.fdopen(ours, "rb") as stream:
        moves = int(stream.read() or b"0")
    return status, moves


def judged(found: State, old: State, new: State, number: int) -> str | None:
    """Return what is wrong with a folder after a kill."""
    if found in (old, new):
        return None
    if number != signal.SIGKILL:
        return "neither old nor new" if tidy(found) else "something was left over"
    seen = {n: c for n, c in found.items() if ".writing-" not in n}
    rests = [{n for n, c in seen.items() if one.get(n) != c and not n.endswith(".kept")} for one in (old, new)]
    return "old and new files are mixed" if all(rests) else None


def mended(folder: Path) -> None:
    """Do what the next run does when it enters the folder."""
    for left in folder.rglob(".writing-*"):
        with staging(left.parent):
            pass


def begun(case: Case, folder: Path) -> None:
    """Write the older state into a folder."""
    forked(case.old, folder, None, signal.SIGTERM)
    if case.edited:
        edited = next(p for p in sorted(folder.rglob("*")) if p.is_file() and p.name != RECORD)
        edited.write_bytes(edited.read_bytes() + b"\n")


def at_every_move(case: Case, number: int) -> tuple[int, list[str]]:
    """Kill a case at each of its moves; return how many kills there were and what was wrong."""
    wrong: list[str] = []
    with tempfile.TemporaryDirectory(prefix="kills-") as name:
        top = Path(name)
        begin, through = top / "begin", top / "through"
        begin.mkdir()
        begun(case, begin)
        shutil.copytree(begin, through)
        status, moves = forked(case.new, through, None, number)
        old, new = state(begin), state(through)
        if status or old == new or not moves:
            return 0, [f"{case.name}: does nothing to be killed in (status {status}, {moves} moves)"]
        if case.edited and not any(n.endswith(".kept") for n in new):
            wrong.append(f"{case.name}: the edited file was not kept")
        for kill_at in range(moves + 1):
            work = top / f"at-{kill_at}"
            shutil.copytree(begin, work)
            forked(case.new, work, kill_at, number)
            place = f"{case.name}, {signal.Signals(number).name} after move {kill_at} of {moves}"
            fault = judged(state(work), old, new, number)
            if fault is None and number == signal.SIGKILL:
                mended(work)
                rest = {n: c for n, c in state(work).items() if not n.endswith(".kept")}
                if rest != old and state(work) != new:
                    fault = "the next run does not mend it"
            if fault is None:
                forked(case.new, work, None, number)
                fault = None if state(work) == new else "the next run does not write the new state"
            if fault is not None:
                wrong.append(f"{place}: {fault}: {sorted(state(work))}")
        return moves + 1, wrong


def plain_cases() -> list[Case]:
    """Return sets of the writing room alone."""

    def three(words: str) -> Callable[[], object]:
        return lambda: write_files(Path("set"), {f"{n}.txt": f"{words} {n}" for n in "abc"})

    def two(words: str) -> Callable[[], object]:
        return lambda: write_files(Path("set"), {f"{n}.txt": f"{words} {n}" for n in "ad"})

    return [
        Case("a set", three("old"), three("new")),
        Case("an edited set", three("old"), three("new"), edited=True),
        Case("a set with other names", three("old"), two("new")),
        Case("a first set", lambda: None, three("new")),
        Case(
            "one file",
            lambda: write_over(Path("one.txt"), "old", new_folder=False),
            lambda: write_over(Path("one.txt"), "new", new_folder=False),
        ),
    ]


def line(*words: str) -> Callable[[], object]:
    """Return the run of a command line in this process."""

    def run() -> object:
        from blankwright.commands.cli import main

        os.environ["XDG_CONFIG_HOME"] = str(Path.cwd() / "config")
        sys.argv = ["blankwright", *words]
        return main()

    return run


def command_cases() -> list[Case]:
    """Return every command that writes, over the files of another length of blade."""
    short, long = "blade.length=200mm", "blade.length=240mm"

    def over(name: str, old: Callable[[], object], *words: str, edited: bool = False) -> Case:
        return Case(name, old, line(*words), edited, words)

    def pair(name: str, *words: str, edited: bool = False) -> Case:
        return over(name, line(*words, "--set", short), *words, "--set", long, edited=edited)

    def loose() -> None:
        text = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
        corners = [(0, 0), (300, 0), (300, 30), (0, 30), (0, 0)]
        for (x, y), (u, v) in itertools.pairwise(corners):
            text += f"0\nLINE\n8\n0\n10\n{x}\n20\n{y}\n11\n{u}\n21\n{v}\n"
        Path("in.dxf").write_text(text + "0\nENDSEC\n0\nEOF\n")
        for name in ("out.dxf", "out.svg"):
            Path(name).write_text("something older\n")

    return [
        pair("make", "make", "chef"),
        pair("make, edited", "make", "chef", edited=True),
        pair("cut", "cut", "chef"),
        pair("cut --service --with program", "cut", "chef", "--service", "own-table", "--with", "program"),
        pair("cut --part", "cut", "chef", "--part", "scales"),
        pair("sheet", "sheet", "chef"),
        pair("template", "template", "chef"),
        pair("weigh --with sections", "weigh", "chef", "--with", "sections"),
        over(
            "aim",
            lambda: Path("chef-aimed.toml").write_text("# something older\n"),
            *("aim", "chef", "--weight", "190g", "--let", "scales.thickness", "--force"),
        ),
        over(
            "printer",
            line("printer", "office", "--measured-x", "99.2mm", "--measured-y", "100.4mm"),
            *("printer", "office", "--measured-x", "99.3mm", "--measured-y", "100.5mm"),
        ),
        over("inspect --mend", loose, "inspect", "in.dxf", "--mend", "out.dxf", "--force"),
        over("inspect --picture", loose, "inspect", "in.dxf", "--picture", "out.svg", "--force"),
        over("new", lambda: Path("my.toml").write_text("# something older\n"), "new", "chef", "my.toml", "--force"),
    ]


def started(folder: Path, *words: str, errors: IO[bytes] | int = subprocess.DEVNULL) -> subprocess.Popen[bytes]:
    """Begin a whole run of its own; what it says of errors goes where it is told."""
    line_of = [sys.executable, "-m", "blankwright", *words]
    env = os.environ | {"XDG_CONFIG_HOME": str(folder / "config")}
    return subprocess.Popen(line_of, cwd=folder, env=env, stdout=subprocess.DEVNULL, stderr=errors)


def chef(length: int) -> tuple[str, ...]:
    return ("make", "chef", "--set", f"blade.length={length}mm")


def made(top: Path, length: int) -> State:
    folder = top / f"whole-{length}"
    folder.mkdir()
    assert started(folder, *chef(length)).wait() == 0
    return state(folder)


def random_kills(count: int, dice: random.Random) -> list[str]:
    """Kill whole runs of every command at random times over an older set, one command after the other."""
    wrong: list[str] = []
    outcomes = {"old": 0, "new": 0, "between": 0}
    cases = command_cases()
    for k, case in enumerate(cases):
        share = len(range(k, count, len(cases)))
        found = _random_kills(case, share, dice, outcomes)
        wrong += found
        print(f"{case.name}: {share} kills at random times, {len(found)} faults", flush=True)
    print(f"{count} kills at random times: {outcomes}, {len(wrong)} faults", flush=True)
    return wrong


def _random_kills(case: Case, count: int, dice: random.Random, outcomes: dict[str, int]) -> list[str]:
    wrong: list[str] = []
    with tempfile.TemporaryDirectory(prefix="kills-") as name:
        top = Path(name)
        begin = top / "begin"
        begin.mkdir()
        begun(case, begin)
        shutil.copytree(begin, top / "through")
        clock = time.monotonic()
        code = started(top / "through", *case.words).wait()
        took = time.monotonic() - clock
        old, new = state(begin), state(top / "through")
        for i in range(count):
            work = top / "work"
            shutil.copytree(begin, work)
            number = SIGNALS[i % 3]
            run = started(work, *case.words)
            time.sleep(dice.uniform(0.3, 1.05) * took)
            run.send_signal(number)
            run.wait()
            found = state(work)
            outcomes["old" if found == old else "new" if found == new else "between"] += 1
            fault = judged(found, old, new, number)
            if fault is None and started(work, *case.words).wait() != code:
                fault = "the next run ends otherwise"
            if fault is None and state(work) != new:
                fault = "the next run does not write the new state"
            if fault is not None:
                wrong.append(f"{case.name}, random kill {i}, {number.name}: {fault}: {sorted(found)}")
            shutil.rmtree(work)
    return wrong


def races(count: int, dice: random.Random) -> list[str]:
    """Let two makers write another state into one folder at once."""
    wrong: list[str] = []
    won = {200: 0, 240: 0}
    tired = 0
    with tempfile.TemporaryDirectory(prefix="kills-") as name:
        top = Path(name)
        whole = {length: made(top, length) for length in won}
        for i in range(count):
            codes, said, found = _race(top / f"race-{i}", dice.uniform(0, 0.15))
            who = next((length for length, one in whole.items() if one == found), None)
            fault = raced(codes, said, who)
            if fault is not None:
                wrong.append(f"race {i}: {fault}: exit codes {codes}, {said}, {sorted(found)}")
            if who is not None:
                won[who] += 1
            tired += 2 in codes and fault is None
    print(f"{count} races of two makers: won by {won}, {tired} told to wait, {len(wrong)} faults", flush=True)
    return wrong


def _race(work: Path, later_s: float) -> tuple[tuple[int, int], tuple[str, str], State]:
    """Return the exit codes of two makers, what each said of errors, and the files."""
    work.mkdir()
    with tempfile.TemporaryFile() as one, tempfile.TemporaryFile() as other:
        first = started(work, *chef(200), errors=one)
        time.sleep(later_s)
        second = started(work, *chef(240), errors=other)
        codes = first.wait(), second.wait()
        one.seek(0)
        other.seek(0)
        return codes, (one.read().decode(), other.read().decode()), state(work)


def raced(codes: tuple[int, int], said: tuple[str, str], who: int | None) -> str | None:
    """Return what is wrong with the end of a race, of which `who` is the length whose files are there."""
    if who is None:
        return "the files are neither one's nor the other's"
    if codes == (0, 0) and said == ("", ""):
        return None
    if (codes, said, who) in (((0, 2), ("", TIRED), 200), ((2, 0), (TIRED, ""), 240)):
        return None
    return "not both ended well"


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--quick", action="store_true")
    asked.add_argument("--random", type=int, default=200)
    asked.add_argument("--races", type=int, default=50)
    asked.add_argument("--only", metavar="NAME", help="One case, by its name, or races.")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    dice = random.Random(given.seed)
    print(f"seed {given.seed}")
    wrong: list[str] = []
    if not given.quick:
        loaded()
    cases = plain_cases() if given.quick else [*plain_cases(), *command_cases()]
    for case in (one for one in cases if given.only in (None, one.name)):
        kills = 0
        before = len(wrong)
        for number in SIGNALS:
            count, found = at_every_move(case, number)
            kills, wrong = kills + count, wrong + found
        print(f"{case.name}: {kills} kills, {len(wrong) - before} faults", flush=True)
    if not given.quick and given.only is None:
        wrong += random_kills(given.random, dice)
    if not given.quick and given.only in (None, "races"):
        wrong += races(given.races, dice)
    print("\n".join([*wrong, f"{len(wrong)} faults"]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
