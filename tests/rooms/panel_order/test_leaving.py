"""How panels leave their tools."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.panel_order import Leaving, StandingRow

from ...published.panels import AWAY, SQUARE, blank, blank_of, panel_of
from .made import bends, hit_of, hits

NONE: frozenset[int] = frozenset()
# Two ears, 60, 60 and 20 between them: 290, of whose ends 35 stand as a foot only.
EARS = StandingRow(-1.0, 290.0, 35.0, 35.0)


def test_a_pan_is_lifted_out_from_under_a_plain_row() -> None:
    own = blank("pan")
    sides = bends(own, "left", "right")
    near = hit_of(hits(own), "near")
    plain = near.leaves(sides, StandingRow(1.0, 290.0))
    assert plain is not None and (plain.way, plain.along_bed) == ("up", False)
    # Where it leaves with the lift of a straight pull no less is asked for.
    assert plain.opening_mm == pytest.approx(near.opening_mm(sides))
    last = hit_of(hits(own), "far").leaves(sides | bends(own, "near"), StandingRow(1.0, 290.0))
    assert last is not None and last.way == "up"
    # What stands 40 up behind passes between nose and die.
    assert last.opening_mm > 40


def test_a_closed_box_is_turned_off_the_ears() -> None:
    """A foot of 290 by 20 under returns that leave 270 by 170, between walls 296 by 196 apart: it passes turned by
    acos(270/290.69) + 3.945 = 25.69 to asin(170/290.69) - 3.945 = 31.84 degrees."""
    own = blank("box")
    far = hit_of(hits(own), "far")
    done = frozenset(zone.bend for zone in own.zones) - frozenset(far.operation.bends)
    found = far.leaves(done, EARS)
    assert found is not None and found.way == "turned" and found.turn_deg is not None
    assert found.turn_deg == (pytest.approx(25.69, abs=0.02), pytest.approx(31.84, abs=0.02))
    assert 38 < found.opening_mm < 42


def test_a_row_that_fits_the_mouth_comes_straight_up_out_of_a_closed_box() -> None:
    own = blank("box")
    far = hit_of(hits(own), "far")
    done = frozenset(zone.bend for zone in own.zones) - frozenset(far.operation.bends)
    found = far.leaves(done, StandingRow(13.5, 265.0))
    assert found is not None and found.way == "up"


def test_feet_under_the_returns_of_two_sides_are_drawn_out_toward_the_open_one() -> None:
    own = blank("box")
    near = hit_of(hits(own), "near")
    found = near.leaves(bends(own, "left", "left.tip", "right", "right.tip", "near.tip"), EARS)
    assert found is not None and found.way == "front"


def test_a_row_with_a_gap_is_turned_out_of_a_closed_box_as_one_without() -> None:
    """It is as long and as wide: a gap between makes it pass no sooner and no later."""
    own = blank("box")
    far = hit_of(hits(own), "far")
    done = frozenset(zone.bend for zone in own.zones) - frozenset(far.operation.bends)
    found = far.leaves_turned(done, EARS)
    assert found is not None and found == far.leaves_turned(done, replace(EARS, gaps_mm=((140.0, 144.0),)))


def test_where_nothing_is_found_nothing_is_said() -> None:
    """A box whose mouth is narrower than the foot is wide at any turn."""
    tip = f"tip: {{height: 15, bend: {SQUARE}, ends: mitre, gap: 1}}"
    flanges = f"{{all: {{height: 40, bend: {SQUARE}, {tip}}}}}"
    own = blank_of(panel_of(f"{{base: [300, 60], corners: closed, flanges: {flanges}}}"))
    far = hit_of(hits(own), "far")
    done = frozenset(zone.bend for zone in own.zones) - frozenset(far.operation.bends)
    assert far.leaves(done, EARS) is None


def test_flanges_that_hang_beside_a_short_die_pass_only_it() -> None:
    """A side bent away hangs 30 down beside the line, where a die along the whole bed would stand."""
    flanges = f"near: {{height: 25, bend: {SQUARE}, inset: [10, 10]}}, left: {{height: 30, bend: {AWAY}}}"
    own = blank_of(panel_of(f"{{base: [300, 200], flanges: {{{flanges}}}}}"))
    near, hangs = hit_of(hits(own), "near"), bends(own, "left")
    row = StandingRow(0.0, 280.0)
    beside = near.leaves(hangs, row, StandingRow(0.0, 285.0))
    assert beside is not None
    assert isinstance(beside, Leaving) and beside.way in ("up", "front")
    assert near.leaves(hangs, row) != beside


def test_a_plain_row_too_long_for_the_mouth_is_not_taken_for_one_outside() -> None:
    """290 of plain punch under returns that leave 270: it could not stand there, and no way out is made of that."""
    own = blank("box")
    far = hit_of(hits(own), "far")
    done = frozenset(zone.bend for zone in own.zones) - frozenset(far.operation.bends)
    assert far.leaves(done, StandingRow(1.0, 290.0)) is None
