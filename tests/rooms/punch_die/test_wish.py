"""A wish and the tooling it is put to."""

from __future__ import annotations

from flangewise.punch_die import BendWish, Tooling

from .made import machine, shop


def test_a_bend_is_named_by_its_number_and_one_without_is_not() -> None:
    where = BendWish(3, 90).where
    assert where is not None and dict(where.values) == {"number": 3}
    assert BendWish(0, 90).where is None


def test_the_tooling_of_a_shop_has_all_its_tools_and_its_margins() -> None:
    tools = Tooling.of(shop(), machine())
    assert {punch.name for punch in tools.punches} == set(shop().punches)
    assert {die.name for die in tools.dies} == set(shop().dies)
    assert tools.overbend_margin_deg == shop().defaults.overbend_margin_deg
    assert tools.concentrated_share == shop().defaults.concentrated_share
    assert tools.machine == machine()
