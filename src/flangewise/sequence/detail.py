"""The steps of a plan with everything that is worked out once the plan stands."""

from __future__ import annotations

from flangewise.sequence.moves import START, moves_between
from flangewise.sequence.placing import FULL, part_path
from flangewise.sequence.search import Search
from flangewise.sequence.solution import Step
from flangewise.sequence.trace import Choice


def steps_of(search: Search, plan: tuple[Choice, ...]) -> tuple[Step, ...]:
    """The steps of a plan."""
    return tuple(_step(search, choice, plan[i - 1] if i else None) for i, choice in enumerate(plan))


def _step(search: Search, choice: Choice, before: Choice | None) -> Step:
    problem = search.gates.problem
    way, thickness = choice.way, problem.chain.thickness_mm
    option = search.gates.option(way)
    last = len(option.hits) - 1
    moves = moves_between(problem.costs, before.pose, choice.pose) if before else ()
    changed = before is not None and search.stations.change[search.stations.of(before.way), search.stations.of(way)] > 0
    outlines = (
        part_path(problem, way, choice.done),
        part_path(problem, way, choice.done, hit=last, share=FULL),
    )
    before_mm, after_mm = (tuple(map(tuple, path.outline_mm(thickness).tolist())) for path in outlines)
    return Step(
        operation=way.operation,
        label=problem.operations[way.operation].label,
        option=way.option,
        stacks=tuple(hit.stack for hit in option.hits),
        marked_up=way.marked_up,
        behind="start" if way.behind == START else "end",
        gauged=None,
        moves=moves,
        tool_changed=bool(changed),
        done=choice.done,
        cost=choice.cost,
        clearance_mm=None,
        lift_mm=None,
        open_height_mm=None,
        opening_reason=None,
        side_exit=False,
        before_mm=before_mm,
        after_mm=after_mm,
    )
