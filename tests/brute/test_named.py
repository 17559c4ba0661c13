"""Parts on which the planner and the judge once differed, by name: each what it was, and what it must come to.

Those that still differ are expected to, with what is wrong; the day the planner is right they say so.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from flangewise.commands.plan import plan_record
from flangewise.jobs import worked_out
from flangewise.part import read_part
from flangewise.shop import load_shop

from .compare import Verdict, judged, told
from .parts import drawn, judged_shop, rack


@dataclass(frozen=True)
class Named:
    """A part on a rack of a few tools."""

    head: str
    length_mm: float
    legs: str
    bends: str
    dies: tuple[str, ...]
    punches: tuple[str, ...]
    machine: str = "mid-740"

    def judged(self) -> Verdict:
        """What the planner tells of it, judged."""
        shop = rack(judged_shop(load_shop()), self.dies, self.punches)
        section = f"section: {{length: {self.length_mm}, legs: [{self.legs}], bends: [{self.bends}]}}\n"
        part = read_part(f"part: named\nmachine: {self.machine}\n{self.head}\n{section}", "named.yaml", shop)
        return judged(part, shop, plan_record(worked_out(part, shop)))


DEEP = Named(
    "material: DC01\nthickness: 2",
    100,
    "52, 30, 52",
    "90, 90",
    ("vee-10-86", "vee-16-80"),
    ("straight-88", "neck-deep"),
)
MIXED = Named(
    "material: 5754-H22\nthickness: 3",
    60,
    "72, 91.91, 78.83, 43.27",
    "-90, -90, 90",
    ("vee-20-80", "vee-24-30"),
    ("straight-80-nose-2", "acute-30"),
)
NARROW = Named(
    "material: DC01\nthickness: 1",
    100,
    "48.74, 60, 48.74",
    "90, 90",
    ("vee-8-86",),
    ("straight-88", "narrow-86", "neck-deep"),
)
FOUR_LEGS = Named(
    'material: "1.4301"\nthickness: 1.5',
    100,
    "69.6, 18.5, 26.3, 29.4",
    "90, 90, {turn: 60, away: true}",
    ("vee-10-86", "vee-12-85"),
    ("straight-88", "neck-deep"),
)
HOLD = Named(
    "material: 5754-H22\nthickness: 2",
    250,
    "78.6, 41.3",
    "{turn: 90, away: true, gauge: start}",
    ("vee-8-86", "vee-12-85"),
    ("narrow-86", "straight-80-nose-3"),
)
HEMMED = Named(
    "material: DC01\nthickness: 1",
    250,
    "13.56, 49.04, 29.38",
    "{hem: closed, away: true}, 90",
    ("vee-8-86", "vee-8-30", "flat-bed"),
    ("narrow-86", "acute-30", "flattener"),
    "bench-310",
)
OFTEN = "punch: neck-shallow, die: vee-12-85"
FIVE_LEGS = Named(
    "material: DC01\nthickness: 1.5",
    100,
    "71.5, 42.3, 54.1, 29.7, 34.7",
    f"{{turn: 90, {OFTEN}}}, {{turn: 45, away: true, punch: narrow-86, die: vee-10-86}}, "
    f"{{turn: 90, away: true, {OFTEN}}}, {{turn: 90, away: true, {OFTEN}}}",
    ("vee-10-86", "vee-12-85"),
    ("neck-shallow", "narrow-86"),
)


# The second bend with the pre-bend's tools, which still stand there, is less than with a pair that is put in for it.
BACK_TO_THE_PRE_BEND = Named(
    "material: 1.4301\nthickness: 1.5",
    180,
    "15.91, 22.71, 23.37",
    "{hem: closed}, 90",
    ("vee-10-86", "vee-12-30", "flat-bed"),
    ("narrow-86", "acute-30", "flattener"),
)


def test_who_comes_back_to_the_tools_of_a_pre_bend_pays_for_the_shift_alone() -> None:
    verdict = BACK_TO_THE_PRE_BEND.judged()
    assert verdict.word == "agrees", told(verdict)
    assert verdict.own is not None
    assert [hit.bend for hit in verdict.own.hits] == [0, 1]


@pytest.mark.parametrize("named", [DEEP, NARROW, FIVE_LEGS], ids=["deep channel", "narrow channel", "five legs"])
def test_once_wrong_and_right_now(named: Named) -> None:
    verdict = named.judged()
    assert verdict.low is not None
    assert not verdict.word.startswith("WRONG"), told(verdict)


def test_the_judge_bends_two_dies_on_the_blank_they_make_together() -> None:
    often = "punch: straight-80-nose-2, die: vee-20-80"
    pins = [often, "punch: acute-30, die: vee-24-30", often]
    turns = [f"{{turn: 90, away: {away}, {pin}}}" for away, pin in zip(("true", "true", "false"), pins, strict=True)]
    pinned = Named(MIXED.head, MIXED.length_mm, MIXED.legs, ", ".join(turns), MIXED.dies, MIXED.punches)
    verdict = pinned.judged()
    assert verdict.word == "agrees", told(verdict)
    assert verdict.low is not None
    assert verdict.low.breach == 0.0


def test_two_dies_on_the_blank_they_make_together() -> None:
    verdict = MIXED.judged()
    assert not verdict.word.startswith("WRONG"), told(verdict)


def test_a_hair_more_to_hold_does_not_change_the_die() -> None:
    # 60 mm are to be in front: 39.56 on the blank of the 8 mm opening, 39.19 on that of the 12 mm one, which is alike.
    verdict = HOLD.judged()
    assert verdict.low is not None
    assert verdict.low.breach == 1
    assert verdict.word == "agrees", told(verdict)


def test_stations_that_do_not_stand_beside_each_other_are_weighed_as_they_are() -> None:
    # Two of 250 would stand on 900 mm, but not the segments held of these: to bend with the acute pair is 1.35 s less.
    verdict = HEMMED.judged()
    assert verdict.low is not None and verdict.low.breach == 1
    assert verdict.word == "agrees", told(verdict)


def test_a_part_that_comes_straight_out_is_priced_so_where_sliding_it_off_would_open_less() -> None:
    """One hem gauged from its far edge: the table reckons with the less of both, its plan with the way it goes."""
    made = drawn(340039, judged_shop(load_shop()))
    job = worked_out(made.part, made.shop)
    assert job.setup is not None and job.setup.cost_s == pytest.approx(job.solution.cost, abs=1e-6)
    assert job.solution.proven_least and not any(step.side_exit for step in job.solution.steps)
    verdict = judged(made.part, made.shop, plan_record(job))
    assert verdict.word == "agrees", told(verdict)


def test_a_plan_stays_proven_beside_machines_that_were_looked_at_below_it() -> None:
    """The plan on the second machine is dearer and the search below the first one's found none: nothing takes less."""
    made = drawn(340038, load_shop())
    solution = worked_out(made.part, made.shop).solution
    assert solution.proven_least and solution.cost == pytest.approx(87.59, abs=0.01)
