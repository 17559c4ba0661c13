"""Files written whole or not at all."""

from __future__ import annotations

import fcntl
import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from flangewise.writing import BEGUN_PREFIX, clear_left, folds_case, write_whole


def test_a_new_file_in_a_new_folder(tmp_path: Path) -> None:
    path = tmp_path / "sheets" / "below" / "a.pdf"
    write_whole(path, b"whole")
    assert path.read_bytes() == b"whole"
    assert [each.name for each in path.parent.iterdir()] == ["a.pdf"]


def test_a_new_file_has_the_usual_rights(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.write_bytes(b"")
    write_whole(tmp_path / "a", b"x")
    assert (tmp_path / "a").stat().st_mode == usual.stat().st_mode


def test_an_old_file_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_link_becomes_a_file_and_what_it_led_to_stands(tmp_path: Path) -> None:
    target, link = tmp_path / "real" / "a", tmp_path / "a"
    target.parent.mkdir()
    target.write_bytes(b"old")
    target.chmod(0o600)
    link.symlink_to(target)
    assert write_whole(link, b"new") == target
    assert not link.is_symlink()
    assert (link.read_bytes(), target.read_bytes()) == (b"new", b"old")
    fresh = tmp_path / "b"
    assert write_whole(fresh, b"new") is None
    assert stat.S_IMODE(link.stat().st_mode) == stat.S_IMODE(fresh.stat().st_mode)


def test_a_link_that_is_to_be_followed_stays_a_link(tmp_path: Path) -> None:
    target, link = tmp_path / "real" / "a", tmp_path / "a"
    target.parent.mkdir()
    target.write_bytes(b"old")
    link.symlink_to(target)
    assert write_whole(link, b"new", through_link=True) is None
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_empty_content_is_an_empty_file(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"")
    assert (tmp_path / "a").read_bytes() == b""


@pytest.mark.parametrize("stop", [KeyboardInterrupt, OSError(28, "No space left on device")])
def test_interrupted_the_old_file_stands_and_nothing_lies_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: type[BaseException] | BaseException
) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")

    def stopped(handle: int) -> None:
        raise stop

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(type(stop) if isinstance(stop, BaseException) else stop):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["a"]


def test_a_place_that_is_a_folder_is_an_error_and_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    with pytest.raises(OSError, match="a"):
        write_whole(tmp_path / "a", b"x")
    assert [each.name for each in tmp_path.iterdir()] == ["a"]


def test_killed_while_writing_the_file_is_whole(tmp_path: Path) -> None:
    """A process that writes two contents in turn, killed without warning: what stands there is one of the two."""
    path = tmp_path / "a"
    program = (
        "import sys; from pathlib import Path; from flangewise.writing import write_whole\n"
        "while True:\n"
        "    for sign in (b'a', b'b'): write_whole(Path(sys.argv[1]), sign * 3_000_000)\n"
    )
    writer = subprocess.Popen([sys.executable, "-c", program, str(path)])
    try:
        until = time.monotonic() + 20
        while not path.exists() and time.monotonic() < until:
            time.sleep(0.01)
        time.sleep(0.05)
    finally:
        writer.send_signal(signal.SIGKILL)
        writer.wait()
    content = path.read_bytes()
    assert content in (b"a" * 3_000_000, b"b" * 3_000_000)


def test_what_was_left_half_written_is_cleared_but_not_what_is_still_written(tmp_path: Path) -> None:
    names = ("left", "new", "locked", "ahead")
    files = {name: tmp_path / f"{BEGUN_PREFIX}{name}.tmp" for name in names}
    now_s = time.time()
    for path, at_s in zip(files.values(), (now_s - 600, now_s, now_s - 600, now_s + 86400), strict=True):
        path.write_bytes(b"half")
        os.utime(path, (at_s, at_s))
    others = [tmp_path / name for name in (".other.tmp", f"{BEGUN_PREFIX}x.pdf", "a.tmp")]
    for path in others:
        path.write_bytes(b"theirs")
        os.utime(path, (now_s - 600, now_s - 600))
    with files["locked"].open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert clear_left(tmp_path) == 2
        assert {name for name, path in files.items() if path.exists()} == {"new", "locked"}
    assert clear_left(tmp_path) == 1
    assert all(path.exists() for path in others)


def test_there_is_nothing_to_clear_where_there_is_no_folder(tmp_path: Path) -> None:
    assert clear_left(tmp_path / "none") == 0


def test_whether_capitals_count_is_found_out_where_the_folder_would_be(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"")
    assert folds_case(tmp_path / "not" / "yet") is (tmp_path / "A").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["a"]
