"""Panels laid out: what must be known of them, slots and reliefs, ends, each figure worked out beside it."""

from __future__ import annotations

import math

import pytest

from flangewise.findings import Finding
from flangewise.pattern import NoBlank, PanelBlank

from ...published.panels import SQUARE, blank_of, panel_of

# Of t 2, r 2, K 0.42 at 90 degrees: setback, allowance, deduction.
S_MM, W_MM, D_MM = 4.0, math.pi / 2 * 2.84, 8 - math.pi / 2 * 2.84


def laid_out(flanges: str, more: str = "", base: str = "[300, 200]") -> PanelBlank:
    flanges = flanges.replace("SQUARE", SQUARE)
    return blank_of(panel_of(f"{{base: {base}, {more} flanges: {flanges}}}"))


def codes(blank: PanelBlank) -> list[str]:
    return [finding.code for finding in blank.findings]


def refused(flanges: str, more: str = "", base: str = "[300, 200]") -> list[Finding]:
    with pytest.raises(NoBlank) as none:
        laid_out(flanges, more, base)
    return list(none.value.findings)


def value(finding: Finding, name: str) -> object:
    return dict(finding.phrase.values)[name]


def has(blank: PanelBlank, *points: tuple[float, float]) -> bool:
    """Whether the outline goes through these points."""
    return all(min(math.dist(point, each) for each in blank.outline_mm) < 1e-5 for point in points)


def test_a_flange_used_up_by_its_bends_is_refused_with_what_it_needs() -> None:
    (told,) = refused("{near: {height: 7, bend: SQUARE, tip: {height: 20, bend: SQUARE}}}")
    assert (told.code, told.place()) == ("flange-inside-bends", "face near")
    assert (value(told, "flange_mm"), value(told, "least_mm")) == (7.0, pytest.approx(2 * S_MM))


def test_a_base_narrower_than_its_bends_is_refused() -> None:
    (told,) = refused("{near: {height: 20, bend: SQUARE}, far: {height: 20, bend: SQUARE}}", base="[300, 7]")
    assert (told.code, told.place(), value(told, "flange_mm")) == ("flange-inside-bends", "face base", 7.0)


def test_nothing_left_of_a_bend_line_is_refused() -> None:
    """A flange of 20 whose ends are cut 70 degrees inward: at the zone's outer side 4 tan 70 = 11 are gone at each."""
    (told,) = refused("{near: {height: 5, bend: SQUARE, from: 20, to: 40, mitre: 70}}")
    assert (told.code, told.place()) == ("bend-without-length", "bend 1")


def test_a_flange_beyond_the_edge_of_a_flange_is_refused() -> None:
    """The tip of near is 300 long: nothing trims it where no flange stands beside it."""
    (told,) = refused("{near: {height: 30, bend: SQUARE, tip: {height: 20, bend: SQUARE, from: 10, to: 301}}}")
    assert (told.code, told.place(), value(told, "edge_mm")) == ("flange-off-edge", "face near.tip", 300.0)
    assert codes(laid_out("{near: {height: 30, bend: SQUARE, tip: {height: 20, bend: SQUARE, to: 300}}}")) == []


@pytest.mark.parametrize("mitre_deg", [45, 50])
def test_ends_that_meet_before_the_tip_are_refused(mitre_deg: int) -> None:
    """40 wide and 20 high: at 45 degrees both ends meet at the tip itself, beyond it before."""
    (told,) = refused(f"{{near: {{height: 20, bend: SQUARE, from: 50, to: 90, mitre: {mitre_deg}}}}}")
    assert (told.code, told.place()) == ("ends-meet", "face near")


def test_reliefs_that_run_into_each_other_are_refused_with_their_place() -> None:
    """A slot of a depth greater than the face: it comes out on the other side."""
    (told,) = refused(
        "{near: {height: 20, bend: SQUARE, from: 50, to: 90, relief: {past: 30}}, far: {height: 20, bend: SQUARE}}",
        base="[300, 30]",
    )
    assert (told.code, told.place()) == ("reliefs-meet", "face base")
    assert 48 <= float(str(value(told, "x_mm"))) <= 92


def test_two_flanges_at_an_inner_corner_lie_over_each_other_flat() -> None:
    """Each 35 high: from w - s outside the edge to 35 - D both lie in the same square, 35 - s wide."""
    ell = "{outline: [[0, 0], [200, 0], [200, 80], [80, 80], [80, 200], [0, 200]]}"
    blank = laid_out('{"edge 3, edge 4": {height: 35, bend: SQUARE}}', base=ell)
    faces = [each for each in blank.findings if each.code == "faces-overlap-flat"]
    first = faces[0]
    assert [value(first, "along_mm"), value(first, "across_mm")] == pytest.approx([35 - S_MM, 35 - S_MM], abs=1e-4)
    assert [value(first, "x_mm"), value(first, "y_mm")] == pytest.approx([80 + W_MM - S_MM] * 2, abs=1e-4)
    assert first.text() == (
        "face edge 3 and face edge 4 overlap on the blank by 31 mm × 31 mm at 80.46 mm, 80.46 mm. Inset one of them"
    )


