"""Where stops touch a panel: figures by hand of the pan, and what takes a place away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.panel_order import PanelGauging, SpaceHit
from flangewise.pattern import PanelBlank

from ...published.panels import AWAY, SQUARE, blank, blank_of, panel_of
from .made import bends, hit_of, hits

NONE: frozenset[int] = frozenset()
D = 3.53894


def best(own: PanelBlank, face: str, *done: str, parent_behind: bool = True) -> PanelGauging:
    return hit_of(hits(own), face, parent_behind=parent_behind).stops(bends(own, *done))[0]


def retract_mm(own: PanelBlank, face: str, *done: str) -> float:
    return hit_of(hits(own), face).retract_mm(bends(own, *done), best(own, face, *done))


def laid_out(flanges: str, base: str = "[300, 200]", more: str = "") -> PanelBlank:
    return blank_of(panel_of(f"{{base: {base}, flanges: {{{flanges.replace('SQ', SQUARE)}}}{more}}}"))


@pytest.mark.parametrize(
    ("face", "done", "parent_behind", "x_mm"),
    [
        ("near", (), False, 38.231),
        ("near", (), True, 234.692),
        ("left", (), True, 334.692),
        ("right", (), True, 334.692),
        ("near", ("far", "left", "right"), True, 198.231),
    ],
)
def test_the_stops_of_a_pan(face: str, done: tuple[str, ...], parent_behind: bool, x_mm: float) -> None:
    """The flange behind 40 - D/2; the base behind with the flange beyond flat 200 + 40 - 1.5 D; that flange up, on its
    outer face, 200 - D/2."""
    gauged = best(blank("pan"), face, *done, parent_behind=parent_behind)
    assert gauged.x_mm == pytest.approx(x_mm, abs=1e-3)
    assert gauged.on == ("flange" if done else "edge")
    assert len(gauged.z_mm) == 2


def test_fingers_stand_apart_as_far_as_they_may() -> None:
    """The far flange is as long as the line, 292: half a finger and 5 from each of its ends, 13 + 5."""
    gauged = best(blank("pan"), "near")
    assert gauged.z_mm == (pytest.approx(18.0), pytest.approx(274.0))
    assert (gauged.face_name, gauged.wishes_s, gauged.retract_mm) == ("far", (), 0.0)
    # Of an edge of the sheet the middle is touched, 1 over the die's top; the stop face is 10 high.
    assert (gauged.r_mm, gauged.height_mm) == (pytest.approx(-4.0), pytest.approx(1.0))


def test_a_formed_flange_is_touched_in_the_middle_of_its_height_and_costs_its_wish() -> None:
    """Its flat part stands from 4 to 40 over the die's top."""
    gauged = best(blank("pan"), "near", "far", "left", "right")
    assert (gauged.face_name, gauged.on, gauged.wishes_s) == ("far", "flange", (("gauging", 0.5),))
    assert gauged.height_mm == pytest.approx(22.0)


def test_an_edge_beyond_formed_bends_costs_another_wish() -> None:
    """The far flange bent down with a tip bent out again, which lies level, further out than all else."""
    own = laid_out(f"near: {{height: 20, bend: SQ}}, far: {{height: 20, bend: {AWAY}, tip: {{height: 30, bend: SQ}}}}")
    edges = [each for each in hit_of(hits(own), "near").stops(bends(own, "far", "far.tip")) if each.on == "edge"]
    assert [(each.face_name, each.past_bends, each.wish_s) for each in edges] == [("far.tip", True, 1.0)]
    # The tip is sized from the inner face of the flange, 198 from the near edge; a step of 20, less the sheet.
    assert edges[0].x_mm == pytest.approx(198 + 30 - D / 2, abs=1e-3)
    assert edges[0].height_mm == pytest.approx(1 - 18)


def test_one_finger_where_an_edge_is_too_short_for_two() -> None:
    own = laid_out("near: {height: 25, bend: SQ}, far: {height: 30, bend: SQ, from: 100, to: 160}")
    found = hit_of(hits(own), "near").stops(NONE)
    (single,) = [each for each in found if each.face_name == "far"]
    # Far's 60 from 140 to 200 of the line as near sees it; the line begins at 0 of the base.
    assert single.z_mm == (pytest.approx(170.0),)
    assert ("one-finger", 3.0) in single.wishes_s
    assert single != found[0]
    assert found[0].face_name == "base" and len(found[0].z_mm) == 2
    assert single.x_mm > found[0].x_mm


def test_what_stands_further_out_takes_its_stretch_away() -> None:
    """Beside the flat tab from 140 to 200 of the line no finger of 26 comes nearer to it than its half."""
    own = laid_out("near: {height: 25, bend: SQ}, far: {height: 30, bend: SQ, from: 100, to: 160}", base="[210, 200]")
    found = hit_of(hits(own), "near").stops(NONE)
    on_base = next(each for each in found if each.face_name == "base")
    # The tab lies over 50 to 110 of the line; its slots of 2 reach 2 further.
    left, right = on_base.z_mm
    assert left == pytest.approx(18.0)
    assert right == pytest.approx(192.0)
    assert all(not 50 - 13 < place < 110 + 13 for place in on_base.z_mm)


def test_a_slanting_edge_is_no_place_to_touch() -> None:
    own = laid_out("edge 1: {height: 25, bend: SQ}", base="{outline: [[0, 0], [200, 0], [200, 150], [0, 100]]}")
    assert hit_of(hits(own), "edge 1").stops(NONE) == ()
    assert hit_of(hits(own), "edge 1", parent_behind=False).stops(NONE)[0].face_name == "edge 1"


def test_a_hole_in_a_flange_takes_its_stretch_away() -> None:
    """A slot from 5 before the one end of the far flange to 5 before the other: nothing is left for a finger of 26."""
    hole = ", holes: [{face: far, at: [150, 20], size: [290, 10]}]"
    flanges = "near: {height: 25, bend: SQ}, far: {height: 40, bend: SQ}"
    own, holed = laid_out(flanges), laid_out(flanges, more=hole)
    assert best(own, "near", "far").z_mm == (pytest.approx(18.0), pytest.approx(282.0))
    assert hit_of(hits(holed), "near").stops(bends(holed, "far")) == ()


def test_what_is_out_of_the_fingers_travel_is_not_touched() -> None:
    hit = hit_of(hits(blank("pan")), "near")
    assert hit.fingers is not None

    def within(most_mm: float) -> SpaceHit:
        near = replace(hit.fingers, gauge=replace(hit.fingers.gauge, x_max_mm=most_mm))
        return SpaceHit(hit.shapes, hit.operation, parent_behind=True, tools=hit.tools, foot_mm=None, fingers=near)

    assert within(234.0).stops(NONE)[0].x_mm < 200
    assert within(235.0).stops(NONE)[0].x_mm == pytest.approx(234.692, abs=1e-3)
    assert SpaceHit(hit.shapes, hit.operation, parent_behind=True, tools=hit.tools).stops(NONE) == ()


def test_fingers_go_back_where_the_wing_pushes_into_them() -> None:
    """A flange 20 down behind, touched at x: its foot swings out to the root of x^2 + h^2 while the wing rises."""
    own = laid_out(f"near: {{height: 25, bend: SQ}}, far: {{height: 30, bend: {AWAY}}}", base="[300, 60]")
    gauged = best(own, "near", "far")
    assert gauged.on == "flange"
    assert 1.0 < retract_mm(own, "near", "far") < 12.0
    assert retract_mm(own, "near") == 0.0
