"""Figures of panels derived by hand, read off the blank and off the part folded up."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache
from typing import Any

from flangewise import part, shop
from flangewise.geometry import Edge
from flangewise.part.file import part_of
from flangewise.pattern import PanelBlank, lay_out_panel
from flangewise.pattern.folded import folded
from flangewise.reading import read_yaml

from .source import Row

SQUARE = "{turn: 90, k_factor: 0.42}"
AWAY = "{turn: 90, away: true, k_factor: 0.42}"
# Panels as they are written; the sheet is 2 mm with an inside radius of 2, of trays 1.5 with 1.5.
PANELS = {
    "pan": f"{{base: [300, 200], flanges: {{all: {{height: 40, bend: {SQUARE}}}}}}}",
    "round-pan": f"{{base: [300, 200], corners: {{relief: round}}, flanges: {{all: {{height: 40, bend: {SQUARE}}}}}}}",
    "closed-tray": "{base: [240, 160], corners: {kind: closed, gap: 0.3}, flanges: "
    f"{{all: {{height: 30, bend: {SQUARE}}}}}}}",
    "lapped-tray": '{base: [240, 160], corners: {kind: lapped, over: "near, far", gap: 0.3}, flanges: '
    f"{{all: {{height: 30, bend: {SQUARE}}}}}}}",
    "box": "{base: [300, 200], corners: closed, flanges: "
    f"{{all: {{height: 40, bend: {SQUARE}, tip: {{height: 15, bend: {SQUARE}, ends: mitre, gap: 1}}}}}}}}",
    **{
        f"box-mitre-0{gap * 100:.0f}": "{base: [300, 200], corners: closed, flanges: {all: "
        f"{{height: 40, bend: {SQUARE}, tip: {{height: 15, bend: {SQUARE}, ends: mitre, gap: {gap}}}}}}}}}"
        for gap in (0.85, 0.95)
    },
    "tabs": "{base: [260, 140], flanges: {"
    f"near: [{{height: 25, bend: {SQUARE}, from: 20, to: 70}}, {{height: 25, bend: {SQUARE}, from: 110, to: 150}}, "
    f"{{height: 25, bend: {AWAY}, from: 190, to: 240}}], left: {{height: 30, bend: {SQUARE}}}, "
    f"far: {{height: 30, bend: {SQUARE}, inset: [0, 10]}}}}}}",
    "hopper": "{base: [300, 200], corners: {kind: closed, gap: 0}, flanges: "
    "{all: {height: 80, bend: {turn: 60, k_factor: 0.42}}}}",
    "ell": "{base: {outline: [[0, 0], [200, 0], [200, 80], [80, 80], [80, 200], [0, 200]]}, flanges: {"
    f'"edge 1, edge 6": {{height: 25, bend: {SQUARE}}}, edge 5: {{height: 22, bend: {SQUARE}}}, '
    f"edge 3: {{height: 30, bend: {SQUARE}, inset: [0, 10]}}, "
    f"edge 2: {{height: 20, bend: {AWAY}, from: 8, to: 55}}}}}}",
    "ell-overlapping": "{base: {outline: [[0, 0], [200, 0], [200, 80], [80, 80], [80, 200], [0, 200]]}, flanges: "
    f'{{"edge 3, edge 4": {{height: 35, bend: {SQUARE}}}}}}}',
}


@cache
def example_shop() -> shop.Shop:
    """The built-in example shop."""
    return shop.load_shop()


@cache
def panel(name: str) -> part.PanelPart:
    """A panel of the table as a part."""
    thickness = 1.5 if "tray" in name else 2
    return panel_of(PANELS[name], thickness=thickness)


def panel_of(text: str, *, thickness: float = 2) -> part.PanelPart:
    """A panel from what stands at `panel:`."""
    whole = f"part: p\nmaterial: DC01\nthickness: {thickness}\npanel: {text}\n"
    found = part_of(read_yaml(whole, "p.yaml"), "p.yaml", example_shop())
    assert isinstance(found, part.PanelPart)
    return found


def blank_of(wanted: part.PanelPart, radius_mm: float | None = None) -> PanelBlank:
    """Its blank, every bend with the same inside radius: the thickness, unless another is given."""
    radius = wanted.thickness_mm if radius_mm is None else radius_mm
    return lay_out_panel(wanted, example_shop(), radii_mm={bend.number: radius for bend in wanted.panel.bends})


@cache
def blank(name: str) -> PanelBlank:
    """The blank of a panel of the table."""
    return blank_of(panel(name))


def _edge(row: Row) -> Edge:
    """The edge of the base that a row's flange hangs on, or what it hangs on hangs on."""
    wanted = panel(row.text("panel")).panel
    at = wanted.edges.index(row.text("face").split(".")[0])
    ring = (*wanted.ring_mm, wanted.ring_mm[0])
    return Edge(ring[at], ring[at + 1])


