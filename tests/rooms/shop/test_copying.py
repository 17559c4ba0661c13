"""The built-in shop copied out: whole, never over anything."""

from __future__ import annotations

from pathlib import Path

import pytest

from flangewise.faults import Unusable
from flangewise.shop import BUILT_IN, copy_shop, load as copying_module


def test_every_file_is_copied_byte_for_byte(tmp_path: Path) -> None:
    files = copy_shop(tmp_path / "new" / "shop")
    assert [file.name for file in files] == sorted(file.name for file in BUILT_IN.iterdir())
    for file in files:
        assert file.read_bytes() == (BUILT_IN / file.name).read_bytes()


def test_comments_and_sources_come_along(tmp_path: Path) -> None:
    copy_shop(tmp_path / "shop")
    text = (tmp_path / "shop" / "materials.yaml").read_text(encoding="utf-8")
    assert text.startswith("# Sheet metals.")
    assert "EN 10130" in text


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    assert copy_shop(tmp_path / "shop")


def test_the_folder_one_stands_in_is_filled_and_stays_the_same_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = tmp_path.stat().st_ino
    assert copy_shop(Path())
    assert tmp_path.stat().st_ino == before
    assert (tmp_path / "materials.yaml").is_file()


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    mine = tmp_path / "shop" / "materials.yaml"
    mine.parent.mkdir()
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(Unusable, match="is not empty, name a new or empty folder"):
        copy_shop(mine.parent)
    assert mine.read_text(encoding="utf-8") == "mine"
    assert list(mine.parent.iterdir()) == [mine]


@pytest.mark.parametrize("kind", ["file", "link", "dangling"])
def test_a_file_or_a_link_in_its_place_stays(tmp_path: Path, kind: str) -> None:
    place = tmp_path / "shop"
    (tmp_path / "elsewhere").mkdir()
    if kind == "file":
        place.write_text("mine", encoding="utf-8")
    else:
        place.symlink_to(tmp_path / ("elsewhere" if kind == "link" else "nowhere"))
    with pytest.raises(Unusable, match="is a file or a link"):
        copy_shop(place)
    assert not list((tmp_path / "elsewhere").iterdir())


def test_an_interrupted_copy_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(fresh: Path, to: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(copying_module, "_put_in_place", interrupted)
    with pytest.raises(KeyboardInterrupt):
        copy_shop(tmp_path / "shop")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_filled_in_the_meantime_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "shop"
    put_in_place = copying_module._put_in_place

    def beaten(fresh: Path, to: Path) -> None:
        to.mkdir()
        (to / "mine").write_text("mine", encoding="utf-8")
        put_in_place(fresh, to)

    monkeypatch.setattr(copying_module, "_put_in_place", beaten)
    with pytest.raises(Unusable, match="is not empty"):
        copy_shop(place)
    assert [file.name for file in place.iterdir()] == ["mine"]
    assert [each.name for each in tmp_path.iterdir()] == ["shop"]


def test_the_copy_is_as_readable_as_any_new_folder(tmp_path: Path) -> None:
    copy_shop(tmp_path / "shop")
    (tmp_path / "plain").mkdir()
    assert (tmp_path / "shop").stat().st_mode == (tmp_path / "plain").stat().st_mode
