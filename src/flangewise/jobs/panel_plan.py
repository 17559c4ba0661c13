"""The whole way for a panel: tools, blank, order with its proof, set-up; on the machine that takes the least."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from flangewise.bend import angle_tolerance_deg
from flangewise.clearance import CONTACT_MM
from flangewise.findings import Finding, caution, place, refuse, refused, sorted_findings
from flangewise.jobs.by_hand import HandStep, first_piece_findings, panel_hand_steps
from flangewise.jobs.job import OtherMachine
from flangewise.jobs.panel import PanelJob, panel_findings, panel_jobs
from flangewise.jobs.panel_gripped import gripped, held_set_up, holding_of
from flangewise.jobs.panel_problem import ToolSet, centre_of, panel_problem, stands_beside, tool_sets
from flangewise.jobs.panel_rows import NO_ROWS, ToldRows, with_rows
from flangewise.panel_order import (
    PanelBlocker,
    PanelProblem,
    PanelSolution,
    find_panel_order,
    panel_floor_s,
    row_price_s,
)
from flangewise.part import PanelPart
from flangewise.pattern import NoBlank, PanelBlank
from flangewise.punch_die import PunchDie, usable
from flangewise.records import dataclass, replace
from flangewise.sequence import BREACH_S, UNLIMITED, Watch
from flangewise.setup import (
    PanelBend,
    PanelSize,
    Setup,
    Work,
    Workpiece,
    near_findings,
    opening_mm,
    panel_corrections,
    panel_sizes,
    set_up_panel,
    size_findings,
    tolerances_of,
)
from flangewise.shop import Handler, Machine, Shop, thickness_tolerance_mm
from flangewise.words import phrase

if TYPE_CHECKING:
    from flangewise.handling import HeldAt, PanelGripPlanner

# Costs nearer to each other than this are alike.
SAME_S = 1e-6


@dataclass(frozen=True)
class PanelPlan:
    """A panel worked out as far as it goes; `job` holds the blank of the plan, where there is one.

    `solution` is None where no order was looked for. `looked_at`: the names of the pairs of tools it is proven over;
    `sizes` what each size may be off by through gauging; `others` the machines that were not taken. `grips`: how a
    gripper holds each hit, asked by `planner`; `by_hand`: how a hand does a robot's first piece.
    """

    job: PanelJob
    handler: Handler
    problem: PanelProblem | None
    solution: PanelSolution | None
    setup: Setup | None
    findings: tuple[Finding, ...]
    looked_at: tuple[str, ...] = ()
    sizes: tuple[PanelSize, ...] = ()
    others: tuple[OtherMachine, ...] = ()
    grips: tuple[HeldAt, ...] = ()
    planner: PanelGripPlanner | None = None
    by_hand: tuple[HandStep, ...] = ()

    @property
    def part(self) -> PanelPart:
        """What is wanted."""
        return self.job.part

    @property
    def blank(self) -> PanelBlank | None:
        """What is cut and bent."""
        return self.job.blank

    @property
    def machine(self) -> Machine:
        """The machine it is bent on."""
        return self.job.machine

    @property
    def pairs(self) -> Mapping[int, PunchDie | None]:
        """The pair in use for each bend, the best offer where there is no order."""
        return self.job.pairs

    @property
    def feasible(self) -> bool | None:
        """True with a plan, False where there is none with the tools offered, None where that is not known."""
        if self.solution is None or refused(self.findings):
            return False
        return self.solution.feasible

    @property
    def grips_s(self) -> float:
        """What holding it takes beside its order, the handler's allowance included."""
        return (1 + self.handler.allowance_share) * sum(each.more_s for each in self.grips)

    @property
    def weight_s(self) -> float:
        """What it is compared by; infinite without a plan."""
        return self.solution.weight if self.feasible and self.solution is not None else math.inf


def planned_panel(part: PanelPart, shop: Shop, watch: Watch = UNLIMITED, rows: ToldRows = NO_ROWS) -> PanelPlan:
    """The panel planned on the machine on which it takes the least, the others with what speaks against them.

    A machine is searched only for less than the plan at hand. Where none has a plan, the first is told, or one of
    which it is not known. Each may take a share of the time left; where it is over, the others are told with what they
    take at least, and the plan is not proven if that is less. `rows`: those that tools are to stand in.
    """
    jobs = [*panel_jobs(part, shop)]
    taken: PanelPlan | None = None
    others: list[OtherMachine] = []
    least_s = math.inf
    for left, job in zip(range(len(jobs) - 1, -1, -1), jobs, strict=True):
        watch.tell(machine=job.machine.name)
        below_s = math.inf if taken is None else taken.weight_s
        if watch.over() and below_s < math.inf:
            # Nothing is searched any more; what the machine takes at least is told.
            below_s = 0.0
        found = _on_machine(job, shop, watch.share(1.0 / (left + 1 + bool(left))), rows, below_s=below_s)
        if isinstance(found, float):
            others.append(OtherMachine(job.machine.name, at_least_s=_without_broken_s(found, taken)))
            least_s = min(least_s, found)
            continue
        if found.feasible and watch.any_plan:
            return _held(found, shop)
        taken, worse = _less(taken, found)
        if worse is not None:
            others.append(_not_taken(worse))
            least_s = min(least_s, _bound_s(worse))
    assert taken is not None
    taken = _held(replace(taken, others=tuple(others)), shop)
    solution = taken.solution
    if solution is None or not taken.feasible or least_s >= solution.weight - SAME_S:
        return taken
    # No more is proven of the plan than that no other machine takes less.
    return replace(taken, solution=solution.not_proven(least_s))


