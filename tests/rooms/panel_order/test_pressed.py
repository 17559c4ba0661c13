"""A hem of a panel flattened: where the plates may stand, and what the folded flange meets."""

from __future__ import annotations

import math

import pytest

from flangewise.panel_order import PanelShapes, PressedHit, SpaceHit, StandingRow, operations_of
from flangewise.pattern import PanelBlank, lay_out_panel
from flangewise.sequence import Hit as ToolHit, HoldRule

from ...published.panels import SQUARE, example_shop, panel_of
from .made import bends, fingers, hit_of, plates, stack

NONE: frozenset[int] = frozenset()
# What the first hit leaves of a hem.
BENT_DEG = 146.0


def hemmed(base: str, others: str, leg_mm: int = 12) -> PanelBlank:
    """A base whose near edge is hemmed closed, with other flanges of 2 mm radius."""
    flanges = f"near: {{height: {leg_mm}, bend: {{hem: closed}}}}, {others}".replace("SQ", SQUARE)
    wanted = panel_of(f"{{base: {base}, flanges: {{{flanges}}}}}")
    radii_mm = {bend.number: 0.0 if bend.kind == "hem" else 2.0 for bend in wanted.panel.bends}
    return lay_out_panel(wanted, example_shop(), radii_mm=radii_mm)


def flattened(own: PanelBlank, *, parent_behind: bool = True) -> SpaceHit:
    operation = next(each for each in operations_of(own) if each.is_hem)
    tools = ToolHit(plates(), 180.0, 0.0, "press")
    return PressedHit(PanelShapes(own), operation, parent_behind=parent_behind, tools=tools, bent_deg=BENT_DEG)


@pytest.mark.parametrize("parent_behind", [True, False])
def test_a_hem_on_a_flat_sheet_is_flattened_anywhere(parent_behind: bool) -> None:
    hit = flattened(hemmed("[300, 200]", "far: {height: 30, bend: SQ}"), parent_behind=parent_behind)
    assert isinstance(hit, PressedHit)
    forbidden = hit.forbidden(NONE)
    assert (forbidden.punch, forbidden.die, forbidden.fatal) == ((), (), False)
    assert hit.meets_itself(NONE) is None
    assert hit.stops(NONE) == ()
    # The far flange stands 200 from the hem: beyond plates that reach 24 from their middle.
    assert hit.forbidden(bends(hit.shapes.blank, "far")).punch == ()
    leaves = hit.leaves(NONE, StandingRow(0.0, 300.0))
    assert leaves is not None and leaves.way == "up"
    # The flange of 12 less half of what the bend takes stands up from the sheet's middle, its own thickness leaning.
    turn, thickness_mm = math.radians(180 - BENT_DEG), 2.0
    flat_mm = hit.leg_mm
    high_mm = 1.0 + 1.0 * (1 + math.cos(turn)) + flat_mm * math.sin(turn) + thickness_mm / 2 * math.cos(turn)
    assert hit.opening_mm(NONE) == pytest.approx(high_mm, abs=0.01)


@pytest.mark.parametrize("parent_behind", [True, False])
def test_a_side_that_stands_ends_the_row_of_plates(parent_behind: bool) -> None:
    """Left stands from 4 before the line to 2 before it, 30 high; so does right at the other end."""
    own = hemmed("[300, 200]", '"left, right": {height: 30, bend: SQ}')
    hit = flattened(own, parent_behind=parent_behind)
    (low, left), (right, high) = hit.forbidden(bends(own, "left", "right")).punch
    length = hit.operation.length_mm
    assert (low, high) == (pytest.approx(-3.95), pytest.approx(length + 3.95))
    assert -2.05 < left < 0.0 and length < right < length + 2.05


def test_a_side_of_150_meets_the_ram_wherever_the_plates_stand() -> None:
    own = hemmed("[300, 200]", "left: {height: 170, bend: SQ}")
    assert flattened(own).forbidden(bends(own, "left")).fatal


def test_a_folded_flange_that_is_too_long_meets_what_stands_across() -> None:
    """A leg of 60 folded over a base 40 deep: it runs into the far side once that stands."""
    own = hemmed("[100, 40]", "far: {height: 30, bend: SQ}", leg_mm=60)
    hit = flattened(own)
    names = {name: face for face, name in hit.shapes.names.items()}
    assert hit.meets_itself(NONE) is None
    met = hit.meets_itself(bends(own, "far"))
    assert met is not None and names["near"] in met.faces
    assert met.bends == bends(own, "far")
    short = hemmed("[100, 80]", "far: {height: 30, bend: SQ}", leg_mm=60)
    assert flattened(short).meets_itself(bends(short, "far")) is None


def test_the_first_hit_of_a_hem_is_a_bend_like_others_and_is_asked_how_it_lies() -> None:
    own = hemmed("[300, 100]", '"left, right": {height: 30, bend: SQ}')
    operations, shapes = operations_of(own), PanelShapes(own)
    tools = ToolHit(stack("acute-30", "vee-12-30"), 148.0, 1.0)
    first = [SpaceHit(shapes, each, parent_behind=True, tools=tools, fingers=fingers()) for each in operations]
    near = hit_of(first, "near")
    assert near.stops(NONE)[0].face_name == "base"
    assert near.forbidden(bends(own, "left", "right")).punch
    rule = HoldRule(0.0, 60.0, 3.0)
    assert near.hold(NONE, rule).front_kg > 0
    with pytest.raises(NotImplementedError, match="before it is flattened"):
        flattened(own).hold(NONE, rule)
