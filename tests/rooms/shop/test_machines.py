"""Machines: their own consistency, and what they leave open over a pair of tools."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from flangewise.shop import Machine, Shop, SideStop
from flangewise.shop.machines import Beam


def test_three_machines_of_the_sizes_promised(shop: Shop) -> None:
    sizes = [(machine.force_kn, machine.bed_length_mm) for machine in shop.machines.values()]
    assert sizes == [(310, 900), (740, 1900), (1450, 2900)]


def test_open_height_is_what_the_daylight_leaves(shop: Shop) -> None:
    machine = shop.machines["bench-310"]
    assert machine.most_opening_mm(142, 76) == machine.daylight_mm - 218
    assert machine.most_opening_mm(300, 200) == 0


def test_the_stroke_closes_on_every_pair_of_its_shop(shop: Shop) -> None:
    """A nose 30 mm below the die's top is a square bend on the widest opening here; nothing goes deeper."""
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        for punch in shop.punches.values():
            for die in shop.dies.values():
                assert machine.closes_on(punch.height_mm, die.height_mm, 30.0), (machine.name, punch.name, die.name)


def test_a_short_stroke_does_not_close(shop: Shop) -> None:
    machine = shop.machines["bench-310"].model_copy(update={"stroke_mm": 100.0})
    assert not machine.closes_on(142, 76, 0.0)
    assert machine.closes_on(142, 76, -32.0)


def test_a_flange_of_60_comes_out_of_every_machine(shop: Shop) -> None:
    """Sheet 2, flange 60 behind the punch, margin 25, tilt 4: 91 mm must be open."""
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        tallest = max(punch.height_mm for punch in shop.punches.values())
        highest = max(die.height_mm for die in shop.dies.values())
        assert machine.most_opening_mm(tallest, highest) >= 2 + 60 + 25 + 4


def test_ram_and_bed_stand_on_their_seats(shop: Shop) -> None:
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        ram_ups = [up for _, up in machine.ram_outline_mm.points_mm]
        bed_ups = [up for _, up in machine.bed_outline_mm.points_mm]
        assert min(ram_ups) == 0 and max(ram_ups) == machine.ram_beam.height_mm
        assert max(bed_ups) == 0 and min(bed_ups) == -machine.bed_beam.height_mm


def test_a_finger_stands_behind_its_face(shop: Shop) -> None:
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        assert max(across for across, _ in machine.finger_outline_mm.points_mm) == 0
        assert (0, 0) in machine.finger_outline_mm.points_mm
        assert min(up for _, up in machine.finger_outline_mm.points_mm) == 0


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"front_mm": [340, 60]}, "[340, 60] does not rise, write [least, most]"),
        ({"front_mm": [-20, 300]}, "-20 lies behind the die, it begins in front of it"),
        ({"front_mm": [60, 90]}, "30 mm of face are less than least_mm, it is 40 long at least"),
        ({"sides": "both"}, "Input should be 'left', 'right' or 'either'"),
    ],
)
def test_a_side_stop_is_in_front_of_the_die_and_long_enough(more: dict[str, Any], told: str) -> None:
    sound = {"front_mm": (60.0, 340.0), "up_mm": (-10.0, 20.0), "z_mm": (20.0, 1880.0), "wide_mm": 25.0}
    assert SideStop(**sound).least_mm == 40.0
    wrong = {key: tuple(map(float, value)) if isinstance(value, list) else value for key, value in more.items()}
    with pytest.raises(ValidationError) as error:
        SideStop(**sound | wrong)
    assert told in str(error.value)


def test_a_machine_has_a_side_stop_only_where_its_row_says_so(shop: Shop) -> None:
    assert [name for name, machine in shop.machines.items() if machine.side_stop is not None] == ["mid-740"]


def test_the_parts_of_a_machine_fit_each_other(shop: Shop) -> None:
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        assert machine.frames_mm < machine.bed_length_mm
        assert machine.frames_mm <= machine.ram_beam.span_mm or machine.ram_beam.span_mm > 0.9 * machine.frames_mm
        assert machine.drive_spacing_mm < machine.bed_length_mm
        assert 0 <= machine.stop_z_mm[0] < machine.stop_z_mm[1] <= machine.bed_length_mm
        assert machine.slow_mm_per_s <= 10, "above 10 mm/s closing is no longer slow"
        assert machine.bend_mm_per_s <= 10


def plain(shop: Shop, **changes: Any) -> dict[str, Any]:
    """The smallest machine as a table writes it, with changes."""
    row = shop.machines["bench-310"].model_dump()
    row.update(changes)
    return {key: value for key, value in row.items() if value is not ...}


def test_a_row_survives_being_written_and_read(shop: Shop) -> None:
    assert Machine.model_validate(plain(shop)) == shop.machines["bench-310"]


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"stop_x_mm": [100, 10]}, "does not rise"),
        ({"stop_z_mm": [10, 10]}, "does not rise"),
        ({"stop_r_mm": [10]}, "stop_r_mm"),
        ({"stop_r_mm": [1, 2, 3]}, "stop_r_mm"),
        ({"stop_r_mm": 5}, "stop_r_mm"),
        ({"stroke_mm": 400}, "more than the daylight"),
        ({"slow_mm_per_s": 500}, "more than the fast speed"),
        ({"force_kn": 0}, "greater than 0"),
        ({"fingers": 0}, "greater than or equal to 1"),
        ({"fingers": 1.5}, "fingers"),
        ({"ram_beam": ...}, "ram_beam"),
        ({"ram_beam": {"span_mm": 1}}, "thickness_mm"),
        ({"bed_outline_mm": [[0, 0]]}, "is no outline"),
    ],
)
def test_what_is_no_machine(shop: Shop, changes: dict[str, Any], wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        Machine.model_validate(plain(shop, **changes))


def test_poissons_ratio_of_a_beam_stays_under_a_half() -> None:
    row = {"span_mm": 1000, "thickness_mm": 50, "height_mm": 500, "modulus_mpa": 210000, "poisson": 0.5}
    with pytest.raises(ValueError, match="poisson"):
        Beam.model_validate(row)