def _without_broken_s(weight_s: float, plan: PanelPlan | None) -> float:
    """Seconds of a weight that none is less than, without what it holds for rules of holding that are broken.

    It may break fewer of them than the plan at hand, never more: what weighs less than that is not looked for.
    """
    breach = 0 if plan is None or plan.solution is None else plan.solution.breach
    return max(weight_s - BREACH_S * min(breach, weight_s // BREACH_S), 0.0)


def _less(one: PanelPlan | None, other: PanelPlan) -> tuple[PanelPlan, PanelPlan | None]:
    """The better of two plans and the one passed over: a plan before none, then the least; not known before none."""
    if one is None:
        return other, None
    if one.feasible and other.feasible:
        return (other, one) if other.weight_s < one.weight_s - SAME_S else (one, other)
    rank = {True: 2, None: 1, False: 0}
    return (other, one) if rank[other.feasible] > rank[one.feasible] else (one, other)


def _bound_s(plan: PanelPlan) -> float:
    """What no plan on a machine that was passed over weighs less than."""
    if plan.feasible is False or plan.solution is None:
        return math.inf
    return min(plan.weight_s, plan.solution.open_bound)


def _not_taken(plan: PanelPlan) -> OtherMachine:
    if plan.feasible and plan.solution is not None:
        return OtherMachine(plan.machine.name, cost_s=plan.solution.cost)
    return OtherMachine(plan.machine.name, why_not=next(iter(plan.findings), None))


def _on_machine(job: PanelJob, shop: Shop, watch: Watch, rows: ToldRows, *, below_s: float) -> PanelPlan | float:
    """The plan on one machine; where none there weighs less than `below_s`, what none weighs less than."""
    handler = centre_of(job, shop).handler
    bare = PanelPlan(job, handler, None, None, None, job.findings)
    if job.blank is None or any(not usable(job.offers[bend]) for bend in job.offers):
        return bare
    try:
        offered = tool_sets(job, shop)
    except NoBlank as none:
        return replace(bare, findings=sorted_findings([*job.findings, *none.findings]))
    if refused(offered[0].blank.findings):
        # Of blanks that are refused only others that are stand beside it: there is no order to look for.
        return bare
    best: PanelPlan | None = None
    bound_s = passed_s = math.inf
    for tools in offered:
        problem = panel_problem(job, tools, shop, watch)
        than_s = below_s if best is None or best.solution is None else min(below_s, best.solution.weight)
        floor_s = panel_floor_s(problem)
        if than_s <= floor_s:
            passed_s = min(passed_s, floor_s)
            continue
        plan = _with_tools(job, tools, with_rows(problem, centre_of(job, shop), rows), shop, below_s=than_s)
        assert plan.solution is not None
        bound_s = min(bound_s, plan.solution.open_bound)
        if best is None or _better(plan, best):
            best = plan
    least_s = min(bound_s, passed_s)
    if (best is None or not best.feasible) and below_s - SAME_S <= least_s < math.inf:
        return least_s
    assert best is not None and best.solution is not None
    best = replace(best, looked_at=tuple(dict.fromkeys(name for tools in offered for name in tools.pairs)))
    solution = best.solution
    assert solution is not None
    if solution.feasible and bound_s < solution.weight - SAME_S:
        best = replace(best, solution=solution.not_proven(bound_s))
    if solution.feasible is False and least_s < math.inf:
        best = replace(best, solution=replace(solution, feasible=None))
    return best if solution.feasible else replace(best, findings=_blocked(best))


def _better(plan: PanelPlan, best: PanelPlan) -> bool:
    assert plan.solution is not None and best.solution is not None
    return plan.solution.weight < best.solution.weight - SAME_S


def piece_of(job: PanelJob, shop: Shop) -> Workpiece:
    """A panel whose blank is laid out as it is handled."""
    part, blank = job.part, job.blank
    assert blank is not None
    return Workpiece(
        length_mm=max(blank.size_mm),
        thickness_mm=part.thickness_mm,
        mass_kg=blank.mass_kg,
        tolerance_mm=thickness_tolerance_mm(shop.tolerances, shop.materials[part.material].product, part.thickness_mm),
    )


def _with_tools(job: PanelJob, tools: ToolSet, problem: PanelProblem, shop: Shop, *, below_s: float) -> PanelPlan:
    """The order with one blank and the tools that make it, set up where it is found."""
    centre = centre_of(job, shop)
    own, holding = shop.handlers[centre.handler.name], None
    if own.gripper is not None:
        work = Work(piece_of(replace(job, blank=tools.blank), shop), centre, ())
        holding = holding_of(problem, own, lambda step: opening_mm(step, job.part.panel.bends, work))
    solution = find_panel_order(problem, below_s=below_s, holding_of=holding)
    pairs = dict(job.pairs) | {bend: step.mounting.pair for step in solution.steps for bend in step.bends}
    job = replace(job, blank=tools.blank, pairs=pairs)
    job = replace(job, findings=sorted_findings(panel_findings(job, shop)))
    plan = PanelPlan(job, centre.handler, problem, solution, None, job.findings)
    if not solution.feasible:
        return plan
    piece = piece_of(job, shop)
    used = {hit.station: hit for step in solution.steps for hit in step.hits}
    rows_s = sum(row_price_s(row, problem.rules) for each in used.values() for row in (each.punch.row, each.die.row))
    beside = stands_beside(tools.blank, centre)
    rows_s = rows_s * centre.quantity + (0.0 if beside else 2 * centre.machine.mount_s)
    setup = set_up_panel(solution.steps, tuple(_bends(job)), tools.blank, piece, centre, beside=beside, rows_s=rows_s)
    tolerances = tolerances_of(centre.machine, cut_mm=shop.defaults.cutting_tolerance_mm)
    sizes = panel_sizes(job.part, tools.blank, solution.steps, tolerances)
    numbers = [step.step for step in setup.steps if not step.planned.is_second]
    corrected = dict(zip(numbers, panel_corrections(sizes, solution.steps, numbers), strict=True))
    setup = replace(setup, steps=tuple(replace(step, correction=corrected.get(step.step)) for step in setup.steps))
    # Rows keep clear of what would be struck, not merely touched, so by so much less on either side than is asked.
    beside_mm = shop.defaults.row_clear_mm - 2 * CONTACT_MM
    near = near_findings(setup, least_mm=min(shop.defaults.clearance_mm, beside_mm))
    planner = None
    if own.gripper is not None:
        solution, planner = gripped(problem, solution, setup, own, is_held=holding is not None)
    findings = sorted_findings([*job.findings, *setup.findings, *near, *size_findings(sizes)])
    return replace(plan, solution=solution, setup=setup, findings=findings, sizes=sizes, planner=planner)


def _held(plan: PanelPlan, shop: Shop) -> PanelPlan:
    """A robot's plan with what is to be known of its first piece by hand, and what its grips take."""
    planner, setup, blank = plan.planner, plan.setup, plan.blank
    if setup is None or blank is None or not plan.feasible:
        return plan
    by_hand = panel_hand_steps(setup, plan.handler, shop)
    if by_hand:
        told_too = first_piece_findings(by_hand, setup, mass_kg=blank.mass_kg)
        plan = replace(plan, by_hand=by_hand, findings=sorted_findings([*plan.findings, *told_too]))
    if planner is None:
        return plan
    material, own = shop.materials[plan.part.material], shop.handlers[plan.handler.name]
    held, grips, told = held_set_up(planner, setup, own, material, plan.machine)
    kept = [each for each in plan.findings if each not in setup.findings or each in held.findings]
    return replace(plan, setup=held, grips=grips, findings=sorted_findings([*kept, *told]))


def _bends(job: PanelJob) -> Iterator[PanelBend]:
    """Each bend with what its angle is allowed: as it is drawn, or as ISO 2768-1 m has it for the shorter leg."""
    part = job.part
    for bend, wish in zip(part.panel.bends, job.wishes, strict=True):
        if bend.kind != "bend":
            yield PanelBend(bend, None)
            continue
        own = bend.tolerance_deg if bend.tolerance_deg is not None else part.tolerances.angle_deg
        legs = [leg for leg in wish.legs_mm if leg is not None]
        yield PanelBend(bend, own if own is not None else angle_tolerance_deg(min(legs)))


def _blocked(plan: PanelPlan) -> tuple[Finding, ...]:
    """What stands in the way of every order, or that none was found."""
    solution = plan.solution
    assert solution is not None
    if solution.feasible is None:
        return sorted_findings([*plan.findings, caution("order-not-known")])
    told = [_reason(each, kept=bool(plan.part.order)) for each in solution.blockers] or [refuse("no-panel-order")]
    return sorted_findings([*plan.findings, *told])


def _reason(each: PanelBlocker, *, kept: bool) -> Finding:
    where = place("bend", each.operation.bends[0])
    if kept:
        return refuse("blocked-in-order", where)
    bent = ", ".join(map(str, each.bent))
    state = phrase("state.bent", bent=bent) if bent else phrase("state.any")
    if each.against == "row" and each.free_mm is not None and math.isfinite(each.free_mm):
        sizes = {"needs_mm": each.needs_mm or 0.0, "free_mm": each.free_mm, "made_mm": each.made_mm or 0.0}
        return refuse("blocked-row", where, state=state, **sizes)
    if each.against == "self":
        return refuse("blocked-itself", where, faces=", ".join(each.faces))
    if each.against == "machine":
        return refuse("blocked-machine", where, state=state)
    return refuse("no-panel-order", where)
