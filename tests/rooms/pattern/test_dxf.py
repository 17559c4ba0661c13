"""The blank's DXF, read back with the library's own reader and auditor."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf import recover

from flangewise.pattern import FlatPattern, dxf_bytes
from flangewise.shop import LayerNames

from .made import bend, blank, hole, offset, part

HOLES = (hole(1, 1, (30, 15), diameter_mm=6.5), hole(2, 2, (60, 40), size_mm=(20.0, 8.0)))


@pytest.fixture(scope="module")
def pattern() -> FlatPattern:
    return blank(part((40, 70, 30), bend(1), offset(2, 8.0, away=True), holes=HOLES, name="gauge-foot_00123"))


@pytest.fixture(scope="module")
def document(pattern: FlatPattern) -> Any:
    read, _ = recover.read(io.BytesIO(dxf_bytes(pattern)))
    return read


def on_layer(document: Any, layer: str) -> list[Any]:
    return [entity for entity in document.modelspace() if entity.dxf.layer == layer]


def test_the_auditor_finds_no_errors_and_mends_nothing(pattern: FlatPattern) -> None:
    _, auditor = recover.read(io.BytesIO(dxf_bytes(pattern)))
    assert (auditor.errors, auditor.fixes) == ([], [])


def test_release_and_units(document: Any) -> None:
    assert document.dxfversion >= "AC1015"  # R2000
    assert document.header["$INSUNITS"] == 4  # millimetres
    assert document.header["$MEASUREMENT"] == 1


def test_only_the_four_layers_hold_anything(document: Any) -> None:
    assert {entity.dxf.layer for entity in document.modelspace()} == {"CUT", "BEND-TOWARD", "BEND-AWAY", "MARK"}


def test_outline_and_holes_are_closed_and_alone_on_the_cut_layer(document: Any, pattern: FlatPattern) -> None:
    cut = on_layer(document, "CUT")
    assert sorted(entity.dxftype() for entity in cut) == ["CIRCLE", "LWPOLYLINE", "LWPOLYLINE"]
    assert all(entity.closed for entity in cut if entity.dxftype() == "LWPOLYLINE")
    outline, slot = (list(entity.get_points("xy")) for entity in cut if entity.dxftype() == "LWPOLYLINE")
    assert outline == [pytest.approx(point) for point in pattern.outline_mm]
    assert shapely.Polygon(slot).bounds == pytest.approx(
        (50.0, pattern.holes[1].centre_mm[1] - 4, 70.0, pattern.holes[1].centre_mm[1] + 4)
    )


def test_what_is_cut_has_the_area_of_the_blank(document: Any, pattern: FlatPattern) -> None:
    """Within 0.01 %, by another program's polygons."""
    outline, *holes = (
        shapely.Polygon(entity.get_points("xy"))
        if entity.dxftype() == "LWPOLYLINE"
        else shapely.Point(entity.dxf.center.x, entity.dxf.center.y).buffer(entity.dxf.radius, quad_segs=256)
        for entity in on_layer(document, "CUT")
    )
    assert outline.area - sum(each.area for each in holes) == pytest.approx(pattern.area_mm2, rel=1e-4)


def test_bend_lines_stand_on_the_layer_of_their_direction(document: Any, pattern: FlatPattern) -> None:
    toward, away = on_layer(document, "BEND-TOWARD"), on_layer(document, "BEND-AWAY")
    assert {entity.dxftype() for entity in (*toward, *away)} == {"LINE"}
    heights = [zone.line_mm[0][1] for zone in pattern.zones]
    assert [line.dxf.start.y for line in toward] == pytest.approx([heights[0], heights[2]])
    assert [line.dxf.start.y for line in away] == pytest.approx([heights[1]])
    for line in (*toward, *away):
        assert (line.dxf.start.x, line.dxf.end.x) == (0.0, 100.0)
        assert line.dxf.start.y == line.dxf.end.y


