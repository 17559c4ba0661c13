"""One hit of a panel: where tools may stand, and whether the part meets itself, against figures by hand and points."""

from __future__ import annotations

import math

import pytest

from flangewise.pattern import PanelBlank

from ...published.panels import SQUARE, blank, blank_of, panel_of
from .made import bends, hit_of, hits

NONE: frozenset[int] = frozenset()


def box(gap_mm: float) -> PanelBlank:
    """A box with returns whose mitres leave such a gap."""
    tip = f"tip: {{height: 15, bend: {SQUARE}, ends: mitre, gap: {gap_mm}}}"
    return blank_of(
        panel_of(f"{{base: [300, 200], corners: closed, flanges: {{all: {{height: 40, bend: {SQUARE}, {tip}}}}}}}")
    )


@pytest.mark.parametrize("parent_behind", [True, False])
def test_between_the_sides_of_a_pan_a_row_ends_before_their_inside_radius(parent_behind: bool) -> None:
    """Free lies between 292, tangent to tangent, and 296, wall to wall: 294.16 as worked out for this punch and die."""
    found = hits(blank("pan"))
    near = hit_of(found, "near", parent_behind=parent_behind)
    assert near.runs_mm == (pytest.approx((0.0, 292.0)),)
    assert near.forbidden(NONE).punch == ()
    (_, left), (right, _) = near.forbidden(bends(blank("pan"), "left", "right")).punch
    assert right - left == pytest.approx(294.16, abs=0.03)
    assert left == pytest.approx(292 - right)
    # The opposite flange stands 192 behind the line or lies before it: out of the way of all.
    assert near.forbidden(bends(blank("pan"), "far")) == near.forbidden(NONE)


def test_returns_leave_less_to_the_punch_and_their_walls_more_to_the_foot() -> None:
    """Returns of 15 from an outside of -4 on: free from 11 to 281; the foot is 30 high and the returns stand at 38."""
    found, own = hits(blank("box")), blank("box")
    sides = bends(own, "left", "left.tip", "right", "right.tip")
    forbidden = hit_of(found, "near").forbidden(sides)
    (_, left), (right, _) = forbidden.punch
    assert (left, right) == (pytest.approx(11.0), pytest.approx(281.0))
    (_, left), (right, _) = forbidden.foot
    assert right - left == pytest.approx(294.16, abs=0.03)
    # A return is not bent on a wall that stands: the ram is in the way.
    assert hit_of(found, "near.tip").forbidden(bends(own, "near")).fatal


def test_a_tab_on_the_line_of_others_keeps_the_die_from_it() -> None:
    """The tab from 190 to 240 is bent away by itself. It goes with the base: while it is flat it would dip into the die
    as the base rises behind, once it hangs down it hangs where the die stands. 190 to 240 seen from 20."""
    own = blank("tabs")
    tabs = next(hit for hit in hits(own) if hit.parent_behind and len(hit.operation.bends) == 2)
    assert tabs.runs_mm == (pytest.approx((0.0, 50.0)), pytest.approx((90.0, 130.0)))
    away = frozenset(zone.bend for zone in own.zones if not zone.toward)
    for done in (NONE, away):
        ((low, high),) = tabs.forbidden(done).die
        assert (low, high) == (pytest.approx(170.0, abs=0.1), pytest.approx(220.0, abs=0.1))


def test_what_a_face_forbids_hangs_on_the_bends_between_alone() -> None:
    own = blank("box")
    near = hit_of(hits(own), "near")
    names = {name: face for face, name in near.shapes.names.items()}
    assert set(near.faces) == set(names.values())
    left, tip = bends(own, "left"), bends(own, "left.tip")
    assert near.depends(names["base"]) == ()
    assert frozenset(near.depends(names["left.tip"])) == left | tip
    every = near.answers(names["left.tip"])
    assert len(every) == 4
    for state, done in enumerate((NONE, left, tip, left | tip)):
        assert every[state] == near.forbids(names["left.tip"], done | bends(own, "far", "far.tip"))


def test_worked_out_at_once_is_as_one_by_one() -> None:
    at_once, singly = hits(blank("ell")), hits(blank("ell"))
    compared = 0
    for hit, other in zip(at_once, singly, strict=True):
        hit.prepare()
        for bend in range(1, 6):
            done = frozenset(range(1, bend)) - frozenset(hit.operation.bends)
            assert hit.forbidden(done) == other.forbidden(done)
            compared += 1
    assert compared == 50


def test_mirrored_is_mirrored() -> None:
    """A tab beside two sides, seen in a mirror: what is forbidden from its left is forbidden from its right."""
    sides = "left: {height: %d, bend: SQ, inset: [%d, %d]}, right: {height: %d, bend: SQ, inset: [%d, %d]}"
    found = []
    for tab, others in ((20, sides % (30, 0, 10, 40, 0, 0)), (190, sides % (40, 0, 0, 30, 10, 0))):
        text = f"{{near: {{height: 25, bend: SQ, from: {tab}, to: {tab + 50}}}, {others}}}".replace("SQ", SQUARE)
        own = blank_of(panel_of(f"{{base: [260, 140], flanges: {text}}}"))
        found.append(hit_of(hits(own), "near").forbidden(bends(own, "left", "right")))
    one, other = found
    assert one.punch
    mirrored = tuple((50 - high, 50 - low) for low, high in reversed(other.punch))
    assert [end for run in one.punch for end in run] == pytest.approx([end for run in mirrored for end in run])


@pytest.mark.parametrize("parent_behind", [True, False])
def test_a_covering_flange_leans_over_its_neighbour(parent_behind: bool) -> None:
    """Over-bent by 1 degree near leans in by (30 - 3) sin 1 + 1.5 (1 - cos 1) = 0.4715 at its tip: more than the gap of
    0.3. What is left of it is the overlap, contact of 0.05 taken off."""
    own = blank("lapped-tray")
    found = hits(own)
    near = hit_of(found, "near", parent_behind=parent_behind)
    met = near.meets_itself(bends(own, "left", "right"))
    lean = 27 * math.sin(math.radians(1)) + 1.5 * (1 - math.cos(math.radians(1)))
    assert lean == pytest.approx(0.4715, abs=1e-4)
    assert met is not None and met.overlap_mm == pytest.approx(lean - 0.3 - 0.05, abs=0.001)
    assert met.bends in (bends(own, "left"), bends(own, "right"))
    assert near.meets_itself(NONE) is None
    # The other way round nothing leans over anything.
    assert hit_of(found, "left", parent_behind=parent_behind).meets_itself(bends(own, "near", "far")) is None


@pytest.mark.parametrize(
    ("gap_mm", "over_deg", "overlap_mm"),
    [(0.4, 1.0, 0.044), (0.5, 1.0, None), (0.85, 2.0, 0.038), (0.95, 2.0, None)],
)
def test_mitres_of_returns_need_a_gap_of_what_their_walls_lean(
    gap_mm: float, over_deg: float, overlap_mm: float | None
) -> None:
    """36 sin 1 sin 45 = 0.444, 36 sin 2 sin 45 = 0.888."""
    own = box(gap_mm)
    near = hit_of(hits(own, over_deg=over_deg), "near")
    met = near.meets_itself(bends(own, "left", "left.tip", "right", "right.tip", "near.tip"))
    if overlap_mm is None:
        assert met is None
    else:
        assert met is not None and met.overlap_mm == pytest.approx(overlap_mm, abs=0.001)
        assert len(met.bends) == 3
