"""A panel in a part file: what it is read to, and every fault of it with its place."""

from __future__ import annotations

import json
from typing import Any

import pytest

from flangewise.faults import Unusable
from flangewise.part import PanelPart, WantedFlange, part_schema, read_part
from flangewise.part.file import part_of
from flangewise.part.schema import keys_at
from flangewise.reading import read_yaml

from .made import shop

HEAD = "part: p\nmaterial: DC01\nthickness: 2\n"
COVER = """\
panel:
  base: [300, 200]
  radius: 2
  corners: closed
  flanges:
    near, far: {height: 40, bend: 90, tip: {height: 15, bend: 90, ends: mitre}}
    left, right: {height: 30, bend: {turn: 60, away: true}}
  holes:
    - {face: base, at: [150, 100], diameter: 60}
    - {face: far.tip, at: [20, 5], size: [12, 6]}
"""


def read(text: str) -> PanelPart:
    found = part_of(read_yaml(HEAD + text, "p.yaml"), "p.yaml", shop())
    assert isinstance(found, PanelPart)
    return found


def read_inch(text: str) -> PanelPart:
    head = HEAD.replace("thickness: 2", "thickness: 2mm\nunits: inch")
    found = part_of(read_yaml(head + text, "p.yaml"), "p.yaml", shop())
    assert isinstance(found, PanelPart)
    return found


def faults(text: str) -> list[str]:
    """The faults' lines, without the file's name."""
    with pytest.raises(Unusable) as unusable:
        read(text)
    return [fault.text.removeprefix("p.yaml:") for fault in unusable.value.faults]


def of(flanges: str, more: str = "", base: str = "[300, 200]") -> str:
    return f"panel:\n  base: {base}\n{more}  flanges: {flanges}\n"


def flange(part: PanelPart, face: str) -> WantedFlange:
    return next(each for each in part.panel.all_flanges() if each.face == face)


def test_bends_count_in_the_order_of_the_file_a_flange_before_what_hangs_on_it() -> None:
    part = read(COVER.replace("corners: closed", "corners: open"))
    named = [(each.bend.number, each.face, each.number) for each in part.panel.all_flanges()]
    assert named == [
        (1, "near", 2), (2, "near.tip", 3), (3, "far", 4), (4, "far.tip", 5), (5, "left", 6), (6, "right", 7),
    ]  # fmt: skip
    assert [hole.leg for hole in part.panel.holes] == [1, 5]
    assert flange(part, "left").bend.signed_turn_deg == -60


def test_all_is_what_no_other_key_names_counterclockwise_from_near() -> None:
    part = read(of("{left: {height: 20, bend: 90}, all: {height: 30, bend: 90}}"))
    assert [(each.face, each.height_mm) for each in part.panel.flanges] == [
        ("left", 20), ("near", 30), ("right", 30), ("far", 30),
    ]  # fmt: skip


def test_tabs_of_one_edge_are_numbered_unless_they_have_names() -> None:
    tabs = "{near: [{height: 9, bend: 90, from: 5, to: 20}, {height: 9, bend: 90, from: 40, to: 60, name: foot}]}"
    part = read(of(tabs))
    assert [(each.face, each.from_mm, each.to_mm) for each in part.panel.flanges] == [
        ("near.1", 5, 20), ("foot", 40, 60),
    ]  # fmt: skip


def test_lengths_are_in_the_file_s_units() -> None:
    part = read_inch(of("{near: {height: 1, bend: 90, inset: [0.5, 10mm]}}", base="[10, 8]"))
    (near,) = part.panel.flanges
    assert (near.height_mm, near.from_mm, near.inset_mm) == (25.4, 12.7, 10.0)
    assert part.panel.ring_mm[2] == (254.0, 203.2)


def test_an_outline_has_edges_by_number_or_by_name() -> None:
    base = "{outline: [[0, 0], [100, 0], [100, 80, 6], [0, 80]], names: [lip, a, b, c]}"
    part = read(of("{lip: {height: 20, bend: 90}}", base=base))
    assert part.panel.edges == ("lip", "a", "b", "c")
    assert part.panel.radii_mm == (0, 0, 6, 0)
    numbered = read(of("{edge 2: {height: 20, bend: 90}}", base="{outline: [[0, 0], [100, 0], [100, 80], [0, 80]]}"))
    assert numbered.panel.flanges[0].edge == "edge 2"


