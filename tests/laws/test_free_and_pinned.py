"""What a setter names is never better than what the program may choose, nor possible where that is not.

A pair that a pinned plan bends with is one the free plan could take; a tool more in the shop never makes a part dearer.
Nor does it matter in which order a shop lists its tools, or what was planned before.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from flangewise.jobs import Job, worked_out
from flangewise.jobs.problem import RANK_PRICE
from flangewise.jobs.wishes import wishes
from flangewise.part import read_part
from flangewise.punch_die import Stock, Tooling
from flangewise.punch_die.judge import formed_alike, judge, vee_pairs
from flangewise.shop import Segment, Shop, load_shop

from ..brute.parts import drawn
from ..house.running import run

EXAMPLES = Path(__file__).parent.parent.parent / "examples" / "parts"
SAME_S = 1e-6
SHORT_LEGS = [(1.2, 2.9, 60), (1.2, 2.6, 45), (1.1, 3.0, 60)]


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def planned(shop: Shop, bends: str, legs: str = "60, 60", *, length_mm: float = 100, head: str = "") -> Job:
    text = f"part: law\nmachine: mid-740\n{head or 'material: DC01, thickness: 1.5'}\n".replace(", ", "\n", 1)
    section = f"section: {{length: {length_mm}, legs: [{legs}], bends: [{bends}]}}\n"
    return worked_out(read_part(text + section, "law.yaml", shop), shop)


def codes(job: Job, severity: str) -> set[str]:
    return {finding.code for finding in job.findings if finding.severity == severity}


def cost_s(job: Job) -> float:
    return job.ordered.solution.weight if job.feasible and job.ordered is not None else math.inf


@pytest.mark.parametrize(("thickness", "leg", "turn"), SHORT_LEGS)
def test_a_leg_that_only_an_unusual_die_bends_is_bent_with_it(
    shop: Shop, thickness: float, leg: float, turn: int
) -> None:
    """Dies of 4 to 16 sheets are tried first: 6 mm and up here, into which the leg falls. The 4 mm one does."""
    head = f"material: 5754-H22, thickness: {thickness}"
    pinned = planned(shop, f"{{turn: {turn}, die: vee-4-88}}", f"{leg}, 60", head=head)
    free = planned(shop, f"{{turn: {turn}}}", f"{leg}, 60", head=head)
    assert pinned.feasible and free.feasible
    assert cost_s(free) <= cost_s(pinned) + SAME_S
    assert "opening-out-of-range" in codes(free, "caution")


def test_an_unusual_die_is_not_taken_where_a_usual_one_bends(shop: Shop) -> None:
    free = planned(shop, "{turn: 60}", "3.3, 60", head="material: 5754-H22, thickness: 1.2")
    assert free.feasible and "opening-out-of-range" not in codes(free, "caution")


def held_short(shop: Shop, punch: str, segments_mm: tuple[float, ...]) -> Shop:
    """The shop with so little of a punch."""
    segments = tuple(Segment(length_mm=each, held=1) for each in segments_mm)
    short = shop.punches[punch].model_copy(update={"segments": segments})
    return replace(shop, punches={**shop.punches, punch: short})


def test_a_punch_too_short_for_the_bend_leaves_the_others(shop: Shop) -> None:
    """Of the best punch 390 are held: a bend of 400 is made with another one, and with it where it is 380."""
    best = planned(shop, "90", length_mm=400)
    assert best.setup is not None
    name = best.setup.steps[0].pair.tools.punch_name
    assert name is not None
    few = held_short(shop, name, (200.0, 190.0))
    other, shorter = planned(few, "90", length_mm=400), planned(few, "90", length_mm=380)
    assert other.setup is not None and shorter.setup is not None
    assert other.feasible and other.setup.steps[0].pair.tools.punch_name != name
    assert shorter.setup.steps[0].pair.tools.punch_name == name
    assert cost_s(best) + rank_of_the_best(best) <= cost_s(other) + rank_of_the_best(other) + SAME_S
    pinned = planned(few, f"{{turn: 90, punch: {name}}}", length_mm=400)
    assert not pinned.feasible and codes(pinned, "refuse") == {"punch-too-short"}
    allowed = replace(few, defaults=few.defaults.model_copy(update={"end_short_mm": 10.0}))
    again = planned(allowed, "90", length_mm=400)
    assert again.setup is not None and again.setup.steps[0].pair.tools.punch_name == name
    assert cost_s(again) == pytest.approx(cost_s(best))


def reversed_rows(shop: Shop) -> Shop:
    tables = ("punches", "dies", "machines")
    return replace(shop, **{table: dict(reversed(getattr(shop, table).items())) for table in tables})


CHANNELS = [("45, 40, 45", "90, 90"), ("40, 60, 30", "90, {turn: 60, away: true}"), ("30, 5, 30", "90, 90")]


@pytest.mark.parametrize(("legs", "bends"), CHANNELS)
def test_the_order_of_rows_changes_nothing(shop: Shop, legs: str, bends: str) -> None:
    text = "part: law\nmachine: any\nmaterial: DC01\nthickness: 1.5\n"
    text += f"section: {{length: 100, legs: [{legs}], bends: [{bends}]}}\n"
    one, other = (worked_out(read_part(text, "law.yaml", each), each) for each in (shop, reversed_rows(shop)))
    assert list(shop.punches) != list(reversed_rows(shop).punches)
    assert one.feasible == other.feasible
    assert cost_s(one) == pytest.approx(cost_s(other), abs=SAME_S)


def rank_of_the_best(job: Job) -> float:
    """What speaks against the best pair of each bend, on no scale but the pairs' own, in seconds a part."""
    material, tooling = job.shop.materials[job.part.material], Tooling.of(job.shop, job.machine)
    stock, total = Stock(material, job.part.thickness_mm), 0.0
    for wish in wishes(job.part, job.shop):
        asked = replace(wish, number=None, legs_mm=(min(leg for leg in wish.legs_mm if leg is not None), None))
        known = formed_alike(vee_pairs(tooling, asked, stock), asked, stock, tooling=tooling)
        made = judge(known, asked, stock, tooling=tooling)
        total += RANK_PRICE * min(each.cost for each in made if not each.refused)
    return total


