"""The file of a drawing: its unit, its kind, and the bounds within which it is read."""

from __future__ import annotations

import io
import logging
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flangewise.drawn import DrawnWish, LineBend, Undrawn, file, read_drawing
from flangewise.shop import LayerNames

from .made import LINE, PLATE, SQUARE, drawing, faults, on, read, texts, written


@pytest.mark.parametrize(("unit", "mm"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_the_header_names_the_unit(unit: int, mm: float, tmp_path: Path) -> None:
    blank = read(drawing(LINE, unit=unit, scale=1 / mm), tmp_path)
    assert blank.area_mm2 == pytest.approx(9600.0, abs=1e-6)
    assert blank.findings == ()


@pytest.mark.parametrize(("units", "mm", "told"), [(None, 1.0, "mm"), ("mm", 1.0, "mm"), ("inch", 25.4, "inch")])
def test_without_one_the_part_files_unit_is_taken_and_told(
    units: str | None, mm: float, told: str, tmp_path: Path
) -> None:
    blank = read(drawing(LINE, unit=0, scale=1 / mm), tmp_path, replace(SQUARE, units=units))
    assert blank.area_mm2 == pytest.approx(9600.0, abs=1e-6)
    assert texts(blank.findings) == [f"the drawing names no unit. It was read in {told}"]


def test_a_header_against_the_part_file_is_a_fault(tmp_path: Path) -> None:
    found = faults(drawing(LINE, unit=1), tmp_path, replace(SQUARE, units="mm"))
    assert texts(found) == ["the drawing's header says inch, the part file says mm. Make them agree"]
    assert read(drawing(LINE, unit=4), tmp_path, replace(SQUARE, units="mm")).findings == ()


def test_a_unit_that_no_sheet_is_drawn_in_is_a_fault(tmp_path: Path) -> None:
    found = faults(drawing(LINE, unit=2), tmp_path)
    assert texts(found) == ["the drawing's header names unit 2. Set it to inch, mm, cm or m"]


def test_layers_are_the_shops_and_others_are_counted(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_line((0, 0), (5, 5), **on("NOTES"))
        space.add_line((0, 0), (5, 5), **on("NOTES"))
        space.add_text("A1", **on("frame"))

    blank = read(drawing(LINE, more=more), tmp_path)
    assert texts(blank.findings) == ["entities on other layers were left out, 3 in all: NOTES (2), frame (1)"]
    own = LayerNames(cut="edge", bend_toward="up", bend_away="down", mark="MARK")
    document = drawing((*LINE[:2], "Down"), outline=PLATE)
    for entity in document.modelspace():
        entity.dxf.layer = "EDGE" if entity.dxf.layer == "CUT" else entity.dxf.layer
    (line,) = read(document, tmp_path, replace(SQUARE, layers=own)).lines
    assert not line.toward


def test_a_binary_drawing_is_read_alike(tmp_path: Path) -> None:
    document = drawing(LINE)
    document.saveas(tmp_path / "binary.dxf", fmt="bin")
    assert read_drawing(tmp_path / "binary.dxf", SQUARE) == read(document, tmp_path)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_old_and_new_versions_are_read_alike(version: str, tmp_path: Path) -> None:
    blank = read(drawing(LINE, version=version), tmp_path)
    assert (len(blank.faces), len(blank.lines)) == (2, 1)


def test_what_is_no_drawing_is_told(tmp_path: Path) -> None:
    for name, raw in {"a": b"", "b": b"part: x\n", "c": b"0\nSECTION\n2\nENT", "d": bytes(range(256)) * 9}.items():
        (tmp_path / name).write_bytes(raw)
        with pytest.raises(Undrawn) as told:
            read_drawing(tmp_path / name, SQUARE)
        assert [each.code for each in told.value.findings] in (["drawn-unread"], ["drawn-no-unit", "drawn-no-outline"])
    for path in (tmp_path, tmp_path / "none.dxf", Path("a\0b")):
        with pytest.raises(Undrawn) as told:
            read_drawing(path, SQUARE)
        assert str(told.value) == "the drawing does not exist or cannot be opened. Give a file that can be read"


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.dxf"
    with path.open("wb") as large:
        large.truncate(20_000_001)
    with pytest.raises(Undrawn) as told:
        read_drawing(path, SQUARE)
    assert str(told.value) == "the drawing is larger than 20 MB. Write out the flat blank alone"


def test_more_entities_than_any_blank_has_are_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 200 000 the reading alone would take seconds: held at a hundredth of them."""
    assert file.MOST_ENTITIES == 200_000
    monkeypatch.setattr(file, "MOST_ENTITIES", 2_000)
    path = tmp_path / "many.dxf"
    path.write_text("0\nSECTION\n2\nENTITIES\n" + "0\nPOINT\n" * 2_000 + "0\nENDSEC\n0\nEOF\n")
    with pytest.raises(Undrawn) as told:
        read_drawing(path, SQUARE, clock=lambda: 0.0)
    assert str(told.value) == "the drawing holds more than 2000 entities. Write out the flat blank alone"


def test_the_time_for_a_drawing_is_bounded(tmp_path: Path) -> None:
    """By a clock that goes on a second each time it is looked at: enough for a short drawing, not for a long one."""

    def ticking() -> Any:
        seen = iter(range(10_000))
        return lambda: float(next(seen))

    short = written(drawing(LINE), tmp_path)
    assert read_drawing(short, SQUARE, longest_s=9_999.0, clock=ticking()).lines
    with pytest.raises(Undrawn) as told:
        read_drawing(short, SQUARE, longest_s=3.0, clock=ticking())
    assert str(told.value) == "reading the drawing takes longer than 3 s. Write out the flat blank alone"


def test_no_other_file_is_looked_into(tmp_path: Path) -> None:
    """A reference to another drawing is told and left alone, though that drawing is there and would be a fault."""
    written(drawing(((0.0, 0.0), (9.0, 9.0), "CUT")), tmp_path).rename(tmp_path / "frame.dxf")
    document = drawing(LINE)
    document.add_xref_def("frame.dxf", "frame")
    document.modelspace().add_blockref("frame", (0, 0), **on("CUT"))
    blank = read(document, tmp_path)
    assert texts(blank.findings) == [
        "references to what the file does not hold were left out, 1 in all: frame (1)",
    ]
    assert blank.area_mm2 == pytest.approx(9600.0, abs=1e-6)


def test_the_libraries_are_loaded_when_a_drawing_is_read() -> None:
    code = "import sys, flangewise.drawn; print([name for name in ('ezdxf', 'shapely') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout == "[]\n"


def test_the_library_writes_nothing_to_the_user(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of a handle that stands twice it warns on standard error, where nobody listens to its log."""
    path = written(drawing(LINE), tmp_path)
    raw = path.read_bytes()
    entity = raw[raw.index(b"  0\nLINE") : raw.index(b"  0\nLINE", raw.index(b"  0\nLINE") + 1)]
    path.write_bytes(raw.replace(entity, entity + entity))
    monkeypatch.setattr(logging.root, "handlers", [])
    before = list(logging.getLogger("ezdxf").handlers)
    assert [each.code for each in read_drawing(path, SQUARE).findings] == ["drawn-twice"]
    assert capsys.readouterr().err == ""
    assert logging.getLogger("ezdxf").handlers == before


def test_what_a_wish_leaves_out() -> None:
    assert DrawnWish().bend is None and LineBend(45.0).radius_mm is None
    assert (DrawnWish().layers.cut, DrawnWish().layers.bend_away) == ("CUT", "BEND-AWAY")


def test_many_faults_of_one_drawing_come_at_once_and_are_bounded(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        for place in range(250):
            space.add_point((place, 0), **on("CUT"))

    found = faults(drawing(LINE, more=more), tmp_path)
    assert len(found) == 201
    assert found[-1].text() == "there are 50 faults more. Mend these first"
    assert io.StringIO(str(Undrawn(found))).readline().startswith("(0 mm, 0 mm): POINT on CUT is no line")
