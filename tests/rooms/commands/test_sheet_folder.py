"""Sheets of a folder: ended, killed, run twice at once, with names that meet; nothing lost, nothing half written."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest

import flangewise.commands.paths as paths
from flangewise.writing import BEGUN_PREFIX

from .test_sheet import ANGLE, REFUSED, rows, run, write

COUNT = 5
T = TypeVar("T")


def started(parts: Path, out: Path, *options: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "flangewise", "--quiet", "sheet", str(parts), "-o", str(out), "--html", *options]
    return subprocess.Popen(
        [*command, "--format", "json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=_heard
    )


def _heard() -> None:
    """Ctrl-C is heard, as at a terminal: a shell that starts the tests in the background lets nothing below hear it."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def parts(tmp_path: Path) -> Path:
    for number in range(COUNT):
        write(tmp_path / "parts", f"p{number}")
    return tmp_path / "parts"


def assert_whole(out: Path) -> int:
    """That there are whole sheets in a folder and nothing else; how many."""
    files = sorted(out.iterdir())
    assert [file.name for file in files if file.suffix != ".html"] == []
    assert all(file.read_bytes().rstrip().endswith(b"</html>") for file in files)
    return len(files)


def children(pid: int) -> list[int]:
    return [int(each) for each in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def awaited(what: Callable[[], T], seconds: float = 60.0) -> T:
    """What comes of it as soon as it is anything. Raises AssertionError where that takes too long."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.005)
    raise AssertionError("waited in vain")


def gone(pid: int, seconds: float = 20.0) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            if Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z":
                return True
        except FileNotFoundError:
            return True
        time.sleep(0.05)
    return False


@pytest.mark.parametrize(
    ("number", "status", "jobs"),
    [(signal.SIGINT, 130, 2), (signal.SIGTERM, 143, 1), (signal.SIGKILL, -9, 2)],
)
def test_a_run_that_is_ended_leaves_whole_sheets_and_the_next_goes_on(
    parts: Path, tmp_path: Path, number: signal.Signals, status: int, jobs: int
) -> None:
    """One of two hands is held up with a sheet, so that the other can not have made them all before the signal."""
    out = tmp_path / "out"
    running = started(parts, out, "--jobs", str(jobs))
    hands = awaited(lambda: both if len(both := children(running.pid)) == 2 else []) if jobs == 2 else []
    for hand in hands[1:]:
        os.kill(hand, signal.SIGSTOP)
    awaited(lambda: out.is_dir() and any(out.glob("*.html")))
    assert children(running.pid) == hands
    running.send_signal(number)
    for hand in hands[1:]:
        os.kill(hand, signal.SIGCONT)
    _, err = running.communicate(timeout=60)
    assert running.returncode == status
    assert "Traceback" not in err
    assert all(gone(hand) for hand in hands)
    if number == signal.SIGKILL:
        for half in out.glob(f"{BEGUN_PREFIX}*"):  # cleared when it is old enough
            half.unlink()
    made = {file.stem for file in out.iterdir()}
    assert 1 <= assert_whole(out) < COUNT
    again, found = rows("sheet", parts, "-o", out, "--html", "--jobs", jobs)
    assert (again, {row["part"] for row in found if row["status"] == "kept"}) == (0, made)
    assert assert_whole(out) == COUNT


def test_a_process_of_the_crew_that_is_killed_costs_its_own_sheet(parts: Path, tmp_path: Path) -> None:
    """It is held up as soon as it is there, so that it has a sheet in hand when the other one has made the rest."""
    out = tmp_path / "out"
    running = started(parts, out, "--jobs", "2")
    held_up = awaited(lambda: children(running.pid))[0]
    os.kill(held_up, signal.SIGSTOP)
    awaited(lambda: out.is_dir() and len(list(out.glob("*.html"))) == COUNT - 1)
    os.kill(held_up, signal.SIGKILL)
    told, err = running.communicate(timeout=120)
    assert running.returncode == 2
    (fault,) = err.splitlines()
    assert "DiedError" in fault and fault.startswith(str(parts))
    made = [json.loads(line)["status"] for line in told.splitlines()]
    assert sorted(made) == ["failed"] + ["made"] * (COUNT - 1)
    assert assert_whole(out) == COUNT - 1


def test_two_runs_at_once_in_one_folder_do_no_harm(parts: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    rows("sheet", parts, "-o", out, "--html")
    for number in range(0, COUNT, 2):
        write(parts, f"p{number}", REFUSED)
    both = [started(parts, out, "--all", "--jobs", "1") for _ in range(2)]
    told = [each.communicate(timeout=120) for each in both]
    assert [each.returncode for each in both] == [1, 1]
    assert [err for _, err in told] == ["", ""]
    found = [[json.loads(line) for line in text.splitlines()] for text, _ in told]
    assert [row["part"] for row in found[0]] == [row["part"] for row in found[1]]
    withdrawn = [row["superseded"] for rows_of in found for row in rows_of if row["superseded"]]
    assert sorted(withdrawn) == sorted(str(out / f"p{number}.superseded.html") for number in range(0, COUNT, 2))
    assert assert_whole(out) == COUNT


def test_what_a_killed_run_left_is_cleared_by_the_next(parts: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    left = out / f"{BEGUN_PREFIX}abc.tmp"
    left.write_bytes(b"half")
    os.utime(left, (left.stat().st_mtime - 600,) * 2)
    rows("sheet", parts / "p1.yaml", "-o", out, "--html")
    assert [file.name for file in out.iterdir()] == ["p1.html"]


def test_names_that_are_one_but_for_capitals_are_a_fault_where_the_folder_folds_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    parts, out = tmp_path / "parts", tmp_path / "out"
    write(parts, "One")
    (parts / "another.yaml").write_text(ANGLE.format(name="one"))
    monkeypatch.setattr(paths, "folds_case", lambda folder: True)
    status, told, err = run("--quiet", "sheet", parts, "-o", out, "--html")
    assert (status, told, out.exists()) == (2, "", False)
    (fault,) = err.splitlines()
    assert "'one'" in fault and "'One'" in fault and str(parts) in fault and "rename one of them" in fault
    monkeypatch.setattr(paths, "folds_case", lambda folder: False)
    assert rows("sheet", parts, "-o", out, "--html")[0] == 0
    assert assert_whole(out) == 2


def test_a_name_like_that_of_a_withdrawn_sheet_is_a_fault_of_its_part(tmp_path: Path) -> None:
    parts, out = tmp_path / "parts", tmp_path / "out"
    write(parts, "one")
    write(parts, "one.superseded")
    status, told, err = run("sheet", parts, "-o", out, "--html", "--format", "json")
    assert status == 2
    assert [json.loads(line)["status"] for line in told.splitlines()] == ["failed", "made"]
    assert "leave .superseded off its end" in err
    assert [file.name for file in out.iterdir()] == ["one.html"]
