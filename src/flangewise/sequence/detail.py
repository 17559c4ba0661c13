"""The steps of a plan with everything that is worked out once the plan stands."""

from flangewise.sequence.forward import Choice
from flangewise.sequence.moves import START, moves_between
from flangewise.sequence.nearness import least_clearance_mm
from flangewise.sequence.opening import least_opening_mm
from flangewise.sequence.placing import FULL, part_path
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.search import Search
from flangewise.sequence.solution import Step, folded_section


def steps_of(search: Search, plan_check: PlanCheck, plan: tuple[Choice, ...]) -> tuple[Step, ...]:
    """The steps of a plan."""
    return tuple(_step(search, plan_check, choice, before=plan[i - 1] if i else None) for i, choice in enumerate(plan))


def _step(search: Search, plan_check: PlanCheck, choice: Choice, *, before: Choice | None) -> Step:
    problem, way = search.feasibility.problem, choice.way
    option = search.feasibility.option(way)
    opening = plan_check.opening(choice)
    slid = opening is not None and opening.side_exit and opening.lift_mm is None
    pulled_mm = search.feasibility.straight_pull_mm(way, choice.done)
    start_behind = way.behind == START
    changed = before is not None and search.stations.change[search.station_of(before.way), search.station_of(way)] > 0
    return Step(
        operation=way.operation,
        label=problem.operations[way.operation].label,
        option=way.option,
        stacks=tuple(hit.stack for hit in option.hits),
        marked_up=way.marked_up,
        behind="start" if start_behind else "end",
        gauged=plan_check.contact(choice).gauging,
        moves=moves_between(problem.costs, before.pose, choice.pose) if before else (),
        tool_changed=bool(changed),
        done=choice.done,
        cost=choice.cost,
        clearance_mm=least_clearance_mm(search, choice),
        lift_mm=opening.lift_mm if opening else None,
        open_height_mm=opening.open_height_mm if opening else None,
        opening_reason=opening.reason if opening else None,
        opening_piece=opening.piece if opening else None,
        side_exit=slid,
        least_opening_mm=problem.chain.thickness_mm if slid else least_opening_mm(opening, pulled_mm),
        reach_mm=search.feasibility.reach_mm(way, choice.done),
        hold=search.feasibility.hold(way, choice.done),
        wishes_s=search.feasibility.wishes(way, choice.done, datum=choice.datum),
        before=folded_section(part_path(problem, way, choice.done), problem.chain, start_behind=start_behind),
        after=folded_section(
            part_path(problem, way, choice.done, hit=len(option.hits) - 1, share=FULL),
            problem.chain,
            start_behind=start_behind,
        ),
    )
