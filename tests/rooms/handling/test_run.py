"""Blanks in, people, reach, and the table of a run."""

from __future__ import annotations

import math

import pytest

from flangewise.geometry import done_angles, section_path
from flangewise.handling import STOPS, RunHit, lift_of, out_of_jaw_mm, phases, recommended_kg, stack_of
from flangewise.handling.gripper import Grip, GripperShape, HeldPart
from flangewise.handling.reach import reach_of
from flangewise.handling.run_table import table_rows
from flangewise.shop import Infeed, Lifting

from ..geometry.by_hand import sharp_chain
from .toys import built_in

LIFTING = Lifting(hands_out_mm=400, hands_high_mm=950, lift_mm=250, twist_deg=45, coupling="poor", shift_hours=8)


def test_a_stack_is_limited_by_height_or_mass_and_lasts_its_blanks() -> None:
    """120 mm of 2 mm sheets with 0.4 between are 50; two stacks at 30 s are 50 minutes."""
    infeed = Infeed(stacks=2, most_height_mm=120, between_sheets_mm=0.4, separation="air", double_check="weight")
    told = stack_of(infeed, thickness_mm=2.0, part_kg=0.5, cycle_s=30.0)
    assert (told.count, told.governs, told.refill_min) == (100, "height", pytest.approx(50))
    heavy = infeed.model_copy(update={"most_kg": 10.0})
    assert stack_of(heavy, thickness_mm=2.0, part_kg=0.5, cycle_s=30.0).governs == "mass"
    assert told.missing == ("centring",)


def test_nothing_is_counted_where_nothing_was_entered() -> None:
    assert stack_of(None, thickness_mm=2.0, part_kg=0.5, cycle_s=30.0).missing == ("infeed",)
    assert stack_of(Infeed(), thickness_mm=2.0, part_kg=0.5, cycle_s=30.0).missing[0] == "most_height_mm"


@pytest.mark.parametrize(
    ("thickness", "separation", "check", "told"),
    [
        (1.9, None, None, True),
        (1.9, "fanned", "none", True),
        (1.9, "fanned", "thickness", False),
        (2.0, None, None, False),
    ],
)
def test_two_thin_blanks_may_come_at_once(thickness: float, separation: str, check: str, told: bool) -> None:
    infeed = Infeed.model_validate({"most_height_mm": 100, "separation": separation, "double_check": check})
    assert stack_of(infeed, thickness_mm=thickness, part_kg=0.5, cycle_s=30.0).two_may_come is told


@pytest.mark.parametrize(
    ("mass", "long", "often", "flags"),
    [
        (10.0, 1500.0, 1.0, ()),
        (10.1, 100.0, 1.0, ("heavy",)),
        (1.0, 1501.0, 1.0, ("long",)),
        (5.1, 100.0, 4.1, ("often",)),
        (5.1, 100.0, 4.0, ()),
    ],
)
def test_mass_length_and_frequency_are_flagged_for_assessment(
    mass: float, long: float, often: float, flags: tuple[str, ...]
) -> None:
    assert lift_of("part", mass, longest_mm=long, lifts_per_min=often, lifting=None).flags == flags


def test_a_full_box_over_fifteen_kilograms_has_a_flag_of_its_own() -> None:
    assert "box-over" in lift_of("box", 15.1, longest_mm=400, lifts_per_min=0.1, lifting=None).flags


def test_over_the_recommended_limit_is_flagged_and_the_limit_needs_its_inputs() -> None:
    told = lift_of("part", 6.0, longest_mm=300, lifts_per_min=4, lifting=LIFTING)
    assert told.index == pytest.approx(1.28, abs=0.005) and told.flags == ("over-recommended",)
    without = lift_of("part", 6.0, longest_mm=300, lifts_per_min=4, lifting=None)
    assert (without.recommended_kg, without.missing) == (None, ("lifting",))


def test_the_equation_ends_where_its_table_and_its_reach_end() -> None:
    assert recommended_kg(LIFTING, 10.1) is None
    assert recommended_kg(LIFTING.model_copy(update={"hands_out_mm": 640.0}), 1.0) == 0.0


def test_where_no_grip_is_known_the_jaw_may_be_at_any_corner() -> None:
    flat = [(100.0, 0.0), (-200.0, 0.0), (-200.0, 2.0), (100.0, 2.0)]
    up = [(100.0, 0.0), (0.0, 0.0), (0.0, 400.0)]
    assert out_of_jaw_mm([flat], along_mm=400.0) == pytest.approx((300.0**2 + 2**2 + 400**2) ** 0.5)
    assert out_of_jaw_mm([flat, up], along_mm=0.0) == pytest.approx((100.0**2 + 400**2) ** 0.5)