@pytest.mark.parametrize(("legs", "bends"), CHANNELS[:2])
def test_a_tool_less_never_makes_it_cheaper(shop: Shop, legs: str, bends: str) -> None:
    """A pair's rank is told over the best pair of the shop: where that goes, the others are told less by as much."""
    whole = planned(shop, bends, legs)
    assert whole.setup is not None
    taken = {(step.pair.tools.punch_name, step.pair.tools.die_name) for step in whole.setup.steps}
    assert taken
    for punch, die in taken:
        punches = {name: each for name, each in shop.punches.items() if name != punch}
        dies = {name: each for name, each in shop.dies.items() if name != die}
        for less in (replace(shop, punches=punches), replace(shop, dies=dies)):
            other = planned(less, bends, legs)
            assert cost_s(whole) + rank_of_the_best(whole) <= cost_s(other) + rank_of_the_best(other) + SAME_S


def test_what_was_planned_before_changes_nothing() -> None:
    """One after the other in this process, and the second by itself in one of its own: the same bytes."""
    first, second = EXAMPLES / "zed.yaml", EXAMPLES / "angle.yaml"
    run("plan", str(first), "--format", "json")
    _, out, _ = run("plan", str(second), "--format", "json")
    alone = subprocess.run(
        [sys.executable, "-m", "flangewise", "plan", str(second), "--format", "json"],
        capture_output=True,
        text=True,
        check=False,
        env=dict(os.environ),
    )
    assert out and alone.stdout == out


def test_no_order_of_an_offset_takes_less_than_the_free_plan(shop: Shop) -> None:
    """In each of its poses another way round of the pair makes it: what the turned one costs is not counted twice."""
    made = drawn(310107, shop, most_bends=4)
    free = worked_out(made.part, made.shop)
    pinned = [worked_out(replace(made.part, order=order), made.shop) for order in ((1, 2), (2, 1))]
    costs = [job.solution.cost for job in pinned]
    assert free.solution.cost == pytest.approx(min(cost for cost in costs if cost is not None), abs=SAME_S)
    assert any(step.stacks[0].turned for step in free.solution.steps)