def test_layers_differ_by_line_type_in_one_neutral_colour(document: Any) -> None:
    layers = [document.layers.get(name) for name in ("CUT", "BEND-TOWARD", "BEND-AWAY")]
    assert len({layer.dxf.linetype.upper() for layer in layers}) == 3
    assert {document.layers.get(name).color for name in ("CUT", "BEND-TOWARD", "BEND-AWAY", "MARK")} == {7}
    assert {entity.dxf.color for entity in document.modelspace()} == {256}  # by layer


def test_the_load_mark_and_the_name_lie_on_the_first_face(document: Any, pattern: FlatPattern) -> None:
    marks = on_layer(document, "MARK")
    assert [entity.dxftype() for entity in marks] == ["LWPOLYLINE", "TEXT"]
    mark, name = marks
    xs, ys = zip(*mark.get_points("xy"), strict=True)
    assert mark.closed and min(xs) > 0 and min(ys) > 0
    assert max(ys) < pattern.flats_mm[0] and max(xs) < 20  # in the datum corner
    assert name.dxf.text == "gauge-foot_00123"
    assert name.dxf.insert.x + len(name.dxf.text) * name.dxf.height < pattern.along_bends_mm
    assert name.dxf.insert.y + name.dxf.height < pattern.flats_mm[0]


@pytest.mark.parametrize(
    ("legs_mm", "length_mm"), [((6.0, 30.0), 12.0), ((4.001, 30.0), 300.0), ((2000.0, 1500.0), 3000.0)]
)
def test_the_mark_stays_on_small_narrow_and_large_blanks(legs_mm: tuple[float, float], length_mm: float) -> None:
    small = blank(part(legs_mm, bend(1), length_mm=length_mm, name="a-rather-long-name-for-a-part"))
    read, auditor = recover.read(io.BytesIO(dxf_bytes(small)))
    assert not auditor.errors
    mark, name = on_layer(read, "MARK")
    xs, ys = zip(*mark.get_points("xy"), strict=True)
    assert 0 < min(xs) < max(xs) < length_mm and 0 < min(ys) < max(ys) < small.developed_mm
    assert name.dxf.height > 0
    assert name.dxf.insert.x + len(name.dxf.text) * name.dxf.height <= length_mm + 1e-9


def test_the_shop_names_the_layers() -> None:
    names = LayerNames(cut="SCHNITT", bend_toward="BIEGEN-HIN", bend_away="BIEGEN-WEG", mark="GRAVUR")
    read, auditor = recover.read(io.BytesIO(dxf_bytes(blank(part((40, 40), bend(1, away=True))), names)))
    assert not auditor.errors and not auditor.fixes
    assert {entity.dxf.layer for entity in read.modelspace()} == {"SCHNITT", "BIEGEN-WEG", "GRAVUR"}


def test_the_same_blank_gives_the_same_bytes(pattern: FlatPattern) -> None:
    assert dxf_bytes(pattern) == dxf_bytes(pattern)


def test_the_bytes_do_not_hang_on_the_process() -> None:
    """Neither on the hour nor on the order in which a process keeps its sets."""
    program = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]);"
        "from made import *; from flangewise.pattern import dxf_bytes;"
        "print(hashlib.sha256(dxf_bytes(blank(part((40, 40), bend(1))))).hexdigest())"
    )
    program = program.replace("from made import *", "from pattern.made import *")
    folder = os.path.dirname(os.path.dirname(__file__))  # noqa: PTH120 - handed to another process as text
    told = {
        subprocess.run(
            [sys.executable, "-c", program, folder],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "4")  # the library told its kinds of object in another order with 4
    }
    assert len(told) == 1


def test_the_library_s_setting_is_put_back(pattern: FlatPattern) -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_bytes(pattern)
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_a_name_of_other_letters_is_written() -> None:
    read, _ = recover.read(io.BytesIO(dxf_bytes(blank(part((40, 40), bend(1), name="Regenmesser-Fuß_Ø")))))
    assert on_layer(read, "MARK")[1].dxf.text == "Regenmesser-Fuß_Ø"