def test_a_shape_has_edges_on_which_others_hang() -> None:
    shape = "[[10, 0], [10, 30], [60, 30], [90, 0]]"
    part = read(of(f"{{near: {{shape: {shape}, bend: 90, edge 2: {{height: 12, bend: 90}}}}}}"))
    near, tip = part.panel.all_flanges()
    assert (near.from_mm, near.to_mm, near.edges) == (10, 90, ("edge 1", "edge 2", "edge 3"))
    assert (tip.face, tip.on, tip.edge) == ("near.edge 2", "near", "edge 2")


def test_corners_are_all_alike_or_named_from_either_side() -> None:
    flanges = "{all: {height: 30, bend: 90}}"
    part = read(of(flanges, "  corners: {each: closed, left/near: {kind: lapped, over: near, gap: 0.3}}\n"))
    named = part.panel.corner("near", "left")
    assert (named.kind, named.over, named.gap_mm) == ("lapped", ("near",), 0.3)
    assert part.panel.corner("near", "right").kind == "closed"
    relieved = read(of(flanges, "  corners: {relief: {round: 5}}\n")).panel.every_corner
    assert (relieved.kind, relieved.relief.kind, relieved.relief.size_mm) == ("open", "round", 5)


def test_tolerances_are_one_figure_or_one_a_face() -> None:
    near = of("{near: {height: 30, bend: 90}}")
    assert read(near + "tolerances: {angle: 1, legs: 0.2}\n").tolerances.legs_mm == (0.2,)
    by_face = read(near + "tolerances: {legs: {near: 0.1}}\n").tolerances
    assert (by_face.legs_mm, by_face.faces_mm) == (None, {"near": 0.1})


def test_a_machine_named_stands_alone() -> None:
    part = read("machine: bench-310\n" + of("{near: {height: 30, bend: 90}}"))
    assert (part.machine, part.machines) == ("bench-310", ())


