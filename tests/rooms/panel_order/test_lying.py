"""How a panel lies before a hit: reach, masses and moments by hand."""

from __future__ import annotations

import math

import pytest

from flangewise.panel_order import PanelShapes, SpaceHit
from flangewise.sequence import HoldRule

from ...published.panels import SQUARE, blank, blank_of, panel_of
from .made import bends, hit_of, hits

NONE: frozenset[int] = frozenset()
RULE = HoldRule(kg_per_mm=0.0, least_mm=60.0, most_behind_nm=3.0, behind_wish_s=2.0, small_wish_s=1.5)
D, W = 3.53894, 4.46106
T, KG = 2.0, 7.85e-6


def test_what_is_in_front_and_behind_of_a_pan() -> None:
    """Near is a strip of 292 by 40 - D/2 from the bend line; in all 95 230.3 mm2 of 2 mm sheet."""
    own = blank("pan")
    hold = hit_of(hits(own), "near").hold(NONE, RULE)
    density = own.mass_kg / own.area_mm2
    assert hold.front_kg == pytest.approx(density * 292 * (40 - D / 2), rel=1e-4)
    assert hold.front_kg + hold.behind_kg == pytest.approx(own.mass_kg, rel=1e-6)
    assert hold.front_mm == pytest.approx(40 - D / 2, abs=1e-3)
    other = hit_of(hits(own), "near", parent_behind=False).hold(NONE, RULE)
    assert (other.front_kg, other.behind_kg) == (pytest.approx(hold.behind_kg), pytest.approx(hold.front_kg))
    assert other.front_mm == pytest.approx(200 + 40 - 1.5 * D, abs=1e-3)


def test_the_moment_that_tips_it_off_the_die() -> None:
    """A plate 300 wide: 40 - D/2 in front of the line, 200 - D/2 behind it, its middle 80 behind; over the back edge of
    the die block, 10 behind its middle."""
    own = blank_of(panel_of(f"{{base: [300, 200], flanges: {{near: {{height: 40, bend: {SQUARE}}}}}}}"))
    hit = hit_of(hits(own), "near")
    hold = hit.hold(NONE, RULE)
    die = next(body for body in hit.tools.stack.bodies if body.name == "die")
    edge = max(across for across, up in die.points_mm if up > -1)
    middle = ((200 - D / 2) - (40 - D / 2)) / 2
    assert hold.tips == "behind"
    assert hold.moment_nm == pytest.approx(own.mass_kg * 9.80665 * (middle - edge) / 1000, rel=1e-3)


def test_flanges_that_stand_draw_the_weight_in() -> None:
    """The far flange flat has its middle half its leg beyond its bend; up, its leg stands over the bend's end."""
    own = blank_of(panel_of(f'{{base: [300, 200], flanges: {{"near, far": {{height: 40, bend: {SQUARE}}}}}}}'))
    hit = hit_of(hits(own), "near")
    flat, up = (hit.hold(done, RULE).moment_nm for done in (NONE, bends(own, "far")))
    density = own.mass_kg / own.area_mm2 * 300 * 9.80665 / 1000
    leg, radius = 40 - 4, 3.0
    # The line of the far bend lies 200 - D behind that of near; the zone is W wide about it.
    line = 200 - D
    was = leg * (line + W / 2 + leg / 2) + W * line
    # Bent, its zone begins W/2 before the line; the middle of a quarter arc lies r sin(45)/(pi/4) (sin 45) further on.
    start = line - W / 2
    now = leg * (start + radius) + W * (start + radius * 2 / math.pi)
    assert flat - up == pytest.approx(density * (was - now), rel=2e-3)


def test_holes_weigh_nothing() -> None:
    plain = f"{{base: [300, 200], flanges: {{near: {{height: 40, bend: {SQUARE}}}}}"
    own = blank_of(panel_of(plain + ", holes: [{face: base, at: [150, 150], size: [200, 80]}]}"))
    whole = blank_of(panel_of(plain + "}"))
    holed, full = (hit_of(hits(each), "near").hold(NONE, RULE) for each in (own, whole))
    assert full.behind_kg - holed.behind_kg == pytest.approx(16_000 * T * KG, rel=1e-3)
    assert holed.front_kg == pytest.approx(full.front_kg)
    assert holed.moment_nm < full.moment_nm


def test_how_far_it_reaches_and_what_must_pass() -> None:
    """Far up, the middle of its tip lies 200 - D/2 - 1 back. Flat behind, the sheet slips out down its slope."""
    own = blank("pan")
    hit = hit_of(hits(own), "near")
    assert hit.reach_mm(NONE) == pytest.approx(200 + 40 - 1.5 * D, abs=1e-3)
    # The tip stands 39 above the middle of the base.
    assert hit.reach_mm(bends(own, "far")) == pytest.approx(math.hypot(200 - D / 2 - 1, 39), abs=0.01)
    assert hit.front_mm(NONE) == pytest.approx(40 - D / 2, abs=1e-3)
    assert hit.opening_mm(NONE) < 20 < 100 < hit.opening_mm(bends(own, "far"))


def test_answers_are_the_same_whichever_hit_is_asked_first() -> None:
    own = blank("box")
    shapes = PanelShapes(own)
    first = hit_of(hits(own), "near")
    again = SpaceHit(shapes, first.operation, parent_behind=True, tools=first.tools)
    done = bends(own, "far", "left", "left.tip")
    assert again.hold(done, RULE) == first.hold(done, RULE)
