"""Where the fingers stand: two, far apart, on the edge, inside their travel."""

from __future__ import annotations

import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.setup.support import finger_places_mm, fingers

from .made import chosen, codes, hit, machine, pair, value, work

BRAKE = machine(stop_z_mm=(50.0, 850.0), finger_width_mm=20.0, least_finger_spacing_mm=45.0, fingers=2)


def places(part_from_mm: float, length_mm: float, **changes: object) -> tuple[float, ...]:
    brake = BRAKE.model_copy(update=changes)
    return finger_places_mm(brake, part_from_mm=part_from_mm, length_mm=length_mm)


def test_fingers_stay_five_millimetres_behind_plates_that_leave_them_no_room() -> None:
    """The lower plate reaches 30.2 behind the bend: 35.2, told as 36."""
    plate = Body("die", ((-30.2, -10.0), (30.0, -10.0), (30.0, 0.0), (-30.2, 0.0)), with_ram=False)
    hem = chosen(pair("hem", 1.0), stacks=(ToolStack("plates", "punch", "die", 0.0, 0.0, (plate,)),))
    stops, told = fingers(hit(hem, 1), work(thickness_mm=1.0), part_from_mm=360.0)
    assert (stops.x_mm, value(told, "stops-back", "x_mm")) == (None, 36.0)


def test_two_fingers_near_the_ends_of_the_edge() -> None:
    assert places(360, 180) == (375, 525)


def test_a_part_longer_than_their_travel_is_met_at_its_ends() -> None:
    assert places(0, 900) == (50, 850)


@pytest.mark.parametrize("length", range(50, 900, 37))
def test_fingers_touch_the_edge_and_keep_their_distance(length: int) -> None:
    start = 450 - length / 2
    left, right = places(start, length)
    assert start <= left < right <= start + length
    assert right - left >= 45
    assert left >= 50 and right <= 850


def test_on_a_short_edge_they_move_outward() -> None:
    assert places(420, 66) == (430, 476)
    assert places(420, 50) == (420, 470)


def test_an_edge_too_short_for_two_gets_one_in_its_middle() -> None:
    assert places(430, 40) == (450,)


def test_a_machine_with_one_finger_has_one() -> None:
    assert places(360, 180, fingers=1) == (450,)


def test_the_stop_stands_where_the_order_gauges() -> None:
    stops, told = fingers(hit(), work(BRAKE), part_from_mm=360)
    assert (stops.x_mm, stops.r_mm, stops.z_mm, stops.retract_mm) == (20, 0, (375, 525), 0)
    assert told == ()


def test_a_hit_without_stops_has_no_x_and_no_complaint() -> None:
    stops, told = fingers(hit(chosen(gauged=None)), work(BRAKE, length_mm=20.0), part_from_mm=440)
    assert (stops.x_mm, stops.r_mm, told) == (None, None, ())


def test_one_finger_is_told() -> None:
    _, told = fingers(hit(), work(BRAKE, length_mm=40.0), part_from_mm=430)
    assert codes(told) == {"one-finger"}
    assert told[0].severity == "caution"
