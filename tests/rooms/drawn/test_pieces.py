"""Every kind of line through one reader; blocks taken apart; what is no line, or not flat, is told."""

from __future__ import annotations

import math
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from flangewise.drawn import Undrawn, read_drawing

from .made import CUT, LINE, SQUARE, TOWARD, drawing, faults, on, read, texts, written

# A cut-out drawn in one way, and its area in closed form.
CUTOUTS: dict[str, tuple[Any, float]] = {
    "circle": (lambda space: space.add_circle((80, 40), 10, **on(CUT)), math.pi * 100),
    "two arcs": (
        lambda space: [space.add_arc((80, 40), 10, *span, **on(CUT)) for span in ((0, 180), (180, 360))],
        math.pi * 100,
    ),
    "polyline with bulges": (
        lambda space: space.add_lwpolyline(
            [(70, 30, 0), (90, 30, 1), (90, 50, 0), (70, 50, 1)], format="xyb", close=True, **on(CUT)
        ),
        400 + math.pi * 100,
    ),
    "old polyline": (
        lambda space: space.add_polyline2d([(70, 30), (90, 30), (90, 50), (70, 50)], close=True, **on(CUT)),
        400.0,
    ),
    "polyline in space": (
        lambda space: space.add_polyline3d([(70, 30, 0), (90, 30, 0), (90, 50, 0)], close=True, **on(CUT)),
        200.0,
    ),
    "ellipse": (lambda space: space.add_ellipse((80, 40), (20, 0), 0.5, **on(CUT)), math.pi * 200),
    # Closed by a line. A parabola over a chord of 20 whose control point lies 20 high rises 10: two thirds of that box.
    "spline": (
        lambda space: [
            space.add_open_spline([(70, 30), (80, 50), (90, 30)], degree=2, **on(CUT)),
            space.add_line((70, 30), (90, 30), **on(CUT)),
        ],
        2 / 3 * 20 * 10,
    ),
}


@pytest.mark.parametrize("name", CUTOUTS)
def test_every_kind_of_line_makes_a_cutout(name: str, tmp_path: Path) -> None:
    draw, area_mm2 = CUTOUTS[name]
    blank = read(drawing(LINE, more=draw), tmp_path)
    (cutout,) = blank.cutouts_mm
    # Drawn out to 0.01 mm: the area is short by less than that all around.
    around_mm = sum(math.dist(one, other) for one, other in zip(cutout, (*cutout[1:], cutout[0]), strict=True))
    assert 9600.0 - blank.area_mm2 == pytest.approx(area_mm2, abs=0.0101 * around_mm)
    assert len(blank.faces[0].cutouts_mm) == 1


@pytest.mark.parametrize("radius_mm", [3.0, 500.0])
def test_a_circle_is_drawn_out_to_a_hundredth(radius_mm: float, tmp_path: Path) -> None:
    """Every point is on the circle, and no chord is further from it: r - sqrt(r^2 - (chord/2)^2)."""
    plate = ((-600.0, -600.0), (600.0, -600.0), (600.0, 700.0), (-600.0, 700.0))
    line = ((-600.0, 650.0), (600.0, 650.0), TOWARD)
    document = drawing(line, outline=plate, more=lambda space: space.add_circle((0, 0), radius_mm, **on(CUT)))
    (ring,) = read(document, tmp_path).cutouts_mm
    assert max(abs(math.hypot(*point) - radius_mm) for point in ring) < 1e-4
    longest_mm = max(math.dist(one, other) for one, other in zip(ring, (*ring[1:], ring[0]), strict=True))
    assert radius_mm - math.sqrt(radius_mm**2 - longest_mm**2 / 4) < 0.0101