def test_a_flange_that_folds_into_another_is_told_with_how_deep() -> None:
    """Returns of 120 on walls 40 high of a base 200 wide: they pass each other's middle by 20 in one plane."""
    blank = laid_out("{near: {height: 40, bend: SQUARE, tip: {height: 120, bend: SQUARE}}, "
                     "far: {height: 40, bend: SQUARE, tip: {height: 120, bend: SQUARE}}}")  # fmt: skip
    told = [each for each in blank.findings if each.code == "part-crosses-itself"]
    assert [each.text() for each in told] == [
        "face near.tip and face far.tip run 1.9 mm into each other on the finished part"
    ], "the sheet's 2 mm less 0.05 a skin: the least way apart is up"


def test_returns_that_do_not_reach_each_other_are_left_alone() -> None:
    blank = laid_out("{near: {height: 40, bend: SQUARE, tip: {height: 99, bend: SQUARE}}, "
                     "far: {height: 40, bend: SQUARE, tip: {height: 99, bend: SQUARE}}}")  # fmt: skip
    assert codes(blank) == []


def test_a_tab_through_its_slot_does_not_cross_the_part() -> None:
    """The tip of a return stands in a hole of the base, 12 by 8 about 2 mm of sheet."""
    return_ = "{height: 20, bend: SQUARE, tip: {height: 40, bend: SQUARE}}"
    flanges = f"{{near: {{height: 35, bend: SQUARE, from: 140, to: 150, tip: {return_}}}}}"
    # The return runs 20 inward from near's outer skin, its own return down through the base at y = 20 less 1.
    crossing = laid_out(flanges)
    assert "part-crosses-itself" in codes(crossing)
    through = laid_out(flanges, "holes: [{at: [145, 19], size: [14, 8]}],")
    assert "part-crosses-itself" not in codes(through)


def test_a_bend_that_ends_beside_a_bend_needs_a_relief() -> None:
    """A flange on the side of another, up to the bend that other hangs on, whose zone is wider."""
    blank = laid_out("{near: {height: 40, bend: SQUARE, left: {height: 20, bend: SQUARE}}}")
    told = [each for each in blank.findings if each.code == "relief-missing"]
    assert [each.place() for each in told] == ["bend 2"]
    assert told[0].severity == "refuse"
    assert value(told[0], "run_mm") == pytest.approx(S_MM, abs=1e-6)
    relieved = laid_out("{near: {height: 40, bend: SQUARE, left: {height: 20, bend: SQUARE, inset: [10, 0]}}}")
    assert codes(relieved) == []


def test_holes_are_told_by_how_far_they_are_from_a_bend_or_reach_into_it() -> None:
    """Of near the flat begins 4 from the mould line: a hole of 6 at 9 is 2 from the zone, one at 6 reaches 1 in."""
    blank = laid_out(
        "{near: {height: 40, bend: SQUARE}}",
        "holes: [{face: near, at: [50, 9], diameter: 6}, {face: near, at: [90, 6], diameter: 6}, "
        "{face: base, at: [50, 13], size: [8, 8]}, {face: near, at: [150, 20], diameter: 6}],",
    )
    assert codes(blank) == ["hole-near-bend", "hole-in-bend"]
    near, into = blank.findings
    assert value(near, "distance_mm") == pytest.approx(2.0)
    assert value(into, "reach_mm") == pytest.approx(1.0)


def test_a_hole_off_its_face_is_refused() -> None:
    blank = laid_out("{near: {height: 40, bend: SQUARE}}", "holes: [{face: near, at: [50, 38], diameter: 6}],")
    assert codes(blank) == ["hole-off-face"]
    assert blank.findings[0].severity == "refuse"


def test_a_slot_beside_less_than_a_thickness_runs_out_to_the_corner() -> None:
    """2 wide slot and 2 of sheet: an inset of 3.9 leaves less, so the corner goes; of 4.1 it stays."""
    away = laid_out("{near: {height: 20, bend: SQUARE, inset: [3.9, 30]}}")
    assert has(away, (0.0, S_MM + 0.5), (3.9, S_MM + 0.5))
    assert not has(away, (0.0, 0.0))
    stays = laid_out("{near: {height: 20, bend: SQUARE, inset: [4.1, 30]}}")
    assert has(stays, (0.0, 0.0), (2.1, 0.0), (2.1, 4.5), (4.1, 4.5))


def test_a_slot_is_as_wide_and_as_deep_as_the_file_says() -> None:
    blank = laid_out("{near: {height: 20, bend: SQUARE, from: 50, to: 90, relief: {width: 3, past: 1}}}")
    assert has(blank, (47, 0), (47, 5), (50, 5), (90, 5), (93, 5), (93, 0))


