"""A robot's plan of a panel beside the same panel otherwise: without turning in hand, and by hand."""

from dataclasses import replace

from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.ways import HandledWay, handled_way, without_turning
from flangewise.sequence import Watch
from flangewise.setup import SetupStep, panel_step
from flangewise.shop import Handler, Shop


def panel_handled_ways(plan: PanelPlan, shop: Shop, watch: Watch) -> tuple[HandledWay, ...]:
    """As `handled_ways` of a section, each planned anew on the machine of the plan."""
    if plan.handler.gripper is None or not plan.feasible or plan.setup is None:
        return ()

    def by(handler: Handler) -> PanelPlan:
        own = replace(shop, handlers={**shop.handlers, handler.name: handler})
        part = replace(plan.part, handler=handler.name, machine=plan.machine.name, machines=())
        return planned_panel(part, own, watch)

    plain = by(without_turning(shop.handlers[plan.handler.name]))
    found = [handled_way("in-hand", plan, plan, _behind), handled_way("station", plain, plan, _behind)]
    operator = next((each for each in shop.handlers.values() if each.kind == "operator"), None)
    if operator is not None:
        found.append(handled_way("by-hand", by(operator), plan, _behind))
    return tuple(found)


def _behind(step: SetupStep) -> object:
    """What lies behind the tools at a step of a panel."""
    return panel_step(step.planned).parent_behind
