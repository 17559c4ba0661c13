"""Speeds of the ram: the rising leg's tip, the place where it slows, the end of the stroke."""

from __future__ import annotations

import pytest

from flangewise.setup.ram import TIP_SPEED_MM_PER_S, ram_speed, slow_from_mm, stroke_findings

from .made import chosen, codes, handler, hit, machine, pair, value, work

BRAKE = machine(bend_mm_per_s=10.0)


def wide() -> object:
    return pair(die="vee-16-80", punch="straight-80-nose-2")


def speed(swing_mm: float, made=None, by=None):  # type: ignore[no-untyped-def]
    return ram_speed(hit(chosen(made or wide(), swing_mm=swing_mm)), work(BRAKE, by))


def test_500_mm_over_v_16_comes_up_at_615_mm_per_s_and_more() -> None:
    """The sharp model's figure at 10 mm/s is a lower bound; real radii make it 1.2 to 1.3 times as much."""
    made = speed(500)
    assert value(made.findings, "tip-speed", "tip_mm_per_s") >= 615
    assert value(made.findings, "tip-speed", "tip_mm_per_s") == pytest.approx(1.25 * 615, rel=0.07)


def test_the_ram_is_slowed_to_no_more_than_4_mm_per_s_for_it() -> None:
    made = speed(500)
    assert made.ram_speed_mm_per_s <= 4.1
    assert made.tip_speed_mm_per_s == pytest.approx(TIP_SPEED_MM_PER_S)


def test_60_mm_over_v_8_is_not_told() -> None:
    """V 8, 60 mm, 10 mm/s: 140 mm/s by the sharp model."""
    made = speed(60, pair(thickness_mm=1.0, die="vee-8-86"))
    assert made.findings == () and made.ram_speed_mm_per_s == 10
    assert made.tip_speed_mm_per_s is not None and 140 <= made.tip_speed_mm_per_s < 250


def test_a_robots_own_limit_goes_before_the_usual_one() -> None:
    made = speed(150, by=handler("robot", tip_speed_mm_per_s=100.0))
    assert made.tip_speed_mm_per_s == pytest.approx(100)
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
    assert slow_from_mm(hit(chosen(hem, hem.then), nth=1), work(), open_height_mm=40) == 40


def test_a_stroke_that_ends_before_the_bend_is_refused_with_what_lacks() -> None:
    made = pair()
    assert made.punch is not None and made.die is not None and made.depth_mm is not None
    closed = made.punch.height_mm + made.die.height_mm - made.depth_mm
    enough = machine(daylight_mm=400.0, stroke_mm=400.0 - closed)
    short = machine(daylight_mm=400.0, stroke_mm=400.0 - closed - 3)
    assert stroke_findings(hit(), work(enough)) == ()
    told = stroke_findings(hit(), work(short))
    assert codes(told) == {"stroke-too-short"}
    assert value(told, "stroke-too-short", "lacking_mm") == pytest.approx(3)