def test_how_far_a_held_part_reaches_counts_from_its_grip_and_from_the_flange_behind_it() -> None:
    """An angle of 60 and 200, 300 long, 1.5 thick, sharp: over the long leg's edge, flat and bent, and at its end."""
    chain = sharp_chain([60.0, 200.0], [90.0], thickness_mm=1.5)
    part, shape = HeldPart(chain, 300.0, 1.0), GripperShape(built_in())
    flat, bent = (section_path(chain, done_angles(chain, made)) for made in (set[int](), {0}))
    half = 1.5 / 2
    edge = Grip("edge", 1, 187.5, True, True)
    told = reach_of(part, shape, edge, flat)
    # 187.5 to the bend and 60 beyond it; 180 more to the flange.
    assert told.part_mm == pytest.approx(math.hypot(247.5, half, 150.0))
    assert told.arm_mm == pytest.approx(math.hypot(427.5, half, 150.0))
    told = reach_of(part, shape, edge, bent)
    assert told.part_mm == pytest.approx(math.hypot(187.5 + half, 60.0, 150.0), rel=1e-3)
    end = Grip("end", 1, 100.0, True, True, beside_mm=137.5)
    told = reach_of(part, shape, end, flat)
    assert told.part_mm == pytest.approx(math.hypot(160.0, half, 287.5))
    assert told.arm_mm == pytest.approx(math.hypot(160.0, half, 287.5 + 180.0))
    bare = GripperShape(built_in().model_copy(update={"flange_mm": None}))
    assert reach_of(part, bare, end, flat).arm_mm is None


def hit(step: int, hold: str) -> RunHit:
    return RunHit(step, (step,), 40.0, 24.0, 0.0, hold, 0)  # type: ignore[arg-type]


def test_a_jaw_that_let_go_holds_again_before_the_ram_opens_and_one_that_follows_never_let_go() -> None:
    let_go, follow = ([each.code for each in phases(way)] for way in ("let-go", "follow"))  # type: ignore[arg-type]
    assert let_go == ["load", "seated", "pinched", "let-go", "bent", "held", "open", "taken"]
    assert follow == ["load", "seated", "pinched", "follow", "bent", "open", "taken"]


def test_half_bent_without_power_is_scrap_and_a_person_in_the_zone_spoils_nothing() -> None:
    rows = list(table_rows([hit(1, "let-go"), hit(2, "follow"), hit(3, "by-hand")]))
    assert {row["step"] for row in rows} == {1, 2}
    assert {row["phase"] for row in rows if row["after_power"] == "scrap"} == {"bent"}
    assert {row["after_zone"] for row in rows} == {"go-on"}
    air = {row["step"]: row["after_air"] for row in rows if row["phase"] == "bent"}
    assert air == {1: "go-on", 2: "bend-on"}


def test_what_is_done_after_a_stop_follows_from_what_holds_the_part_and_how_far_it_is_bent() -> None:
    """Phase by phase as a setter would say it: in the jaw alone, pinched, half bent, bent, in the jaw alone again."""
    after = {
        way: {each.code: tuple(each.after(stop) for stop in STOPS) for each in phases(way)}  # type: ignore[arg-type]
        for way in ("let-go", "follow")
    }
    hangs, lies = ("take-out", "take-out", "go-on"), ("take-out", "go-on", "go-on")
    for told in after.values():
        assert told["load"] == told["seated"] == hangs
        assert told["pinched"] == lies
        assert told["open"] == told["taken"] == ("take-out-bent", "take-out-bent", "go-on")
    assert after["let-go"]["let-go"] == after["follow"]["follow"] == lies
    assert after["let-go"]["held"] == ("take-out-bent", "go-on", "go-on")
    assert after["let-go"]["bent"] == ("scrap", "go-on", "go-on")
    assert after["follow"]["bent"] == ("scrap", "bend-on", "go-on")


def test_a_jaw_that_keeps_its_hold_without_air_misses_none_and_the_ram_its_place_in_any_case() -> None:
    every = [*phases("let-go"), *phases("follow")]
    assert len(every) == 15
    for each in every:
        assert each.after("air", ("air",)) == "go-on"
        assert each.after("power", ("power", "air")) == each.after("power")


def test_a_person_goes_on_from_the_step_whose_bend_is_not_made() -> None:
    rows = list(table_rows([hit(1, "follow"), hit(2, "by-hand"), hit(3, "let-go")]))
    left = {(row["step"], row["phase"]): row["by_hand_from"] for row in rows}
    assert left[1, "load"] == left[1, "bent"] == 1
    assert left[1, "open"] == left[1, "taken"] == 2
    assert left[3, "let-go"] == 3
    assert left[3, "held"] is None and left[3, "taken"] is None