def test_two_tabs_so_near_that_nothing_would_stand_between_share_a_slot() -> None:
    tab = "height: 20, bend: SQUARE"
    near = laid_out(f"{{near: [{{{tab}, from: 50, to: 90}}, {{{tab}, from: 95, to: 120}}]}}")
    assert has(near, (90, 4.5), (95, 4.5))
    assert not has(near, (92, 4.5))
    apart = laid_out(f"{{near: [{{{tab}, from: 50, to: 90}}, {{{tab}, from: 97, to: 120}}]}}")
    assert has(apart, (92, 4.5), (92, 0), (95, 0), (95, 4.5))


def test_a_square_relief_takes_its_corner_on_three_sides() -> None:
    """Side 4 about the tangent lines' meeting (4, 4): three quarters of 16 a corner, bend lines 4 shorter."""
    plain = laid_out("{all: {height: 40, bend: SQUARE}}")
    square = laid_out("{all: {height: 40, bend: SQUARE}}", "corners: {relief: {square: 4}},")
    assert has(square, (2, 6), (6, 6), (6, 2))
    assert plain.area_mm2 - square.area_mm2 == pytest.approx(4 * 12)
    assert [math.dist(*zone.line_mm) for zone in square.zones] == pytest.approx([288, 188, 288, 188])


def test_a_relief_larger_than_the_zones_is_refused() -> None:
    (told, *_) = refused("{all: {height: 40, bend: SQUARE}}", "corners: {relief: {round: 10}},")
    assert told.code == "corner-relief-too-large"
    assert (value(told, "relief_mm"), value(told, "most_mm")) == (10.0, pytest.approx(2 * W_MM))


def test_the_round_relief_of_thin_sheet_is_smaller() -> None:
    """3.2 up to 1.6 mm of sheet; twice the radius where that is more."""
    thin = blank_of(panel_of("{base: [100, 80], corners: {relief: round}, flanges: {all: {height: 20, bend: 90}}}",
                             thickness=1), 1.0)  # fmt: skip
    lines = [math.dist(*zone.line_mm) for zone in thin.zones]
    assert lines == pytest.approx([100 - 4 - 3.2, 80 - 4 - 3.2] * 2)


def test_rounded_corners_are_cut_as_arcs() -> None:
    base = "{outline: [[0, 0], [100, 0], [100, 80, 10], [0, 80, 5]]}"
    blank = laid_out("{edge 1: {height: 20, bend: SQUARE}}", base=base)
    bulges = [bulge for bulge in blank.bulges if bulge]
    assert bulges == pytest.approx([math.tan(math.pi / 8)] * 2)
    gone = (1 - math.pi / 4) * (100 + 25)
    assert blank.area_mm2 == pytest.approx(100 * (80 + 20 - D_MM) - gone)


def test_a_mitred_end_is_inward_and_the_bend_no_wider_than_what_hangs_on_it() -> None:
    """From 20 to 80 at the mould line, 30 degrees: at the flat's beginning 4 tan 30 in, at the tip 25 tan 30."""
    blank = laid_out("{near: {height: 25, bend: SQUARE, from: 20, to: 80, mitre: [30, 0]}}")
    tan = math.tan(math.radians(30))
    (zone,) = blank.zones
    assert sorted(x for x, _ in zone.line_mm) == pytest.approx([20 + 4 * tan, 80])
    assert has(blank, (20 + 25 * tan, -(25 - D_MM)), (80, -(25 - D_MM)))


def test_a_shape_is_laid_beyond_its_bend_as_it_is_drawn() -> None:
    blank = laid_out("{near: {shape: [[10, 0], [10, 30], [60, 30], [90, 20], [90, 0]], bend: SQUARE}}")
    assert has(blank, (10, -(30 - D_MM)), (60, -(30 - D_MM)), (90, -(20 - D_MM)))


def test_an_inside_size_is_the_sheet_less() -> None:
    """Sized to the inside: the setback is r, so the base of 300 by 200 is 4 wider outside."""
    inside = laid_out("{all: {height: 40, bend: SQUARE}}", "sizes: inside,")
    outside = laid_out("{all: {height: 42, bend: SQUARE}}", base="[304, 204]")
    assert inside.size_mm == pytest.approx(outside.size_mm)
    assert inside.area_mm2 == pytest.approx(outside.area_mm2)


def test_a_hem_folds_back_on_its_face() -> None:
    """Closed: from the outer plane r + t = 2 back, the allowance pi (0 + 0.5 x 2)."""
    wanted = panel_of("{base: [100, 80], flanges: {near: {height: 12, bend: {hem: closed}}}}")
    blank = blank_of(wanted, 0.0)
    assert blank.across_mm == pytest.approx(80 + 12 - 2 * 2 + math.pi)
    assert "part-crosses-itself" not in codes(blank)


def test_edges_in_another_order_give_the_same_blank() -> None:
    one = laid_out("{near: {height: 30, bend: SQUARE}, left: {height: 20, bend: SQUARE}}", "corners: closed,".replace(
        "closed", "open"))  # fmt: skip
    other = laid_out("{left: {height: 20, bend: SQUARE}, near: {height: 30, bend: SQUARE}}")
    assert one.outline_mm == other.outline_mm
    assert [zone.bend for zone in one.zones] == [1, 2]
    assert one.zones[0].line_mm == other.zones[1].line_mm
