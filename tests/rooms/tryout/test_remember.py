"""Remembering: once each, whole or not at all, and no row lost between two writers."""

import multiprocessing
import time
from dataclasses import replace

import pytest

from flangewise.faults import Unusable
from flangewise.shop import MeasuredRow, load_shop, measured_text, read_measured
from flangewise.tryout import place_to_record, remember

ROW = MeasuredRow(
    "A17", "foot", 1, 1, "m", "DC01", 2.0, None, "n1", 1.0, "v16", 90.0,
    3.8, 88.75, 90.0, 12.6, 1.63, 2.1, 3.83, None, None,
)  # fmt: skip


def test_a_new_file_gets_its_head_and_its_rows(tmp_path):
    file = tmp_path / "measured.csv"
    told = remember(file, [ROW, replace(ROW, bend=2)])
    assert len(told.recorded) == 2
    assert file.read_text().startswith("# Measured bends")
    assert read_measured(file).rows == (ROW, replace(ROW, bend=2))


def test_the_same_again_is_recorded_once(tmp_path):
    file = tmp_path / "measured.csv"
    remember(file, [ROW])
    before = file.read_bytes()
    told = remember(file, [ROW])
    assert (told.recorded, told.kept, told.differing) == ((), (ROW,), ())
    assert file.read_bytes() == before


def test_other_figures_for_the_same_piece_do_not_replace_the_old(tmp_path):
    file = tmp_path / "measured.csv"
    remember(file, [ROW])
    other = replace(ROW, measured_turn_deg=89.5)
    told = remember(file, [other, replace(ROW, piece=2)])
    assert told.differing == (other,)
    assert told.recorded == (replace(ROW, piece=2),)
    assert read_measured(file).rows == (ROW, replace(ROW, piece=2))


def test_a_file_with_faults_is_left_alone(tmp_path):
    file = tmp_path / "measured.csv"
    broken = measured_text([ROW]).replace("88.75", "steep")
    file.write_text(broken)
    with pytest.raises(Unusable, match="steep"):
        remember(file, [replace(ROW, bend=2)])
    assert file.read_text() == broken


def test_the_built_in_shop_does_not_remember():
    with pytest.raises(Unusable, match="flangewise shop copy"):
        place_to_record(load_shop(None, ()))


APART = multiprocessing.get_context("fork")


def writes(file, lot, first, last, begun):
    for piece in range(first, last):
        remember(file, [replace(ROW, lot=lot, piece=piece)])
        begun.set()


def writer(file, lot, first, last):
    """A process that records one piece after the other, and what is set when it has begun."""
    begun = APART.Event()
    process = APART.Process(target=writes, args=(file, lot, first, last, begun))
    process.start()
    return process, begun


def test_two_processes_at_once_lose_no_row(tmp_path):
    file = tmp_path / "measured.csv"
    writers = [writer(file, lot, 1, 26) for lot in ("A", "B")]
    for each, _ in writers:
        each.join(timeout=60)
    assert [each.exitcode for each, _ in writers] == [0, 0]
    found = [row.identity for row in read_measured(file).rows]
    assert sorted(found) == [(lot, "foot", 1, piece) for lot in ("A", "B") for piece in range(1, 26)]


def test_killed_while_writing_the_file_is_whole(tmp_path):
    file = tmp_path / "measured.csv"
    remember(file, [ROW])
    first = 2
    for delay in (0.0, 0.004, 0.011):
        killed, begun = writer(file, "A17", first, 9999)
        assert begun.wait(timeout=30)
        time.sleep(delay)
        killed.kill()
        killed.join(timeout=30)
        rows = read_measured(file).rows
        first = len(rows) + 1
        assert rows[0] == ROW
        assert [row.piece for row in rows] == list(range(1, len(rows) + 1))
    # And the lock went with its holder.
    assert remember(file, [replace(ROW, lot="after")]).recorded


def test_interrupted_before_the_rename_the_old_file_stands(tmp_path, monkeypatch):
    file = tmp_path / "measured.csv"
    remember(file, [ROW])
    before = file.read_bytes()

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("pathlib.Path.replace", stop)
    with pytest.raises(KeyboardInterrupt):
        remember(file, [replace(ROW, bend=2)])
    monkeypatch.undo()
    assert file.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == [".measured.lock", "measured.csv"]