def test_a_block_is_taken_apart_and_its_layer_0_is_its_references(tmp_path: Path) -> None:
    """A hole of 5 x 5 on layer 0 in a block, put in twice as large in a grid of two, by a block that is turned."""
    document = drawing(LINE)
    inner = document.blocks.new("HOLE")
    inner.add_lwpolyline([(0, 0), (5, 0), (5, 5), (0, 5)], close=True)
    inner.add_line((0, 0), (1, 1), **on("NOTES"))
    outer = document.blocks.new("HOLES")
    grid = {"xscale": 2, "yscale": 2, "column_count": 2, "column_spacing": 20, "layer": "0"}
    outer.add_blockref("HOLE", (0, 0), dxfattribs=grid)
    document.modelspace().add_blockref("HOLES", (70, 20), dxfattribs={"layer": CUT, "rotation": 90})
    blank = read(document, tmp_path)
    corners = [sorted(ring) for ring in blank.cutouts_mm]
    assert [tuple(map(round, corner)) for ring in corners for corner in ring] == [
        *((60, 20), (60, 30), (70, 20), (70, 30)),
        *((60, 40), (60, 50), (70, 40), (70, 50)),
    ]
    assert blank.area_mm2 == pytest.approx(9400.0, abs=1e-6)
    assert texts(blank.findings) == ["entities on other layers were left out, 2 in all: NOTES (2)"]


def test_a_stretched_block_turns_circles_into_ellipses(tmp_path: Path) -> None:
    document = drawing(LINE)
    document.blocks.new("HOLE").add_circle((0, 0), 5)
    document.modelspace().add_blockref("HOLE", (80, 40), dxfattribs={"layer": CUT, "xscale": 2, "yscale": -1})
    assert 9600.0 - read(document, tmp_path).area_mm2 == pytest.approx(math.pi * 50, abs=0.5)


def test_blocks_in_themselves_and_in_many_are_bounded(tmp_path: Path) -> None:
    document = drawing(LINE)
    document.blocks.new("SELF").add_blockref("SELF", (1, 1))
    document.modelspace().add_blockref("SELF", (0, 0))
    told = "block references are nested more than 16 deep. Explode them before writing out"
    assert texts(faults(document, tmp_path)) == [told]
    document = drawing(LINE)
    document.blocks.new("B0").add_point((0, 0))
    grid = {"column_count": 100, "column_spacing": 1, "row_count": 100, "row_spacing": 1}
    for depth in range(1, 4):
        document.blocks.new(f"B{depth}").add_blockref(f"B{depth - 1}", (0, 0), dxfattribs=grid)
    document.modelspace().add_blockref("B3", (0, 0))
    # A million holes in three references: stopped by a clock that goes on a second at each look, at each entity.
    with pytest.raises(Undrawn) as stopped:
        read_drawing(written(document, tmp_path), SQUARE, longest_s=1_000.0, clock=map(float, count()).__next__)
    assert [each.code for each in stopped.value.findings] == ["drawn-slow"]


def test_what_is_no_line_is_told_with_its_place(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_point((3, 4), **on(CUT))
        space.add_text("7", dxfattribs={"layer": CUT, "insert": (5, 6)})
        space.add_solid([(0, 0), (1, 0), (0, 1)], **on(TOWARD))

    kinds = "is no line, arc, circle, polyline, ellipse or spline"
    assert texts(faults(drawing(LINE, more=more), tmp_path)) == [
        f"(3 mm, 4 mm): POINT on CUT {kinds}",
        f"(5 mm, 6 mm): TEXT on CUT {kinds}",
        f"(0 mm, 0 mm): SOLID on BEND-TOWARD {kinds}",
    ]


def test_what_leaves_the_plane_or_lies_far_out_is_told(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_line((10, 10, 0), (20, 10, 0.02), **on(CUT))
        space.add_circle((50, 50), 5, dxfattribs={"layer": CUT, "extrusion": (1, 0, 0)})
        space.add_line((0, 0), (3e4, 0), **on(CUT))

    found = texts(faults(drawing(LINE, more=more), tmp_path))
    assert found[0] == "(20 mm, 10 mm): LINE lies 0.02 mm off the plane. Draw it flat"
    assert found[1].startswith("(") and "CIRCLE lies" in found[1]
    assert found[2] == "LINE reaches over 20000 mm from the origin. Move the blank there, or mend the unit"
    assert read(drawing(LINE, more=lambda s: s.add_line((1, 1, 9), (2, 2, 9), **on("NOTES"))), tmp_path).lines


def test_a_mirrored_plane_is_still_the_plane(tmp_path: Path) -> None:
    """Drawn from behind, x runs the other way: a circle at -80 stands at 80."""
    behind = {"layer": CUT, "extrusion": (0, 0, -1)}
    blank = read(drawing(LINE, more=lambda space: space.add_circle((-80, 40), 10, dxfattribs=behind)), tmp_path, SQUARE)
    assert max(x for x, _ in blank.cutouts_mm[0]) == pytest.approx(90.0, abs=0.01)
