"""Laws of panels: the walk against a union of pieces, folding, mirrors, a section written as a panel, DXF read back.

Of two hundred random panels the suite takes a share.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely

from flangewise.geometry import Point
from flangewise.part import PanelPart, read_part
from flangewise.pattern import BendZone, PanelBlank, dxf_bytes, lay_out
from flangewise.pattern.folded import folded
from flangewise.pattern.panel_checks import strip_mm

from ..how_many import one_in
from .panels import laid_out, panel, written
from .sections import shop

GRID_MM = 1e-5
SEEDS = range(0, 200, one_in(10))
# Random panels whose bends leave no blank, or whose flanges lie over each other flat, have no area to compare.
LEAST_SOUND_SHARE = 0.5


@cache
def made(seed: int) -> tuple[PanelPart, PanelBlank | None]:
    part = panel(written(seed))
    return part, laid_out(part)


def sound(seed: int) -> PanelBlank | None:
    """The blank of a random panel, where it has one whose pieces do not overlap."""
    blank = made(seed)[1]
    if blank is None or any(finding.code == "faces-overlap-flat" for finding in blank.findings):
        return None
    return blank


def union_mm2(blank: PanelBlank) -> float:
    """The area of all pieces together, by set operations on a grid; holes are in no piece."""
    pieces = [shapely.Polygon(face.outline_mm) for face in blank.faces]
    pieces += [shapely.Polygon(strip_mm(zone)) for zone in blank.zones]
    return float(shapely.union_all(pieces, grid_size=GRID_MM).area)


def test_most_random_panels_have_a_blank() -> None:
    found = [sound(seed) is not None for seed in SEEDS]
    assert sum(found) >= LEAST_SOUND_SHARE * len(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_walk_encloses_what_all_pieces_cover(seed: int) -> None:
    blank = sound(seed)
    if blank is None:
        pytest.skip("no blank to compare")
    perimeter_mm = shapely.Polygon(blank.outline_mm).length
    assert blank.area_mm2 == pytest.approx(union_mm2(blank), abs=GRID_MM * perimeter_mm)
    if all(finding.code != "relief-missing" for finding in blank.findings):
        assert shapely.Polygon(blank.outline_mm).is_valid


@pytest.mark.parametrize("seed", SEEDS)
def test_faces_folded_and_unfolded_lie_where_they_lay(seed: int) -> None:
    blank = made(seed)[1]
    if blank is None:
        pytest.skip("no blank to fold")
    fold = folded(blank)
    back = [
        fold.frames[face.number].inverse().place(fold.folded_mm(face.number, face.outline_mm)) for face in blank.faces
    ]
    assert len(back) > 1
    for face, there in zip(blank.faces, back, strict=True):
        assert there[:, :2] == pytest.approx(np.array(face.outline_mm), abs=1e-9)
        assert there[:, 2] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_finished_flange_stands_its_height_over_its_mould_line(seed: int) -> None:
    """Up to 90 degrees: the outer skin's tip lies height x sin(turn) over the outer skin of the face it hangs on."""
    part, blank = made(seed)
    if blank is None or part.panel.sizes == "inside":
        pytest.skip("no blank, or sized to the inside")
    fold = folded(blank)
    faces = {face.number: face for face in blank.faces}
    looked_at = [each for each in part.panel.flanges if each.bend.turn_deg <= 90 and not each.flanges]
    if not looked_at:
        pytest.skip("every flange is turned further, or carries another")
    assert looked_at
    for flange in looked_at:
        side = -1.0 if flange.bend.away else 1.0
        outer = -side * blank.thickness_mm / 2
        there = fold.folded_mm(flange.number, faces[flange.number].outline_mm, up_mm=outer)
        heights = side * there[:, 2] + blank.thickness_mm / 2
        assert max(heights) == pytest.approx(flange.tip_mm * math.sin(math.radians(flange.bend.turn_deg)), abs=1e-6)


