"""Sections laid out flat. Expected lengths are worked by hand from setback and arc, never taken from the program."""

from __future__ import annotations

import math
import pickle

import pytest

from flangewise.pattern import NoBlank, lay_out

from .made import bend, blank, hem, hole, offset, part, shop

K = 0.42
# Arc of the neutral line at r 2, t 2, K 0.42: pi/2 (2 + 0.84); the worked figure is 4.461, the deduction 3.539.
BA_90_MM = math.pi / 2 * 2.84


def test_legs_are_not_simply_added() -> None:
    """An angle 40 x 40 of 2 mm sheet, r 2, K 0.42: 76.46 flat, not 80 (common practice example)."""
    assert blank(part((40, 40), bend(1, k_factor=K))).developed_mm == pytest.approx(76.46, abs=0.005)


def test_included_135_is_a_turn_of_45() -> None:
    """Allowance 2.231 for the turn of 45, not the 6.692 of a turn of 135 (the same example)."""
    assert blank(part((40, 40), bend(1, 45, k_factor=K))).zones[0].allowance.allowance_mm == pytest.approx(
        2.231, abs=5e-4
    )
    assert blank(part((40, 40), bend(1, 135, k_factor=K))).zones[0].allowance.allowance_mm == pytest.approx(
        6.692, abs=5e-4
    )


def test_a_channel() -> None:
    """20/60/20: flat 92.92; the bend's middle is 18.23 from its own edge (the same example)."""
    pattern = blank(part((20, 60, 20), bend(1, k_factor=K), bend(2, k_factor=K)))
    assert pattern.developed_mm == pytest.approx(92.92, abs=0.005)
    assert pattern.zones[0].line_mm[0][1] == pytest.approx(18.23, abs=0.005)
    assert pattern.developed_mm - pattern.zones[1].line_mm[0][1] == pytest.approx(18.23, abs=0.005)


def test_din_6935_worked_example() -> None:
    """Legs 16 and 21, r 6, s 5, 60 degrees included: 31.18 with k by formula (Tabellenbuch Metall, k 0.7: 31.23)."""
    pattern = blank(part((16, 21), bend(1, 120), thickness_mm=5.0), radius_mm=6.0, rule="din-6935")
    assert pattern.developed_mm == pytest.approx(31.177, abs=1e-3)
    assert pattern.zones[0].allowance.rule == "din-6935"


def test_above_90_legs_end_at_the_tangent_plane() -> None:
    pattern = blank(part((40, 40), bend(1, 135, k_factor=K)))
    assert pattern.flats_mm == pytest.approx((36.0, 36.0))
    # The setback that is told stays the tangent form: 4 tan 67.5.
    assert pattern.zones[0].allowance.setback_mm == pytest.approx(9.657, abs=5e-4)
    assert pattern.zones[0].allowance.deduction_mm == pytest.approx(8 - 6.692, abs=1e-3)


def test_inside_sizes_are_shorter_by_the_thickness_at_each_end() -> None:
    outside = blank(part((40, 60, 40), bend(1), bend(2)))
    inside = blank(part((38, 56, 38), bend(1), bend(2), sizes="inside"))
    assert inside.developed_mm == pytest.approx(outside.developed_mm)
    assert inside.flats_mm == pytest.approx(outside.flats_mm)
    # Of inside sizes a bend takes 4 mm less: 2 t.
    assert inside.zones[0].allowance.deduction_mm == pytest.approx(outside.zones[0].allowance.deduction_mm - 4.0)


def test_a_zed_is_sized_from_mould_line_to_mould_line() -> None:
    """Overall height 60: the flat between is 60 - 2 (r + t), as in a channel."""
    pattern = blank(part((25, 60, 25), bend(1), bend(2, away=True)))
    assert pattern.flats_mm == pytest.approx((21.0, 52.0, 21.0))
    assert [zone.toward for zone in pattern.zones] == [True, False]
    assert [zone.signed_turn_deg for zone in pattern.zones] == [90.0, -90.0]


def test_a_closed_hem() -> None:
    """Legs to the fold's outermost point: t each at r 0; allowance pi t/2. So 0.43 t comes off in all."""
    pattern = blank(part((12, 60), hem(1)))
    assert pattern.flats_mm == pytest.approx((10.0, 58.0))
    assert pattern.zones[0].allowance.allowance_mm == pytest.approx(math.pi)
    assert pattern.developed_mm == pytest.approx(72 - (4 - math.pi))
    assert (pattern.zones[0].allowance.setback_mm, pattern.zones[0].allowance.rule) == (None, "k-factor")