def _face(row: Row, name: str | None = None) -> Any:
    wanted = name or row.text("face")
    return next(face for face in blank(row.text("panel")).faces if face.name == wanted)


def _zone(row: Row) -> Any:
    number = _face(row).number
    return next(zone for zone in blank(row.text("panel")).zones if zone.face_to == number)


def _places(row: Row) -> list[tuple[float, float]]:
    return [_edge(row).place_of(point) for point in _face(row).outline_mm]


def _tip(row: Row) -> list[float]:
    """How far along its edge the corners of a flange's tip lie."""
    places = _places(row)
    most = max(v for _, v in places)
    return sorted(u for u, v in places if v > most - 1e-6)


def _line(row: Row) -> list[float]:
    return sorted(_edge(row).place_of(point)[0] for point in _zone(row).line_mm)


def _in_space(name: str, face: Any, point: tuple[float, float], up_mm: float) -> Any:
    return folded(blank(name)).folded_mm(face.number, [point], up_mm=up_mm)[0]


def _tip_height(row: Row) -> float:
    """The outer skin's tip over the outer skin of the base."""
    name, face = row.text("panel"), _face(row)
    half = blank(name).thickness_mm / 2
    highest = max(_in_space(name, face, point, -half)[2] for point in face.outline_mm)
    return float(highest + half)


def _outer_skin_y(row: Row) -> float:
    name, face = row.text("panel"), _face(row)
    return float(_in_space(name, face, face.outline_mm[0], -blank(name).thickness_mm / 2)[1])


def _inner_gap(row: Row) -> float:
    """Between the inner edges of two flanges at the tip, where they come nearest."""
    name = row.text("panel")
    half = blank(name).thickness_mm / 2
    one, other = (_face(row, each) for each in row.text("face").split())
    mine, its = ([_in_space(name, face, point, half) for point in face.outline_mm] for face in (one, other))
    return min(math.dist(a, b) for a in mine for b in its)


def _overlap(row: Row) -> tuple[float, float]:
    told = [each for each in blank(row.text("panel")).findings if each.code == "faces-overlap-flat"]
    said = re.search(r"by ([\d.]+) mm × ([\d.]+) mm", told[0].text())
    assert said
    return float(said.group(1)), float(said.group(2))


def _area(row: Row) -> float:
    return blank(row.text("panel")).area_mm2


PANEL_ANSWERS: dict[str, Callable[[Row], float]] = {
    "blank_along": lambda row: blank(row.text("panel")).along_mm,
    "blank_across": lambda row: blank(row.text("panel")).across_mm,
    "area": _area,
    "bend_line": lambda row: math.dist(*_zone(row).line_mm),
    "line_from_edge": lambda row: abs(blank(row.text("panel")).corner_mm[1] - _zone(row).line_mm[0][1]),
    "line_from": lambda row: _line(row)[0],
    "line_to": lambda row: _line(row)[-1],
    "face_from": lambda row: min(u for u, _ in _places(row)),
    "face_to": lambda row: max(u for u, _ in _places(row)),
    "face_width": lambda row: max(u for u, _ in _places(row)) - min(u for u, _ in _places(row)),
    "tip_from": lambda row: _tip(row)[0],
    "tip_to": lambda row: _tip(row)[-1],
    "outline_off": lambda row: min(
        math.dist(point, (row.mm("x"), row.mm("y"))) for point in blank(row.text("panel")).outline_mm
    ),
    "tip_height": _tip_height,
    "outer_skin_y": _outer_skin_y,
    "inner_gap": _inner_gap,
    "overlap_along": lambda row: _overlap(row)[0],
    "overlap_across": lambda row: _overlap(row)[1],
}
