"""A robot's plan beside the same part otherwise: without turning in hand, and by hand; each its own least plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Literal

from flangewise.jobs.job import Job
from flangewise.jobs.plan_part import blanked_on, planned
from flangewise.records import dataclass, replace
from flangewise.setup import SetupStep
from flangewise.shop import Handler

if TYPE_CHECKING:
    from flangewise.jobs.panel_plan import PanelPlan

WayName = Literal["in-hand", "station", "by-hand"]


@dataclass(frozen=True)
class HandledWay:
    """One way to handle a part: regrips and seconds of its least plan, None without one.

    `steps_by_hand`: which steps no grip holds. `differs_at`: the steps at which bend, pose, grip or regrip are not
    those of the plan itself.
    """

    way: WayName
    handler: str
    regrips: int | None
    turns_in_hand: int
    steps_by_hand: tuple[int, ...]
    cycle_s: float | None
    cost_s: float | None
    proven_least: bool
    order: tuple[int, ...]
    differs_at: tuple[int, ...]

    def as_json(self) -> dict[str, Any]:
        """As a script reads it."""
        return dict(vars(self))


def handled_ways(job: Job) -> tuple[HandledWay, ...]:
    """The plan of a job, the same without turning in hand but with a station to put the part down, and by hand.

    Empty where no gripper holds the part. The hand is that of the shop's first operator, the machine the plan's own.
    """
    if job.handler.gripper is None or not job.feasible or job.setup is None:
        return ()
    found = [handled_way("in-hand", job, job, _behind)]
    plain = _planned_by(job, without_turning(job.shop.handlers[job.handler.name]))
    found.append(handled_way("station", plain, job, _behind))
    operator = next((each for each in job.shop.handlers.values() if each.kind == "operator"), None)
    if operator is not None:
        found.append(handled_way("by-hand", _planned_by(job, operator), job, _behind))
    return tuple(found)


def without_turning(handler: Handler) -> Handler:
    """The robot with a gripper that turns nothing by itself and is changed on a station alone."""
    assert handler.gripper is not None
    plain = {"turning": (), "regrip_in_tools_s": None, "regrip_station": True}
    return handler.model_copy(update={"gripper": handler.gripper.model_copy(update=plain)})


def _planned_by(job: Job, handler: Handler) -> Job:
    handlers: Mapping[str, Handler] = {**job.shop.handlers, handler.name: handler}
    shop, part = replace(job.shop, handlers=handlers), replace(job.part, handler=handler.name)
    return planned(blanked_on(part, shop, job.machine.name, job.watch))


Behind = Callable[[SetupStep], object]


def _behind(step: SetupStep) -> object:
    """What lies behind the tools at a step of a section."""
    return step.planned.of_section.behind


def handled_way(name: WayName, job: Job | PanelPlan, than: Job | PanelPlan, behind: Behind) -> HandledWay:
    """One plan as a way to handle the part, beside another; `behind`: what lies behind the tools at a step."""
    setup = job.setup if job.feasible else None
    return HandledWay(
        way=name,
        handler=job.handler.name,
        regrips=None if setup is None else setup.regrips,
        turns_in_hand=sum(each.held.between == "in-hand" for each in job.grips),
        steps_by_hand=tuple(each.step for each in job.grips if each.grip is None),
        cycle_s=None if setup is None else setup.cycle_s,
        cost_s=None if setup is None else setup.cost_s,
        proven_least=setup is not None and job.solution is not None and job.solution.proven_least,
        order=() if setup is None else tuple(bend for step in setup.steps for bend in step.bends),
        differs_at=_differs(job, than, behind),
    )


def _differs(job: Job | PanelPlan, than: Job | PanelPlan, behind: Behind) -> tuple[int, ...]:
    """Steps of one plan that are not as another has them; all of it where there are more or fewer."""
    if job is than or job.setup is None or than.setup is None:
        return ()
    one, other = (_told(each, behind) for each in (job, than))
    longest = max(len(one), len(other))
    return tuple(step for step in range(1, longest + 1) if one.get(step) != other.get(step))


def _told(job: Job | PanelPlan, behind: Behind) -> dict[int, tuple[object, ...]]:
    assert job.setup is not None
    grips = {each.step: (each.grip, each.grip_out, each.held.between) for each in job.grips}
    return {step.step: (step.bends, step.marked_face, behind(step), grips.get(step.step)) for step in job.setup.steps}