def test_an_open_hem_turns_about_half_its_gap() -> None:
    pattern = blank(part((12, 60), hem(1, 3.0, k_factor=0.4)))
    assert pattern.zones[0].inside_radius_mm == 1.5
    assert pattern.zones[0].allowance.allowance_mm == pytest.approx(math.pi * (1.5 + 0.8))
    assert pattern.flats_mm == pytest.approx((8.5, 56.5))


def test_an_offset_is_two_opposite_bends_with_a_web() -> None:
    """Step 8 at 90 degrees, r 2, t 2: web 8 - (2 r + t) = 2."""
    pattern = blank(part((40, 50, 30), bend(1), offset(2, 8.0, k_factor=K)))
    assert [zone.label for zone in pattern.zones] == ["1", "2a", "2b"]
    assert [zone.bend for zone in pattern.zones] == [1, 2, 2]
    assert [zone.toward for zone in pattern.zones] == [True, True, False]
    assert pattern.flats_mm == pytest.approx((36.0, 42.0, 2.0, 26.0))
    assert [face.number for face in pattern.faces] == [1, 2, 4, 3]
    assert [(zone.face_from, zone.face_to) for zone in pattern.zones] == [(1, 2), (2, 4), (4, 3)]
    assert pattern.zones[2].line_mm[0][1] - pattern.zones[1].line_mm[0][1] == pytest.approx(2 + BA_90_MM)


def test_an_offset_at_60_degrees() -> None:
    """Web [h - (2r + t)(1 - cos 60)]/sin 60 with h 4, r 1, t 2: [4 - 2]/0.8660 = 2.309; legs lose 3 tan 30."""
    pattern = blank(part((40, 50), offset(1, 4.0, 60.0, away=True)), radius_mm=1.0)
    assert pattern.flats_mm == pytest.approx((40 - 1.7321, 2.3094, 50 - 1.7321), abs=1e-4)
    assert [zone.toward for zone in pattern.zones] == [False, True]


def test_an_offset_just_high_enough_has_no_web() -> None:
    pattern = blank(part((40, 50), offset(1, 6.0)))
    assert pattern.flats_mm[1] == pytest.approx(0.0, abs=1e-9)
    assert min(pattern.flats_mm) >= 0.0


def test_an_offset_too_low_is_refused_with_the_least() -> None:
    with pytest.raises(NoBlank) as refused:
        blank(part((40, 50), offset(1, 5.0)))
    (finding,) = refused.value.findings
    assert (finding.severity, finding.code, finding.place()) == ("refuse", "offset-too-low", "bend 1")
    assert finding.text() == "a step of 5 mm is too low for two bends of 90°. At inside radius 2 mm the least is 6 mm"
    assert "the least is 6 mm" in str(refused.value)


def test_legs_inside_their_bends_are_refused_all_at_once() -> None:
    with pytest.raises(NoBlank) as refused:
        blank(part((3.9, 7.9, 40), bend(1), bend(2)))
    assert [finding.place() for finding in refused.value.findings] == ["leg 1", "leg 2"]
    assert refused.value.findings[1].text() == (
        "7.9 mm is used up by its own bends at the radius formed. It must be 8 mm or more"
    )


def test_the_refusal_survives_the_way_back_from_a_worker() -> None:
    with pytest.raises(NoBlank) as refused:
        blank(part((1.0, 40), bend(1)))
    assert pickle.loads(pickle.dumps(refused.value)).findings == refused.value.findings


def test_a_learned_deduction_goes_before_the_rule() -> None:
    pattern = blank(part((40, 40), bend(1)), deductions_mm={1: 3.7})
    assert pattern.developed_mm == pytest.approx(76.3)
    assert (pattern.zones[0].allowance.rule, pattern.zones[0].allowance.deduction_mm) == (
        "measured",
        pytest.approx(3.7),
    )


def test_a_learned_deduction_serves_inside_sizes_too() -> None:
    """It was learned on outside sizes; the blank is the same for the same part however it is sized."""
    pattern = blank(part((38, 38), bend(1), sizes="inside"), deductions_mm={1: 3.7})
    assert pattern.developed_mm == pytest.approx(76.3)
    assert pattern.zones[0].allowance.deduction_mm == pytest.approx(-0.3)


def test_the_part_s_own_k_factor_goes_before_what_was_learned() -> None:
    pattern = blank(part((40, 40), bend(1, k_factor=K)), deductions_mm={1: 3.7})
    assert pattern.zones[0].allowance.rule == "k-factor"


def test_hems_and_offsets_do_not_take_a_learned_deduction() -> None:
    pattern = blank(part((40, 60, 40), hem(1), offset(2, 8.0)), deductions_mm={1: 1.0, 2: 1.0})
    assert {zone.allowance.rule for zone in pattern.zones} == {"k-factor", "din-6935"}


