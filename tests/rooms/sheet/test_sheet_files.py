"""Sheets kept, replaced, withdrawn: hashes, records in the files, names."""

from pathlib import Path

import pytest

from flangewise.sheet import (
    Identity,
    Printing,
    Record,
    folder_inputs,
    plan_hash,
    read_record,
    replaced_by,
    sheet_bytes,
    sheet_path,
    withdraw,
)

from .demo import channel

RECORD = Record("a1b2c3d4e5f6", "000000000000", None, ({"severity": "note", "code": "x", "text": "é – ≥"},))


def html_sheet(folder: Path, record: Record = RECORD) -> Path:
    path = sheet_path(folder, "rain-gauge-foot", html=True)
    path.write_bytes(sheet_bytes(channel(), Identity(record.plan_hash, "0.1.0"), Printing(html=True), record=record))
    return path


def test_a_hash_is_the_same_for_the_same_inputs_in_any_order() -> None:
    assert plan_hash({"a": b"1", "b": b"2"}) == plan_hash({"b": b"2", "a": b"1"})


@pytest.mark.parametrize(
    "other", [{"a": b"1", "b": b"3"}, {"a": b"1"}, {"a": b"12", "b": b""}, {"a": b"", "b": b"12"}, {"ab": b"12"}]
)
def test_a_hash_is_another_for_any_other_inputs(other: dict[str, bytes]) -> None:
    assert plan_hash({"a": b"1", "b": b"2"}) != plan_hash(other)


def test_a_hash_is_twelve_letters_that_are_not_mixed_up() -> None:
    made = plan_hash({"a": b"1"})
    assert len(made) == 12
    assert set(made) <= set("0123456789abcdef")


def test_a_folder_is_its_files_without_the_hidden_ones(tmp_path: Path) -> None:
    (tmp_path / "below").mkdir()
    (tmp_path / "one.txt").write_bytes(b"1")
    (tmp_path / "below" / "two.txt").write_bytes(b"2")
    (tmp_path / ".hidden").write_bytes(b"3")
    assert folder_inputs(tmp_path, "t") == {"t/one.txt": b"1", "t/below/two.txt": b"2"}


def test_a_sheet_says_what_it_was_made_from(tmp_path: Path) -> None:
    assert read_record(html_sheet(tmp_path)) == RECORD


def test_a_file_that_is_not_whole_says_nothing(tmp_path: Path) -> None:
    path = html_sheet(tmp_path)
    path.write_bytes(path.read_bytes()[:-20])
    assert read_record(path) is None


@pytest.mark.parametrize(
    "content", [b"", b"%PDF-1.7 something else %%EOF", b"\x00\xff" * 50, b"flangewise-record:AAAA %%EOF"]
)
def test_a_foreign_file_says_nothing(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "rain-gauge-foot.pdf"
    path.write_bytes(content)
    assert read_record(path) is None


def test_no_file_says_nothing(tmp_path: Path) -> None:
    assert read_record(tmp_path / "none.pdf") is None


def test_what_a_new_sheet_replaces() -> None:
    assert replaced_by(None, "new") == ""
    assert replaced_by(Record("old", "older"), "new") == "old"
    assert replaced_by(Record("new", "old"), "new") == "old"


def test_a_withdrawn_sheet_gets_another_name_and_replaces_one_withdrawn_before(tmp_path: Path) -> None:
    sheet = tmp_path / "foot.v2.pdf"
    sheet.write_bytes(b"second")
    (tmp_path / "foot.v2.superseded.pdf").write_bytes(b"first")
    assert withdraw(sheet) == tmp_path / "foot.v2.superseded.pdf"
    assert (tmp_path / "foot.v2.superseded.pdf").read_bytes() == b"second"
    assert not sheet.exists()


def test_without_a_sheet_nothing_is_withdrawn(tmp_path: Path) -> None:
    assert withdraw(tmp_path / "none.pdf") is None


def test_names_in_the_folder(tmp_path: Path) -> None:
    assert sheet_path(tmp_path, "a.b-c", html=False).name == "a.b-c.pdf"
    assert sheet_path(tmp_path, "a", html=True).name == "a.html"
