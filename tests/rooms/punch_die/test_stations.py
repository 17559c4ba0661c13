"""Tools on the bed: one station in the middle, several beside each other only where that works."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from flangewise.punch_die import Ideal, Mounting, Pair, PunchDie, Station, cover, may_stand_beside, place_stations
from flangewise.punch_die.judge import vee_pair

from .made import machine, shop

LENGTH_MM = 180.0
LITTLE_KN_PER_M = 50.0


def mounted(punch: str, die: str, *, turned: bool = False) -> Mounting:
    pair = vee_pair(shop().punches[punch], shop().dies[die], Ideal())
    return Mounting(PunchDie(pair, "bend", limit_force_kn_per_m=LITTLE_KN_PER_M), turned)


ONE, TWO = mounted("straight-88", "vee-12-85"), mounted("acute-30", "vee-8-30")
FLAT = Mounting(PunchDie(Pair(shop().punches["flattener"], shop().dies["flat-bed"], "flatten"), "flatten"))


def placed(
    *mountings: Mounting, length_mm: float = LENGTH_MM, name: str = "bench-310", **more: float
) -> tuple[Station, ...]:
    return place_stations(mountings, machine=machine(name), length_mm=length_mm, **more)


def test_a_single_station_stands_in_the_middle() -> None:
    (station,) = placed(ONE)
    assert station.centre_mm == pytest.approx(450)
    assert station.to_mm - station.from_mm == 220
    assert [use.length_mm for use in station.segments] == [220]
    assert (station.punch, station.die, station.set_up) == ("straight-88", "vee-12-85", 1)


def test_a_pair_used_twice_is_mounted_once() -> None:
    assert len(placed(ONE, TWO, ONE)) == 2


def test_two_stations_stand_in_the_order_of_use_clear_of_each_others_part() -> None:
    first, second = placed(ONE, TWO)
    assert first.set_up == second.set_up == 1
    assert first.centre_mm < 450 < second.centre_mm
    # The part at one station stays 20 mm off the other's tools.
    assert first.centre_mm + 90 + 20 <= second.from_mm + 1e-9
    assert first.from_mm >= 0 and second.to_mm <= 900


def test_what_does_not_fit_beside_is_changed_instead() -> None:
    stations = placed(ONE, TWO, length_mm=500)
    assert [station.set_up for station in stations] == [1, 2]
    assert all(station.centre_mm == pytest.approx(450) for station in stations)


def test_tools_of_another_shut_height_are_changed_instead() -> None:
    tall = shop().punches["acute-30"].model_copy(update={"height_mm": 160.0})
    other = Mounting(PunchDie(vee_pair(tall, shop().dies["vee-8-30"], Ideal()), "bend"))
    assert [station.set_up for station in placed(ONE, other)] == [1, 2]


@pytest.mark.parametrize("length_mm", [60.0, 180.0, 220.0, 300.0])
def test_where_all_stand_beside_each_other_any_two_may(length_mm: float) -> None:
    """However many they are and whatever their force; two that stand beside each other by themselves may as well."""
    every = [
        mounted(punch, die) for punch in ("straight-88", "acute-30", "neck-deep") for die in ("vee-8-30", "vee-12-85")
    ]
    beside = {
        (one.name, other.name): may_stand_beside(one, other, machine=machine("bench-310"), length_mm=length_mm)
        for one, other in itertools.permutations(every, 2)
    }
    told = 0
    for count in (2, 3):
        for some in itertools.permutations(every, count):
            if len({station.set_up for station in placed(*some, length_mm=length_mm)}) == 1:
                told += 1
                assert all(beside[one.name, other.name] for one, other in itertools.permutations(some, 2))
    assert bool(told) == any(beside.values())
    assert any(beside.values()) == (length_mm < 300)


def test_a_force_too_great_off_the_middle_is_made_in_the_middle() -> None:
    """310 kN, drives 700 apart, 120 off: 310/(1 + 240/700) = 231."""
    weak, strong = (replace_force(TWO, force) for force in (225.0, 240.0))
    assert [station.set_up for station in placed(ONE, weak)] == [1, 1]
    assert [station.set_up for station in placed(ONE, strong)] == [1, 2]


def replace_force(mounting: Mounting, force_kn: float) -> Mounting:
    per_m = force_kn * 1000 / LENGTH_MM
    return Mounting(replace(mounting.pair, limit_force_kn_per_m=per_m), mounting.turned)


def test_a_punch_set_turned_is_another_station() -> None:
    turned = mounted("neck-deep", "vee-12-85", turned=True)
    straight = mounted("neck-deep", "vee-12-85")
    first, second = placed(straight, turned)
    assert (first.turned, second.turned) == (False, True)
    assert first.carries(straight) and second.carries(turned) and not first.carries(turned)


def test_segments_are_not_used_twice_at_once() -> None:
    """A bend of 200 takes one 220, and two of those are held: a third station on the same punch goes without."""
    two, third = (
        [mounted("straight-88", die) for die in ("vee-12-85", "vee-16-80")],
        mounted("straight-88", "vee-20-80"),
    )
    assert [station.set_up for station in placed(*two, length_mm=200, name="long-1450")] == [1, 1]
    assert [station.set_up for station in placed(*two, third, length_mm=200, name="long-1450")] == [1, 2, 3]


def test_every_tool_is_held_as_long_as_the_longest_bed() -> None:
    """2,900: 4 x 700 + 60 + 20 + 20 where two sets are held, 7 x 350 + 450 (one set but its 20) of the others."""
    longest_mm = max(each.bed_length_mm for each in shop().machines.values())
    for tool in (*shop().punches.values(), *shop().dies.values()):
        uses = cover(tool.segments, longest_mm, most_mm=longest_mm)
        assert sum(use.length_mm for use in uses) == longest_mm == 2900, tool.name
        longest = max(use.length_mm for use in uses)
        assert (longest, len(uses)) in ((700, 7), (350, 13)), tool.name


def test_a_bend_no_set_reaches_has_no_segments() -> None:
    short = (
        shop()
        .punches["straight-88"]
        .model_copy(update={"segments": tuple(s for s in shop().punches["straight-88"].segments if s.length_mm < 50)})
    )
    lacking = Mounting(PunchDie(vee_pair(short, shop().dies["vee-12-85"], Ideal()), "bend"))
    (station,) = placed(lacking, length_mm=400)
    assert station.segments == () and station.die_segments != ()
    assert station.from_mm == station.to_mm == 450


def test_a_hem_finds_pre_bend_and_flattener_side_by_side() -> None:
    first, second = placed(TWO, FLAT)
    assert (first.punch, second.punch) == ("acute-30", "flattener")
    assert first.set_up == second.set_up