def mirrored(data: dict[str, Any]) -> dict[str, Any]:
    """The same panel seen in a mirror that swaps left and right."""
    panel = dict(data["panel"])
    base = panel["base"]
    if isinstance(base, dict):
        pytest.skip("a rectangle is mirrored by its names")
    swap = {"left": "right", "right": "left"}
    panel["flanges"] = {swap.get(edge, edge): _mirrored(each, base, edge) for edge, each in panel["flanges"].items()}
    return {**data, "panel": panel}


def _mirrored(value: Any, base: list[float], edge: str) -> Any:
    if isinstance(value, list):
        return [_mirrored(each, base, edge) for each in value]
    flange = dict(value)
    length = base[0] if edge in ("near", "far") else base[1]
    if "from" in flange:
        flange["from"], flange["to"] = length - flange["to"], length - flange["from"]
    if "inset" in flange:
        flange["inset"] = flange["inset"][::-1]
    if "tip" in flange:
        flange["tip"] = _mirrored(flange["tip"], base, "")
    return flange


@pytest.mark.parametrize("seed", SEEDS)
def test_a_mirrored_panel_has_the_mirrored_blank(seed: int) -> None:
    part, blank = made(seed)
    if blank is None or part.panel.edges[0] != "near":
        pytest.skip("no blank, or no rectangle")
    other = laid_out(panel(mirrored(written(seed))))
    assert other is not None
    wide_mm = max(x for x, _ in part.panel.ring_mm)
    assert other.area_mm2 == pytest.approx(blank.area_mm2, abs=1e-6)
    flipped = [(wide_mm - x, y) for x, y in blank.outline_mm]
    assert _key(other.outline_mm) == _key(flipped)
    codes = sorted(finding.code for finding in blank.findings)
    assert sorted(finding.code for finding in other.findings) == codes


