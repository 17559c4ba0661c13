"""Which machines a part may be made on: its own words, else the shop's."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.part import machines_wanted, read_part
from flangewise.shop import Shop

from .made import read, shop, text

EVERY = ("bench-310", "mid-740", "long-1450")


def with_default(machine: str | tuple[str, ...]) -> Shop:
    return replace(shop(), defaults=shop().defaults.model_copy(update={"machine": machine}))


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("", ("mid-740",)),
        ("machine: bench-310\n", ("bench-310",)),
        ("machine: [bench-310]\n", ("bench-310",)),
        ("machine: [long-1450, bench-310]\n", ("long-1450", "bench-310")),
        ("machine: any\n", EVERY),
        ("machine: [any]\n", EVERY),
    ],
)
def test_the_part_s_word_goes_first(written: str, wanted: tuple[str, ...]) -> None:
    assert tuple(shop().machines) == EVERY
    assert machines_wanted(read(written), with_default("mid-740")) == wanted


@pytest.mark.parametrize(
    ("default", "wanted"), [("any", EVERY), (("long-1450", "bench-310"), ("long-1450", "bench-310"))]
)
def test_the_shop_may_leave_it_open(default: str | tuple[str, ...], wanted: tuple[str, ...]) -> None:
    assert machines_wanted(read(), with_default(default)) == wanted


def test_one_machine_named_is_the_part_s_machine() -> None:
    one, two, every = read("machine: mid-740\n"), read("machine: [mid-740, bench-310]\n"), read("machine: any\n")
    assert (one.machine, one.machines) == ("mid-740", ())
    assert (two.machine, two.machines) == (None, ("mid-740", "bench-310"))
    assert (every.machine, every.machines) == (None, ("any",))
    assert machines_wanted(replace(two, machine="bench-310"), shop()) == ("bench-310",)


def test_names_in_a_list_keep_their_zeros() -> None:
    renamed = replace(shop(), machines={"007": shop().machines["mid-740"]})
    part = read_part(text("machine: [007]\n"), "p.yaml", renamed)
    assert part.machine == "007"
