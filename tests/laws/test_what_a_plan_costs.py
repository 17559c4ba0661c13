"""What a plan costs is seconds a part: what the set-up counts, and what the search looked for, in the same money."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
import yaml

from flangewise.jobs import Job, worked_out
from flangewise.part import read_part
from flangewise.sequence import Step
from flangewise.shop import Shop, load_shop

from .sections import shop as example_shop

ROOT = Path(__file__).parents[2]
TOY = ROOT / "tests" / "rooms" / "shop" / "toy_shop"
EXAMPLES = sorted((ROOT / "examples" / "parts").glob("*.yaml"))
REASONED = sorted((ROOT / "tests" / "parts").glob("*/part.yaml"))
SAME_S = 1e-6
# More than any plan takes: what one unit of a broken hold rule is reckoned with while searching.
BREACH_S = 1e5


def shop_of(file: Path) -> Shop:
    """The shop a part is meant for: a folder of the reasoned ones names it."""
    told = file.parent / "expected.yaml"
    named = yaml.safe_load(told.read_text(encoding="utf-8")).get("shop") if told.exists() else None
    return load_shop(TOY) if named == "toy" else example_shop()


def name_of(file: Path) -> str:
    return file.parent.name if file.name == "part.yaml" else file.stem


def waited_s(before: Step, after: Step, job: Job) -> float:
    """Seconds by which the stops' way from hit to hit is longer than what is done with the part, by hand."""
    if before.gauged is None or after.gauged is None:
        return 0.0
    machine, handler = job.machine, job.handler
    way, speed, acceleration = (
        abs(after.gauged.x_mm - before.gauged.x_mm),
        machine.stop_speed_mm_per_s,
        machine.acceleration_mm_per_s2,
    )
    stops_s = way / speed + speed / acceleration if way >= speed**2 / acceleration else 2 * (way / acceleration) ** 0.5
    seconds = {
        ("turn-in-plane", None): handler.turn_s,
        ("turn-over", "the bed"): handler.turn_over_bed_s,
        ("turn-over", "front to back"): handler.turn_over_front_s,
    }
    handled_s = sum(seconds[move.move, move.axis] for move in after.moves)
    changed = before.stacks[-1].name != after.stacks[0].name
    if after.moves or changed:
        handled_s += max(handler.withdraw_s + handler.insert_s, handler.next_stop_s) + handler.shift_s * changed
    else:
        handled_s = handler.next_stop_s
    return (1 + handler.allowance_share) * max(0.0, stops_s - handled_s)


@pytest.mark.parametrize("file", [*EXAMPLES, *REASONED], ids=name_of)
def test_the_cost_is_cycle_share_of_the_set_up_and_wishes(file: Path) -> None:
    shop = shop_of(file)
    job = worked_out(read_part(file.read_text(encoding="utf-8"), file.name, shop), shop)
    if not job.feasible:
        assert job.setup is None
        return
    assert job.ordered is not None and job.setup is not None
    solution, setup = job.ordered.solution, job.setup
    assert solution.cost is not None and solution.lower_bound is not None
    wishes = sum(seconds for _, seconds in setup.wishes_s)
    told = setup.cycle_s + setup.set_up_s / setup.quantity + wishes
    assert solution.cost == pytest.approx(told, abs=SAME_S)
    assert solution.lower_bound <= solution.cost + SAME_S
    assert not solution.proven_least or solution.lower_bound == pytest.approx(solution.cost, abs=SAME_S)
    # The same by what the search reckoned with, step by step, the stops' way where it is the longer.
    steps = sum(step.cost for step in solution.steps) - BREACH_S * solution.breach
    waits = sum(waited_s(before, after, job) for before, after in pairwise(solution.steps))
    searched = job.ordered.problem.costs.base + steps + waits + solution.loose_s
    assert searched == pytest.approx(told, abs=SAME_S)


def test_the_examples_are_all_there() -> None:
    assert len(EXAMPLES) == 10 and len(REASONED) >= 10
