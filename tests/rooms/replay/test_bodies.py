"""Stacks put together from a shop's rows: where ram and bed stand, and what is turned with a punch."""

import pytest

from flangewise.replay import bodies_of
from flangewise.shop import load_shop


@pytest.fixture(scope="module")
def shop():
    return load_shop(None)


def spans(stack, name):
    points = next(solid.points_mm for solid in stack.solids if solid.name == name)
    return min(up for _, up in points), max(up for _, up in points)


def test_ram_stands_on_the_punch_and_the_die_on_the_bed(shop):
    machine = shop.machines["bench-310"]
    punch, die = shop.punches["straight-88"], shop.dies["vee-8-86"]
    stack = bodies_of(shop, machine).stack("straight-88", "vee-8-86")
    assert spans(stack, "ram")[0] == pytest.approx(punch.height_mm)
    assert spans(stack, "bed")[1] == pytest.approx(-die.height_mm)
    assert stack.opening_mm == pytest.approx(die.vee.opening_mm, abs=2e-3)
    assert stack.shoulder_radius_mm == pytest.approx(die.vee.shoulder_radius_mm, abs=2e-3)
    assert stack.kind == "vee"


def test_a_turned_punch_leaves_the_die(shop):
    bodies = bodies_of(shop, shop.machines["bench-310"])
    plain, turned = (bodies.stack("neck-deep", "vee-8-86", turned=way) for way in (False, True))
    punch, mirrored = (
        next(solid.points_mm for solid in stack.solids if solid.name == "punch") for stack in (plain, turned)
    )
    assert punch != mirrored
    assert {(round(-across, 6), round(up, 6)) for across, up in punch} == {
        (round(a, 6), round(u, 6)) for a, u in mirrored
    }
    assert plain.solids[2].points_mm == turned.solids[2].points_mm


def test_an_offset_pair_is_turned_as_a_pair(shop):
    punch = next(tool for tool in shop.punches.values() if tool.kind == "offset")
    die = next(tool for tool in shop.dies.values() if tool.kind == "offset" and tool.offset_mm == punch.offset_mm)
    bodies = bodies_of(shop, shop.machines["bench-310"])
    plain, turned = (bodies.stack(punch.name, die.name, turned=way) for way in (False, True))
    assert plain.kind == "offset"
    assert plain.solids[2].points_mm != turned.solids[2].points_mm


def test_kinds_that_do_not_belong_together_are_told_apart(shop):
    bodies = bodies_of(shop, shop.machines["bench-310"])
    assert bodies.stack("flattener", "vee-8-86").kind == "flat over vee"
    with pytest.raises(KeyError):
        bodies.stack("no-such", "vee-8-86")
