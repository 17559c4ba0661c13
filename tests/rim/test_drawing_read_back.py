"""The blank's drawing, opened by the library that reads DXF and folded by a few lines, held to the part file."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import ezdxf
import pytest

from ..each import of_each
from .read_back import (
    EXAMPLES,
    NAMES,
    PLAIN,
    WANTED,
    by_heading,
    file_of,
    flats,
    folder,
    in_mm,
    labels,
    mass_kg,
    near_kg,
    out_of,
    printed_length_mm,
    signed_turns_deg,
)

THOUSANDTH_MM = 2e-3


@cache
def drawing(name: str) -> Any:
    """The drawing of an example's blank."""
    out_of("flat", str(EXAMPLES), "--dxf", str(folder() / "dxf"))
    return ezdxf.readfile(folder() / "dxf" / f"{name}.dxf").modelspace()


def bend_lines(name: str) -> list[tuple[float, bool]]:
    """Height of each bend line over the start edge, upward, and whether its line type says toward the marked face."""
    document = drawing(name).doc
    found = []
    for line in drawing(name).query("LINE"):
        kind = document.layers.get(line.dxf.layer).dxf.linetype
        assert line.dxf.start.y == pytest.approx(line.dxf.end.y)
        found.append((line.dxf.start.y, {"BEND_TOWARD": True, "BEND_AWAY": False}[kind]))
    return sorted(found)


def outline(name: str) -> tuple[float, float]:
    """Width and height of the largest closed line on the cutting layer, whose corner is the origin."""
    points = max(([*each.get_points("xy")] for each in drawing(name).query("LWPOLYLINE")), key=_height)
    assert min(x for x, _ in points) == min(y for _, y in points) == 0
    return max(x for x, _ in points), max(y for _, y in points)


def _height(points: list[tuple[float, float]]) -> float:
    return max(y for _, y in points) - min(y for _, y in points)


@of_each(NAMES)
def test_the_drawing_has_the_bends_that_the_blank_has(name: str) -> None:
    lines = sorted(bend["line_mm"] for bend in flats()[name]["bends"])
    assert [height for height, _ in bend_lines(name)] == pytest.approx(lines, abs=THOUSANDTH_MM)
    blank = flats()[name]["blank"]
    assert outline(name) == pytest.approx((blank["along_bends_mm"], blank["developed_mm"]), abs=THOUSANDTH_MM)
    assert outline(name)[0] == pytest.approx(in_mm(name, WANTED[name]["section"]["length"]))


@of_each(PLAIN)
def test_the_folded_drawing_has_the_legs_and_the_ways_of_the_part_file(name: str) -> None:
    """Folded at each line: a flat ends half a zone before it, and outside sizes reach a setback beyond the flat."""
    turns, lines = signed_turns_deg(name), bend_lines(name)
    assert [toward for _, toward in lines] == [turn > 0 for turn in turns]
    radii = [bend["inside_radius_mm"] for bend in flats()[name]["bends"]]
    widths = [bend["zone_mm"][1] - bend["zone_mm"][0] for bend in flats()[name]["bends"]]
    thick = in_mm(name, WANTED[name]["thickness"])
    edges = [0.0, *(y for y, _ in lines), outline(name)[1]]
    reach = [
        0.0,
        *((radius + thick) * math.tan(math.radians(abs(turn)) / 2) for radius, turn in zip(radii, turns, strict=True)),
        0.0,
    ]
    half = [0.0, *(width / 2 for width in widths), 0.0]
    legs = [
        (edges[i + 1] - half[i + 1] + reach[i + 1]) - (edges[i] + half[i] - reach[i]) for i in range(len(edges) - 1)
    ]
    assert legs == pytest.approx([in_mm(name, leg) for leg in WANTED[name]["section"]["legs"]], abs=0.01)


