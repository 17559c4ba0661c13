"""What lies at the side stop where one finger alone finds a place: figures by hand, and what takes it away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.panel_order import SidePlate, SideTouch, SpaceHit
from flangewise.pattern import PanelBlank

from .made import bends, hit_of, hits
from .test_stops import NONE, laid_out

# From 60 to 260 in front of the die's centre plane, from 10 under its top to 20 over it, 25 thick.
PLATE = SidePlate((60.0, 260.0), (-10.0, 20.0), 25.0, ("left", "right"), 40.0, 1.0)


def with_plate(own: PanelBlank, face: str, plate: SidePlate = PLATE, *, parent_behind: bool = False) -> SpaceHit:
    hit = hit_of(hits(own), face, parent_behind=parent_behind)
    assert hit.fingers is not None
    hit.fingers = replace(hit.fingers, side=plate)
    return hit


def touched(hit: SpaceHit, done: frozenset[int] = NONE) -> SideTouch | None:
    (single,) = [each for each in hit.stops(done) if len(each.z_mm) == 1]
    assert (single.side is None) == (("one-finger", 3.0) in single.wishes_s)
    assert (single.side is None) != (("side-stop", 1.0) in single.wishes_s)
    return single.side


def test_a_straight_side_of_the_base_lies_on_it() -> None:
    """The tab is 50 to 100 of the near edge; the base's sides lie 50 to the left of the line and 150 to its right."""
    own = laid_out("near: {height: 30, bend: SQ, from: 50, to: 100}", base="[200, 180]")
    both = touched(with_plate(own, "near"))
    # The base in front ends 180 from its near edge as sized; the line lies half the zone outside its setback of 4.
    assert both is not None and both.touched_mm == (
        60.0,
        pytest.approx(180 - 4 + own.zones[0].allowance.allowance_mm / 2),
    )
    # Looking to the back from the far edge the base's right edge is to the left: 200 - 100 beyond the tab's end.
    assert (both.side, both.at_mm, both.face_name) == ("left", pytest.approx(-100.0), "base")
    right = touched(with_plate(own, "near", replace(PLATE, sides=("right",))))
    assert right is not None and (right.side, right.at_mm) == ("right", pytest.approx(50.0 + 50.0))


def test_two_fingers_need_no_side_stop() -> None:
    own = laid_out("near: {height: 30, bend: SQ, from: 20, to: 180}", base="[200, 180]")
    best = with_plate(own, "near").stops(NONE)[0]
    assert len(best.z_mm) == 2 and best.side is None and best.wishes_s == ()


def test_a_side_that_ends_too_soon_holds_nothing_square() -> None:
    """The base reaches 98.23 in front of the die's middle: 38.23 of its side lie on a plate that begins at 60."""
    flanges = "near: {height: 30, bend: SQ, from: 50, to: 100}"
    assert touched(with_plate(laid_out(flanges, base="[200, 100]"), "near")) is None
    assert touched(with_plate(laid_out(flanges, base="[200, 104]"), "near")) is not None


def test_a_slanting_side_is_none() -> None:
    slanting = "{outline: [[0, 0], [200, 0], [230, 180], [-30, 180]]}"
    own = laid_out("edge 1: {height: 30, bend: SQ, from: 50, to: 100}", base=slanting)
    assert touched(with_plate(own, "edge 1")) is None


def test_what_stands_out_further_is_what_lies_on_it() -> None:
    """A tab of 60 on the right edge, flat, stands 40 - D further out; 30 of it hold nothing square."""
    tab = "near: {height: 30, bend: SQ, from: 50, to: 100}, right: {height: 40, bend: SQ, from: 70, to: %d}"
    flat = touched(with_plate(laid_out(tab % 130, base="[200, 180]"), "near", replace(PLATE, sides=("left",))))
    assert flat is not None and flat.face_name == "right"
    assert flat.at_mm == pytest.approx(-100.0 - (40 - 3.53894), abs=1e-4)
    assert flat.touched_mm[1] - flat.touched_mm[0] == pytest.approx(60.0)
    assert touched(with_plate(laid_out(tab % 100, base="[200, 180]"), "near", replace(PLATE, sides=("left",)))) is None


def test_a_side_flange_that_stands_lies_on_it_with_its_outer_face() -> None:
    own = laid_out("near: {height: 30, bend: SQ, from: 50, to: 100}, right: {height: 40, bend: SQ}", base="[200, 180]")
    stands = touched(with_plate(own, "near", replace(PLATE, sides=("left",))), bends(own, "right"))
    assert stands is not None
    assert (stands.face_name, stands.at_mm) == ("right", pytest.approx(-100.0, abs=1e-6))


def test_the_plate_keeps_clear_of_tools_and_of_what_comes_up_beside_it() -> None:
    """The bed reaches 34 to the front, 76 under the top of the die.

    A tab just in front of the plate's end is drawn into its place when it rises.
    """
    flanges = "near: {height: 30, bend: SQ, from: 50, to: 100}, right: {height: 40, bend: SQ, from: 108, to: 170}"
    own = laid_out(flanges, base="[200, 180]")
    left = replace(PLATE, sides=("left",), front_mm=(20.0, 100.0))
    assert touched(with_plate(own, "near", replace(left, up_mm=(-100.0, 20.0)))) is None
    assert touched(with_plate(own, "near", replace(left, front_mm=(60.0, 100.0)))) is not None
    assert touched(with_plate(own, "near", replace(left, front_mm=(60.0, 104.5), up_mm=(-10.0, 60.0)))) is None
