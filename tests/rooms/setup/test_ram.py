"""Speeds of the ram: the rising leg's tip, the place where it slows, the end of the stroke."""

from __future__ import annotations

import pytest

from flangewise.sequence import FoldedSection
from flangewise.setup.ram import (
    TIP_SPEED_MM_PER_S,
    down_to_step,
    ram_speed,
    rising_findings,
    slow_from_mm,
    stroke_findings,
)

from .made import chosen, codes, handler, hit, machine, pair, value, work

BRAKE = machine(bend_mm_per_s=10.0)


def wide() -> object:
    return pair(die="vee-16-80", punch="straight-80-nose-2")


def speed(swing_mm: float, made=None, by=None):  # type: ignore[no-untyped-def]
    return ram_speed(hit(chosen(made or wide(), reach_mm=swing_mm)), work(BRAKE, by))


def test_500_mm_over_v_16_comes_up_at_615_mm_per_s_and_more() -> None:
    """The sharp model's figure at 10 mm/s is a lower bound; real radii make it 1.2 to 1.3 times as much."""
    made = speed(500)
    assert value(made.findings, "tip-speed", "tip_mm_per_s") >= 615
    assert value(made.findings, "tip-speed", "tip_mm_per_s") == pytest.approx(1.25 * 615, rel=0.07)


def test_the_ram_is_slowed_to_no_more_than_4_mm_per_s_for_it() -> None:
    made = speed(500)
    assert made.ram_speed_mm_per_s <= 4.1
    assert made.tip_speed_mm_per_s is not None
    assert TIP_SPEED_MM_PER_S * (1 - 0.1 / 3) < made.tip_speed_mm_per_s <= TIP_SPEED_MM_PER_S
    assert made.findings[0].severity == "note"


@pytest.mark.parametrize("step", [0.1, 0.25, 0.5, 1.0])
@pytest.mark.parametrize("reach", [237.3, 500.0, 857.9])
def test_the_speed_keyed_in_is_a_step_of_the_machine_and_keeps_the_limit(step: float, reach: float) -> None:
    """The tip's speed is in proportion to the ram's: what the whole speed gives, times the share it is slowed to."""
    brake = machine(bend_mm_per_s=10.0, speed_step_mm_per_s=step)
    made = ram_speed(hit(chosen(wide(), reach_mm=reach)), work(brake))  # type: ignore[arg-type]
    steps = made.ram_speed_mm_per_s / step
    assert steps == pytest.approx(round(steps)) and made.tip_speed_mm_per_s is not None
    whole = made.tip_speed_mm_per_s * 10.0 / made.ram_speed_mm_per_s
    assert made.ram_speed_mm_per_s / 10.0 * whole <= 250 < (made.ram_speed_mm_per_s + step) / 10.0 * whole


def test_what_is_told_is_what_is_keyed_in() -> None:
    made = speed(857.9)
    assert value(made.findings, "tip-speed", "slow_mm_per_s") == made.ram_speed_mm_per_s
    assert f"slowed to {made.ram_speed_mm_per_s:g} mm/s" in made.findings[0].text()


# 1044.1 mm/s at 9 mm/s may go at 2.155: 2.2 would give 255. 4.3 in steps of 0.1 is 43 of them, not 42.
@pytest.mark.parametrize(
    ("speed_mm_per_s", "step", "keyed"),
    [(9 * 250 / 1044.1, 0.1, 2.1), (4.3, 0.1, 4.3), (2.99, 0.25, 2.75), (0.04, 0.1, 0.1)],
)
def test_speeds_are_rounded_down_to_what_can_be_set(speed_mm_per_s: float, step: float, keyed: float) -> None:
    assert down_to_step(speed_mm_per_s, step) == keyed


@pytest.mark.parametrize("nudge", [1 - 1e-12, 1.0, 1 + 1e-12])
def test_at_exactly_the_limit_the_last_bit_decides_nothing(nudge: float) -> None:
    tip = speed(60, pair(thickness_mm=1.0, die="vee-8-86")).tip_speed_mm_per_s
    assert tip is not None
    made = speed(60, pair(thickness_mm=1.0, die="vee-8-86"), handler("robot", tip_speed_mm_per_s=tip * nudge))
    assert (made.ram_speed_mm_per_s, made.findings) == (10, ())


def test_where_one_step_is_too_fast_it_is_said_that_the_limit_is_not_kept() -> None:
    coarse = machine(bend_mm_per_s=10.0, speed_step_mm_per_s=5.0)
    made = ram_speed(hit(chosen(wide(), reach_mm=500.0)), work(coarse))  # type: ignore[arg-type]
    assert made.ram_speed_mm_per_s == 5 and made.tip_speed_mm_per_s is not None and made.tip_speed_mm_per_s > 250
    assert [(told.code, told.severity) for told in made.findings] == [("tip-speed-over", "caution")]
    assert "slowest" in made.findings[0].text()


@pytest.mark.parametrize(("front", "told"), [(500.0, False), (500.1, True)])
def test_a_leg_longer_than_500_in_front_rises_past_the_face(front: float, told: bool) -> None:
    outline = ((-20.0, 0.0), (front, 0.0), (front, 2.0), (-20.0, 2.0))
    assert bool(rising_findings(hit(chosen(before=FoldedSection(outline, ()))))) is told


def test_60_mm_over_v_8_is_not_told() -> None:
    """V 8, 60 mm, 10 mm/s: 140 mm/s by the sharp model."""
    made = speed(60, pair(thickness_mm=1.0, die="vee-8-86"))
    assert made.findings == () and made.ram_speed_mm_per_s == 10
    assert made.tip_speed_mm_per_s is not None and 140 <= made.tip_speed_mm_per_s < 250


def test_a_robots_own_limit_goes_before_the_usual_one() -> None:
    made = speed(150, by=handler("robot", tip_speed_mm_per_s=100.0))
    assert made.tip_speed_mm_per_s is not None and 98 < made.tip_speed_mm_per_s <= 100
    assert value(made.findings, "tip-speed", "limit_mm_per_s") == 100


def test_a_flattener_and_an_offset_swing_nothing() -> None:
    offset = speed(500, pair("offset", 1.5))
    assert (offset.ram_speed_mm_per_s, offset.tip_speed_mm_per_s, offset.findings) == (10, None, ())


def test_the_ram_slows_over_the_sheet() -> None:
    brake = machine(change_over_mm=6.0)
    assert slow_from_mm(hit(), work(brake), open_height_mm=40) == 8
    assert slow_from_mm(hit(), work(brake), open_height_mm=7) == 7


def test_over_a_pre_bent_hem_it_is_slow_all_the_way() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None
    assert slow_from_mm(hit(chosen(hem), nth=1), work(), open_height_mm=40) == 40


def test_a_stroke_that_ends_before_the_bend_is_refused_with_what_lacks() -> None:
    made = pair()
    assert made.tools.punch is not None and made.tools.die is not None and made.depth_mm is not None
    closed = made.tools.punch.height_mm + made.tools.die.height_mm - made.depth_mm
    enough = machine(daylight_mm=400.0, stroke_mm=400.0 - closed)
    short = machine(daylight_mm=400.0, stroke_mm=400.0 - closed - 3)
    assert stroke_findings(hit(), work(enough)) == ()
    told = stroke_findings(hit(), work(short))
    assert codes(told) == {"stroke-too-short"}
    assert value(told, "stroke-too-short", "lacking_mm") == pytest.approx(3)