FAULTS = {
    "edge": (
        of("{nearr: {height: 20, bend: 90}}"),
        ["6:13: nearr: no edge 'nearr', did you mean 'near'? its edges are near, right, far, left"],
    ),
    "edge of a flange": (
        of("{near: {shape: [[0, 0], [0, 20], [20, 0]], bend: 90, tip: {height: 9, bend: 90}}}"),
        ["6:65: near: tip: near has no edge 'tip', its edges are edge 1, edge 2"],
    ),
    "neither height nor shape": (
        of("{near: {bend: 90}}"),
        ["6:19: near: has neither height nor shape, give one of them"],
    ),
    "height and shape": (
        of("{near: {height: 9, shape: [[0, 0], [0, 20], [20, 0]], bend: 90}}"),
        ["6:19: near: has both height and shape, give one of them"],
    ),
    "from 90 to 60": (
        of("{near: {height: 9, bend: 90, from: 90, to: 60}}"),
        ["6:19: near: goes from 90 mm to 60 mm, its right end is further from the left"],
    ),
    "beyond the edge": (
        of("{left: {height: 9, bend: 90, from: 90, to: 260}}"),
        ["6:19: left: goes from 90 mm to 260 mm, beyond the edge, the edge is 200 mm long"],
    ),
    "tabs overlap": (
        of("{near: [{height: 9, bend: 90, from: 20, to: 70}, {height: 9, bend: 90, from: 60, to: 90}]}"),
        ["6:61: near 2: overlaps near.1 from 60 mm to 70 mm on near, move one of them"],
    ),
    "closed, one flange": (
        of("{near: {height: 20, bend: 90}}", "  corners: {near/left: closed}\n"),
        ["6:24: corners: near/left: closed needs two flanges bent alike at an outer corner, write open"],
    ),
    "closed, two turns": (
        of("{near: {height: 20, bend: 90}, left: {height: 20, bend: {turn: 60}}}", "  corners: closed\n"),
        ["6:12: corners: left/near: closed needs two flanges bent alike at an outer corner, write open"],
    ),
    "lapped, not square": (
        of("{all: {height: 20, bend: {turn: 60}}}", "  corners: {near/left: {kind: lapped, over: near}}\n"),
        ["6:24: corners: near/left: lapped is for square flanges at a square corner, write closed"],
    ),
    "lapped, over neither": (
        of("{all: {height: 20, bend: 90}}", "  corners: {near/left: lapped}\n"),
        [
            "6:24: corners: near/left: lapped does not say which flange lies over, "
            "write over: near, or over: [near, far]"
        ],
    ),
    "corner": (
        of("{all: {height: 20, bend: 90}}", "  corners: {near/far: open}\n"),
        ["6:13: corners: near/far: there is no corner 'near/far', did you mean 'near/right'?"],
    ),
    "face of a hole": (
        of("{near: {height: 20, bend: 90}}", "  holes: [{face: near.top, at: [5, 5], diameter: 3}]\n"),
        ["6:18: hole 1: face: there is no face 'near.top', faces are base, near"],
    ),
    "two holes": (
        of("{near: {height: 20, bend: 90}}", "  holes: [{at: [50, 50], diameter: 9}, {at: [55, 50], size: [3, 3]}]\n"),
        ["6:40: hole 2: meets hole 1, move one of them, or make them one"],
    ),
    "unknown key": (
        of("{near: {height: 20, bendd: 90, bend: 90}}"),
        ["6:32: near: bendd: is no key of this place, did you mean 'bend'?"],
    ),
    "flanges on a flange": (
        of("{near: {height: 40, bend: 90, flanges: {tip: {height: 12, bend: 90}}}}"),
        ["6:51: near: flanges: is no key of this place, what hangs on a flange is named tip, left or right"],
    ),
    "bare angle": (
        of("{near: {height: 20, bend: 45}}"),
        [
            "6:38: near: bend: a bare 45 is no bend, it is read both ways; write {turn: 45}, which is "
            "{included: 135}, or {included: 45}, which is {turn: 135}"
        ],
    ),
    "offset mitred": (
        of("{near: {height: 20, ends: mitre, bend: {offset: 4}}}"),
        ["6:38: near: ends: mitre does not go with an offset, which turns both ways, write `mitre:` in degrees"],
    ),
    "offset at a closed corner": (
        of("{near: {height: 20, bend: 90}, left: {height: 20, bend: {offset: 4}}}", more="  corners: closed\n"),
        ["6:12: corners: left/near: closed needs two flanges bent alike at an outer corner, write open"],
    ),
    "tool": (
        of("{near: {height: 20, bend: {turn: 90, die: vee-16-8}}}"),
        ["6:54: near: bend: die: 'vee-16-8' is not in the shop's dies, did you mean 'vee-16-80'?"],
    ),
    "clockwise": (
        of("{edge 1: {height: 20, bend: 90}}", base="{outline: [[0, 0], [0, 80], [100, 80], [100, 0]]}"),
        ["5:19: base: outline: runs clockwise, give its corners counterclockwise, marked face up"],
    ),
    "crossing": (
        of("{edge 1: {height: 20, bend: 90}}", base="{outline: [[0, 0], [100, 80], [100, 0], [0, 80]]}"),
        [
            "5:19: base: outline: is no outline, it meets itself at (50 mm, 40 mm), "
            "go round it once, each corner given once"
        ],
    ),
    "rounded beside a flange": (
        of("{edge 1: {height: 20, bend: 90}}", base="{outline: [[0, 0, 5], [100, 0], [100, 80], [0, 80]]}"),
        ["5:20: base: outline 1: a corner beside a flange is rounded, round corners between free edges only"],
    ),
    "shape without an edge": (
        of("{near: {shape: [[0, 0], [0, 0], [9, 9], [20, 0]], bend: 90}}"),
        ["6:27: near: shape: meets itself, or has an edge without length, go round it once, each corner given once"],
    ),
    "one name twice": (
        of("{'near, far': {height: 20, bend: 90, name: lip}}"),
        ["6:26: near, far: two faces are named 'lip', give each its own `name`, or leave it out"],
    ),
    "braces without quotes": (
        of("{near, far: {height: 20, bend: 90}}"),
        ["6:13: near: holds no flange, write its flange; several edges in braces stand in quotes"],
    ),
    "order": (
        of("{'near, far': {height: 20, bend: 90}}") + "order: [1, 3]\n",
        ["7:8: order: names bend 3, which is not there, name each of the bends 1 to 2 once"],
    ),
    "beside a section": (
        of("{near: {height: 20, bend: 90}}") + "section: {length: 9, legs: [9, 9], bends: [90]}\n",
        ["7:1: section: stands beside a panel, keep one of them"],
    ),
    "tolerance of no face": (
        of("{near: {height: 20, bend: 90}}") + "tolerances: {legs: {nea: 0.2}}\n",
        ["7:21: tolerances: legs: nea: there is no face 'nea', faces are base, near"],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_says_its_place_what_is_wrong_and_what_would_be_right(name: str) -> None:
    text, told = FAULTS[name]
    assert faults(text) == told


def test_all_faults_are_told_at_once_what_is_sound_looked_at_beside_what_is_not() -> None:
    """A wrong value in one flange does not hide that another goes beyond its edge."""
    text = of("{near: {bend: 90}, left: {height: 9, bend: 90, to: 260}, righ: {height: 5, bend: 33}}")
    wheres = [fault.split(": ")[1:3] for fault in faults(text)]
    assert wheres == [
        ["near", "has neither height nor shape, give one of them"],
        ["left", "goes from 0 mm to 260 mm, beyond the edge, the edge is 200 mm long"],
        ["righ", "no edge 'righ', did you mean 'right'? its edges are near, right, far, left"],
        ["righ", "bend"],
    ]


def test_where_only_a_section_would_do_a_panel_is_told_in_one_line() -> None:
    with pytest.raises(Unusable) as unusable:
        read_part(HEAD + of("{near: {height: 20, bend: 90}}"), "p.yaml", shop())
    assert str(unusable.value) == (
        "p.yaml: panel: p has flanges on more than two sides: its blank, plan and sheet are worked "
        "out, this not yet, use `plan`, `sheet`, `flat` or `check`"
    )


@pytest.mark.parametrize(
    "panel",
    [[], "x", 3, {"base": 3}, {"base": [1]}, {"flanges": []}, {"base": [9, 9], "flanges": {}}, {"corners": 3},
     {"base": {"size": [1, 2]}, "flanges": {"near": 3}}, {"base": [9, 9], "flanges": {"near": [[]]}},
     {"base": [9, 9], "flanges": {"near": {"hung": {}}}, "holes": 3}, {"base": {"outline": [[1]]}},
     {"base": [9, 9], "flanges": {"near": {"bend": 90, "height": 9, "tip": "x"}}, "corners": {"each": 4}}],
    ids=str,
)  # fmt: skip
def test_what_is_no_panel_at_all_is_told_too(panel: Any) -> None:
    text = json.dumps({"part": "p", "material": "DC01", "thickness": 2, "panel": panel})
    with pytest.raises(Unusable) as unusable:
        part_of(read_yaml(text, "p.yaml"), "p.yaml", shop())
    assert all(fault.line == 1 for fault in unusable.value.faults)


def test_the_schema_shows_a_panel_as_a_person_writes_it() -> None:
    defs = part_schema()["$defs"]
    assert {"base", "flanges", "corners", "radius", "sizes", "holes"} == set(defs["PanelFile"]["properties"])
    assert {"tip", "left", "right", "height", "bend", "from", "to"} <= set(defs["FlangeFile"]["properties"])
    assert "hung" not in defs["FlangeFile"]["properties"]
    assert set(defs["BaseFile"]["properties"]) == {"outline", "names"}


def test_the_keys_of_each_place_are_known() -> None:
    assert {"height", "tip", "from"} <= set(keys_at(("panel", "flanges", "near", "tip")))
    assert "turn" in keys_at(("panel", "flanges", "near", 0, "bend"))
    assert keys_at(("panel", "flanges", "near", "relief")) == ("width", "past")
    assert set(keys_at(("panel", "corners", "near/left", "relief"))) == {"round", "square"}
    assert set(keys_at(("panel", "base"))) == {"outline", "names"}