@of_each([name for name in NAMES if WANTED[name]["section"].get("holes")])
def test_the_holes_of_the_drawing_lie_on_their_legs_as_the_part_file_says(name: str) -> None:
    """From the left, and from the leg's edge toward the start: on the first leg that edge is the blank's own."""
    flat, thick = flats()[name], in_mm(name, WANTED[name]["thickness"])
    wanted = []
    for hole in WANTED[name]["section"]["holes"]:
        along, up = (in_mm(name, each) for each in hole["at"])
        if hole["leg"] > 1:
            bend = flat["bends"][hole["leg"] - 2]
            turn = math.radians(bend["turn_deg"])
            up += bend["zone_mm"][1] - (bend["inside_radius_mm"] + thick) * math.tan(turn / 2)
        size = [in_mm(name, each) for each in hole.get("size", [hole.get("diameter")] * 2)]
        wanted.append((along, up, *size))
    space = drawing(name)
    found = [(each.dxf.center.x, each.dxf.center.y, *[each.dxf.radius * 2] * 2) for each in space.query("CIRCLE")]
    cut = space.query("CIRCLE").first.dxf.layer
    for each in space.query("LWPOLYLINE"):
        xs, ys = zip(*each.get_points("xy"), strict=True)
        if each.dxf.layer == cut and min(xs) > 0:
            found.append(((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, max(xs) - min(xs), max(ys) - min(ys)))
    assert len(found) == len(wanted)
    for one, other in zip(sorted(found), sorted(wanted), strict=True):
        assert one == pytest.approx(other, abs=0.01)


@of_each(NAMES)
def test_the_load_mark_is_in_the_datum_corner(name: str) -> None:
    width, height = outline(name)
    marks = [each for each in drawing(name).query("LWPOLYLINE") if len(each) == 3]
    assert len(marks) == 1
    assert all(x < width / 2 and y < height / 2 for x, y in marks[0].get_points("xy"))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_text_of_the_blank_says_under_each_heading_what_the_record_says(name: str, units: str) -> None:
    flat = flats()[name]
    text = out_of("--units", units, "flat", file_of(name))
    close = 0.006 if units == "mm" else 0.0006 * 25.4
    head = labels(text)
    across, along = head["blank"].split("(")[0].split("×")
    assert printed_length_mm(across) == pytest.approx(flat["blank"]["developed_mm"], abs=close)
    assert printed_length_mm(along) == pytest.approx(in_mm(name, WANTED[name]["section"]["length"]), abs=close)
    assert f"({units})" in head["bends"]
    one_mm = 1.0 if units == "mm" else 25.4
    rules = {head["allowance"].removeprefix("by ")}
    for row, bend in zip(by_heading(text, "bend"), flat["bends"], strict=True):
        assert row["bend"] == str(bend["bend"])
        figures = {
            "line": bend["line_mm"],
            "zone from": bend["zone_mm"][0],
            "to": bend["zone_mm"][1],
            "radius": bend["inside_radius_mm"],
            "allowance": bend["allowance_mm"],
            "deduction": bend["deduction_mm"],
        }
        for heading, value in figures.items():
            assert float(row[heading]) * one_mm == pytest.approx(value, abs=close), heading
        assert row["bent"] == ("toward" if bend["toward"] else "away")
        assert (
            rules == {bend["allowance_from"]} or f"{bend['allowance_from']} (bend {row['bend']})" in head["allowance"]
        )


@of_each(NAMES)
def test_area_and_mass_follow_from_the_blank_and_its_holes(name: str) -> None:
    flat, gone = flats()[name]["blank"], 0.0
    for hole in WANTED[name]["section"].get("holes", ()):
        if "diameter" in hole:
            gone += math.pi * in_mm(name, hole["diameter"]) ** 2 / 4
        else:
            gone += in_mm(name, hole["size"][0]) * in_mm(name, hole["size"][1])
    assert flat["area_mm2"] == pytest.approx(flat["developed_mm"] * flat["along_bends_mm"] - gone, rel=1e-6)
    # Steel 7.85 (stainless 7.9), aluminium 2.66 to 2.7 kg/dm3: common figures, from memory.
    density = flat["mass_kg"] * 1e6 / (flat["area_mm2"] * in_mm(name, WANTED[name]["thickness"]))
    low, high = (2.6, 2.8) if str(WANTED[name]["material"])[:4] in ("5754", "6082") else (7.8, 8.0)
    assert low < density < high
    text = labels(out_of("flat", file_of(name)))
    assert text["mass"].endswith("kg") and mass_kg(text["mass"]) == pytest.approx(
        flat["mass_kg"], abs=near_kg(flat["mass_kg"])
    )
    assert float(text["area"].split()[0]) == pytest.approx(flat["area_mm2"], abs=0.6)