def _key(points: Any) -> list[Point]:
    return sorted((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in points)


SECTION = """\
part: p
material: DC01
thickness: {t}
section: {{length: {length}, legs: [{a}, {b}, {c}], bends: [{first}, {second}], radius: {r}, holes: {holes}}}
"""
AS_PANEL = """\
part: p
material: DC01
thickness: {t}
panel: {{base: [{length}, {a}], radius: {r}, holes: {panel_holes},
  flanges: {{far: {{height: {b}, bend: {first}, tip: {{height: {c}, bend: {second}}}}}}}}}
"""
CHAINS = [
    {"t": 2, "length": 180, "a": 25, "b": 60, "c": 25, "first": "90", "second": "-90", "r": 2},
    {"t": 1.5, "length": 320, "a": 40, "b": 70, "c": 19, "first": "90", "second": "90", "r": 1.2},
    {"t": 3, "length": 90, "a": 44, "b": 50, "c": 30, "first": "{turn: 120}", "second": "{included: 135}", "r": 4},
    {"t": 1, "length": 60, "a": 22, "b": 30, "c": 18, "first": "{turn: 30, away: true}", "second": "90", "r": 0.5},
]


@pytest.mark.parametrize("chain", CHAINS, ids=lambda chain: f"{chain['first']} {chain['second']}")
def test_a_section_written_as_a_panel_has_the_same_blank_and_the_same_drawing(chain: dict[str, Any]) -> None:
    holes = "[{leg: 1, at: [20, 10], diameter: 4}, {leg: 2, at: [30, 20], size: [9, 5]}]"
    # Across the base and a far flange a place is told from the base's side: its u runs from the right.
    along = chain["length"] - 30
    panel_holes = f"[{{at: [20, 10], diameter: 4}}, {{face: far, at: [{along}, 20], size: [9, 5]}}]"
    section = read_part(SECTION.format(**chain, holes=holes), "p.yaml", shop())
    as_panel = panel_text(AS_PANEL.format(**chain, panel_holes=panel_holes))
    radii_mm = {1: chain["r"], 2: chain["r"]}
    plain, tree = lay_out(section, shop(), radii_mm=radii_mm), laid_out(as_panel)
    assert tree is not None
    assert (tree.across_mm, tree.along_mm) == pytest.approx((plain.developed_mm, plain.along_bends_mm), abs=1e-9)
    assert (tree.area_mm2, tree.mass_kg) == pytest.approx((plain.area_mm2, plain.mass_kg), abs=1e-6)
    assert [zone.line_mm for zone in tree.zones] == [
        tuple(pytest.approx(end, abs=1e-9) for end in zone.line_mm) for zone in plain.zones
    ]
    assert [finding.code for finding in tree.findings] == [finding.code for finding in plain.findings]
    one, other = drawn(dxf_bytes(plain)), drawn(dxf_bytes(tree))
    assert [kind for kind, _ in one] == [kind for kind, _ in other]
    assert len(one) >= 7
    for (_, its), (_, theirs) in zip(one, other, strict=True):
        assert its == pytest.approx(theirs, abs=1e-9)


def panel_text(text: str) -> PanelPart:
    from flangewise.part.file import part_of
    from flangewise.reading import read_yaml

    found = part_of(read_yaml(text, "p.yaml"), "p.yaml", shop())
    assert isinstance(found, PanelPart)
    return found


def drawn(raw: bytes) -> list[tuple[tuple[str, str], list[float]]]:
    """The entities of a drawing with their layers and numbers, sorted."""
    found = []
    for entity in ezdxf.read(io.StringIO(raw.decode())).modelspace():
        kind = (entity.dxftype(), entity.dxf.layer)
        if kind[0] == "LWPOLYLINE":
            points = sorted((round(x, 9), round(y, 9), b) for x, y, b in entity.get_points("xyb"))
            found.append((kind, [number for point in points for number in point]))
        elif kind[0] == "LINE":
            found.append((kind, [*entity.dxf.start, *entity.dxf.end]))
        elif kind[0] == "CIRCLE":
            found.append((kind, [*entity.dxf.center, entity.dxf.radius]))
        else:
            found.append((kind, [*entity.dxf.insert, entity.dxf.height]))
    return sorted(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_drawing_read_back_is_cut_and_bent_alike(seed: int) -> None:
    """Outline and bend lines are read back by their layers, and the part that they fold to stands where ours does.

    Which face lies on which side of a line is found from the drawing: the line is carried outward through the zone.
    """
    blank = made(seed)[1]
    if blank is None or any(finding.severity == "refuse" for finding in blank.findings):
        pytest.skip("no blank that is made")
    document = ezdxf.read(io.StringIO(dxf_bytes(blank).decode()))
    assert document.audit().has_errors is False
    space = document.modelspace()
    (outline,) = [each for each in space.query("LWPOLYLINE") if each.dxf.layer == "CUT"]
    assert outline.closed
    ring = shapely.Polygon([(x, y) for x, y in outline.get_points("xy")])
    assert ring.area == pytest.approx(blank.area_mm2, abs=1e-6)
    lines = list(space.query("LINE"))
    toward = [each.dxf.layer == "BEND-TOWARD" for each in lines]
    read = _as_read(blank, [(each.dxf.start.vec2, each.dxf.end.vec2) for each in lines], toward)
    ours, theirs = folded(blank), folded(read)
    assert len(blank.faces) > 1
    for face in blank.faces:
        there = theirs.folded_mm(face.number, face.outline_mm)
        assert there == pytest.approx(ours.folded_mm(face.number, face.outline_mm), abs=1e-6)


def _as_read(blank: PanelBlank, lines: list[Any], toward: list[bool]) -> PanelBlank:
    """The blank with its zones from the drawing: the line, its direction and its layer; turn and allowance as known."""
    zones: list[BendZone] = []
    assert len(lines) == len(blank.zones)
    for zone, (start, end), up in zip(blank.zones, lines, toward, strict=True):
        zones.append(replace(zone, line_mm=((start.x, start.y), (end.x, end.y)), toward=up))
    return replace(blank, zones=tuple(zones))