def test_the_shop_s_rule_unless_another_is_named() -> None:
    assert blank(part((40, 40), bend(1))).zones[0].allowance.rule == shop().defaults.rule
    textbook = blank(part((40, 40), bend(1)), rule="textbook")
    # K 0.33 below R = 2T (Kalpakjian and Schmid, 6th ed. SI, p. 418): pi/2 (2 + 0.66).
    assert textbook.zones[0].allowance.allowance_mm == pytest.approx(4.178, abs=5e-4)
    with pytest.raises(KeyError):
        blank(part((40, 40), bend(1)), rule="of thumb")


def test_a_bend_without_a_radius_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError):
        lay_out(part((40, 40), bend(1)), shop(), radii_mm={})


def test_size_area_and_mass() -> None:
    holes = (hole(1, 1, (20, 20), diameter_mm=10.0), hole(2, 2, (50, 20), size_mm=(20.0, 8.0)))
    pattern = blank(part((40, 40), bend(1, k_factor=K), holes=holes, length_mm=200.0))
    assert pattern.along_bends_mm == 200.0
    area_mm2 = 76.461 * 200 - 78.5398 - 160
    assert pattern.area_mm2 == pytest.approx(area_mm2, abs=0.05)
    assert pattern.mass_kg == pytest.approx(area_mm2 * 2 * shop().materials["DC01"].density_kg_per_m3 * 1e-9, rel=1e-5)


def test_holes_move_with_the_setback_of_the_bend_before_their_leg() -> None:
    holes = (hole(1, 1, (20, 10), diameter_mm=5.0), hole(2, 2, (40, 30), diameter_mm=5.0))
    pattern = blank(part((40, 60), bend(1, k_factor=K), holes=holes))
    assert pattern.holes[0].centre_mm == (20, 10)
    # Leg 2 begins at the mould line, 4 mm before its flat, which begins at 36 + 4.461.
    assert pattern.holes[1].centre_mm == pytest.approx((40, 36 + BA_90_MM + 30 - 4))
    assert [each.face for each in pattern.holes] == [1, 2]


def test_holes_of_inside_sizes_count_from_the_inner_mould_line() -> None:
    pattern = blank(part((38, 58), bend(1, k_factor=K), sizes="inside", holes=(hole(1, 2, (40, 28), diameter_mm=5.0),)))
    assert pattern.holes[0].centre_mm[1] == pytest.approx(36 + BA_90_MM + 28 - 2)


def test_faces_zones_and_outline_cover_the_blank_without_gaps() -> None:
    pattern = blank(part((40, 60, 30), bend(1, 30), offset(2, 9.0, 70.0, away=True)))
    edges = [(face.outline_mm[0][1], face.outline_mm[2][1]) for face in pattern.faces]
    zones = [
        (zone.line_mm[0][1] - zone.allowance.allowance_mm / 2, zone.line_mm[0][1] + zone.allowance.allowance_mm / 2)
        for zone in pattern.zones
    ]
    for (_, face_end), (begins, ends), (next_face, _) in zip(edges, zones, edges[1:], strict=False):
        assert begins == pytest.approx(face_end)
        assert ends == pytest.approx(next_face)
    assert edges[0][0] == 0.0
    assert edges[-1][1] == pytest.approx(pattern.developed_mm)
    assert pattern.outline_mm == ((0.0, 0.0), (100.0, 0.0), (100.0, edges[-1][1]), (0.0, edges[-1][1]))


@pytest.mark.parametrize("turn_deg", [1.0, 30.0, 60.0, 89.999, 90.0])
def test_allowance_and_deduction_make_two_setbacks_up_to_90(turn_deg: float) -> None:
    zone = blank(part((40, 40), bend(1, turn_deg))).zones[0]
    assert zone.allowance.allowance_mm + zone.allowance.deduction_mm == pytest.approx(
        2 * 4 * math.tan(math.radians(turn_deg) / 2)
    )
    assert zone.allowance.setback_mm == pytest.approx(4 * math.tan(math.radians(turn_deg) / 2))


def test_sizing_is_continuous_at_90() -> None:
    below, at, above = (
        blank(part((40, 40), bend(1, turn_deg))).developed_mm for turn_deg in (90 - 1e-6, 90, 90 + 1e-6)
    )
    assert below == pytest.approx(at, abs=1e-5)
    assert above == pytest.approx(at, abs=1e-5)


def test_half_k_is_the_middle_of_the_sheet() -> None:
    """K 0.5, 90 degrees, R 10, T 2: allowance 17.2788, setback 12, deduction 6.7212 (closed form)."""
    zone = blank(part((40, 40), bend(1, k_factor=0.5)), radius_mm=10.0).zones[0]
    assert (zone.allowance.allowance_mm, zone.allowance.setback_mm, zone.allowance.deduction_mm) == pytest.approx(
        (17.2788, 12.0, 6.7212), abs=5e-5
    )
