"""The part files of a run: found, read before any work, and told apart by name."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from flangewise.faults import Unusable
from flangewise.part import read_parts
from flangewise.part.file import find_files

from .made import PLAIN, shop


def part_file(path: Path, name: str) -> str:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(PLAIN.replace("part: p", f"part: {name}"))
    return str(path)


def given_on_standard_input(monkeypatch: pytest.MonkeyPatch, content: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(content)))


def test_a_file_is_itself_whatever_its_ending(tmp_path: Path) -> None:
    file = part_file(tmp_path / "part.txt", "a")
    assert find_files([file]) == ((file,), ())


def test_a_folder_is_the_part_files_below_it_by_name(tmp_path: Path) -> None:
    files = [part_file(tmp_path / name, name[0]) for name in ("b.yaml", "a.yml", "below/c.yaml", "below/deep/d.yml")]
    (tmp_path / "notes.txt").write_text("")
    (tmp_path / "e.yaml.bak").write_text("")
    found, faults = find_files([str(tmp_path)])
    assert found == (files[1], files[0], files[2], files[3])
    assert faults == ()


def test_a_shop_s_folder_is_skipped_with_all_below_it(tmp_path: Path) -> None:
    file = part_file(tmp_path / "parts" / "a.yaml", "a")
    for name in ("shop/shop.yaml", "shop/dies.yaml", "shop/old/dies.yaml"):
        part_file(tmp_path / name, name)
    assert find_files([str(tmp_path)]) == ((file,), ())
    found, (fault,) = find_files([str(tmp_path / "shop")])
    assert found == ()
    assert fault.text.startswith(f"{tmp_path / 'shop'}: folder: holds no part, give a folder with *.yaml or *.yml")


def test_links_to_folders_are_not_followed(tmp_path: Path) -> None:
    file = part_file(tmp_path / "a.yaml", "a")
    (tmp_path / "round").symlink_to(tmp_path, target_is_directory=True)
    assert find_files([str(tmp_path)]) == ((file,), ())


def test_paths_keep_their_order() -> None:
    assert find_files(["z.yaml", "-", "a.yaml"]) == (("z.yaml", "-", "a.yaml"), ())


def test_standard_input_can_be_named_once() -> None:
    found, (fault,) = find_files(["-", "-"])
    assert found == ("-",)
    assert fault.text == "-: standard input: is named twice, it can be read once"


def test_an_empty_folder_stops_no_other_path(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    file = part_file(tmp_path / "a.yaml", "a")
    found = read_parts([str(tmp_path / "empty"), file], shop())
    assert [(each.part.name if each.part else None, len(each.faults)) for each in found] == [(None, 1), ("a", 0)]


def test_a_bad_file_keeps_its_faults_and_stops_no_other(tmp_path: Path) -> None:
    part_file(tmp_path / "a.yaml", "a")
    (tmp_path / "b.yaml").write_text("part: b\n")
    part_file(tmp_path / "c.yaml", "c")
    found = read_parts([str(tmp_path), "missing.yaml"], shop())
    assert [Path(each.file).name for each in found] == ["a.yaml", "b.yaml", "c.yaml", "missing.yaml"]
    assert [each.part is None for each in found] == [False, True, False, True]
    assert [fault.text for fault in found[3].faults] == [
        "missing.yaml: file: does not exist, give a file that can be read"
    ]


def test_two_parts_of_one_name_stop_the_run(tmp_path: Path) -> None:
    first, second = part_file(tmp_path / "a.yaml", "foot"), part_file(tmp_path / "b.yaml", "foot")
    with pytest.raises(Unusable) as unusable:
        read_parts([str(tmp_path)], shop())
    assert [fault.text for fault in unusable.value.faults] == [
        f"{second}: part: the name 'foot' is also that of {first}, give each part of a run its own name"
    ]


def test_also_where_one_of_them_has_other_faults(tmp_path: Path) -> None:
    part_file(tmp_path / "a.yaml", "foot")
    (tmp_path / "b.yaml").write_text("part: foot\n")
    with pytest.raises(Unusable) as unusable:
        read_parts([str(tmp_path)], shop())
    assert len(unusable.value.faults) == 4


def test_the_same_file_twice_is_two_parts_of_one_name(tmp_path: Path) -> None:
    file = part_file(tmp_path / "a.yaml", "foot")
    with pytest.raises(Unusable):
        read_parts([file, file], shop())


def test_names_are_compared_as_they_are_written(tmp_path: Path) -> None:
    part_file(tmp_path / "a.yaml", "001")
    part_file(tmp_path / "b.yaml", "1")
    assert [each.part.name for each in read_parts([str(tmp_path)], shop()) if each.part] == ["001", "1"]


def test_a_part_on_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    given_on_standard_input(monkeypatch, PLAIN.encode())
    (found,) = read_parts(["-"], shop())
    assert found.part is not None
    assert (found.file, found.part.file, found.part.name) == ("-", "-", "p")


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"", "-: file: is empty"), (b"\xff\xfe", "-:1:1: file: is not UTF-8"), (b"part: [", "-:2:1: YAML")],
)
def test_faults_of_standard_input_are_told_as_of_a_file(
    monkeypatch: pytest.MonkeyPatch, content: bytes, told: str
) -> None:
    given_on_standard_input(monkeypatch, content)
    (found,) = read_parts(["-"], shop())
    assert found.part is None
    assert found.faults[0].text.startswith(told)


def test_standard_input_that_is_closed_or_a_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    def is_a_folder(size: int) -> bytes:
        raise IsADirectoryError(21, "Is a directory")

    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=SimpleNamespace(read=is_a_folder)))
    (found,) = read_parts(["-"], shop())
    assert found.faults[0].text == ("-: standard input: cannot be read (Is a directory), give a part in YAML there")
    monkeypatch.setattr(sys, "stdin", None)
    (found,) = read_parts(["-"], shop())
    assert found.faults[0].text == "-: standard input: is closed, give a part in YAML there"


def test_a_path_too_long_for_the_system_stops_no_other(tmp_path: Path) -> None:
    file = part_file(tmp_path / "a.yaml", "a")
    long, sound = read_parts(["x" * 5000, file], shop())
    assert "cannot be read (File name too long)" in long.faults[0].text
    assert sound.part is not None
