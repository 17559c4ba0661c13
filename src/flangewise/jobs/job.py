"""One part worked out, as far as it goes: what is known of its blank, tools, order and set-up, and the findings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from flangewise.findings import Finding, refused
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.punch_die import Mounting, PunchDie
from flangewise.records import dataclass, field, replace
from flangewise.sequence import UNLIMITED, SectionProblem, Shapes, Solution, Step, Tolerances, Watch
from flangewise.setup import LegError, Setup, WorkCentre, tolerances_of
from flangewise.shop import Handler, Machine, Material, Shop

if TYPE_CHECKING:
    from flangewise.handling import GripPlanner, HeldAt

Offers = Mapping[int, tuple[PunchDie, ...]]
Pairs = Mapping[int, PunchDie | None]


@dataclass(frozen=True)
class Ordered:
    """The search's answer, with what its tool options stand for: (bend, index of the option) -> choice.

    `shapes`: what was found of the part between tools, and `planner`: what of a gripper's grips, as long as more is
    asked of them.
    """

    problem: SectionProblem
    solution: Solution
    offered: Mapping[int, tuple[Mounting, ...]]
    shapes: Shapes | None = field(default=None, repr=False, compare=False)
    planner: GripPlanner | None = field(default=None, repr=False, compare=False)

    def mounting(self, step: Step) -> Mounting:
        """The pair, and which way it is put in, that a step takes."""
        return self.offered[int(step.label)][step.option]

    @property
    def taken(self) -> dict[int, Mounting]:
        """The same for each bend of the order."""
        return {int(step.label): self.mounting(step) for step in self.solution.steps}


@dataclass(frozen=True)
class OtherMachine:
    """A machine that was not taken: what its plan costs, or costs at least, in seconds a part, or why it has none."""

    machine: str
    cost_s: float | None = None
    at_least_s: float | None = None
    why_not: Finding | None = None


@dataclass(frozen=True)
class Job:
    """One part worked out: the blank, the tools offered, the order found and what the setter keys in.

    `pattern` is None where the radii leave no blank; `ordered` where there is no blank or a bend has no tools at all;
    `setup` where no order is feasible or known. `pairs` are the pairs in use by bend, the best offer where there is no
    order. `cut_offers` are the tools offered for the sheet as it is ordered, for which the blank is cut: the same as
    `offers` unless the piece in hand was measured. `findings` are all of them, gravest first; `sizes` is what each leg
    may be off by through gauging, `others` are the machines that were not taken. `grips`: how a gripper holds each hit,
    `least_grips_s` what any plan takes for that at least, `least_by_hand` how many steps of any plan no grip holds.
    `watch`: how long may be searched.
    """

    part: Part
    shop: Shop
    material: Material
    machine: Machine
    handler: Handler
    pattern: FlatPattern | None
    offers: Offers
    cut_offers: Offers
    pairs: Pairs
    ordered: Ordered | None
    setup: Setup | None
    findings: tuple[Finding, ...]
    sizes: tuple[LegError, ...] = ()
    others: tuple[OtherMachine, ...] = ()
    grips: tuple[HeldAt, ...] = ()
    least_grips_s: float = 0.0
    least_by_hand: int = 0
    watch: Watch = UNLIMITED

    @property
    def feasible(self) -> bool | None:
        """True with a plan, False where it is proven that there is none, None where that is not known."""
        if self.ordered is None or refused(self.findings):
            return False
        return self.ordered.solution.feasible

    @property
    def solution(self) -> Solution:
        """The search's answer on the job's blank, which has been asked."""
        assert self.ordered is not None
        return self.ordered.solution

    def with_solution(self, solution: Solution) -> Job:
        """The same with another answer of the search."""
        assert self.ordered is not None
        return replace(self, ordered=replace(self.ordered, solution=solution))

    @property
    def weight(self) -> float:
        """What the plan is compared by; infinite without one."""
        return math.inf if self.ordered is None else self.ordered.solution.weight

    @property
    def centre(self) -> WorkCentre:
        """What bends the part; the set-up is shared over the part's own quantity, or the shop's."""
        own = self.shop.defaults
        quantity = self.part.quantity or own.quantity
        return WorkCentre(self.machine, self.handler, own.station_gap_mm, quantity, short_mm=own.end_short_mm)

    @property
    def gauging(self) -> Tolerances:
        """What stops, cut, deduction and angle may be off by."""
        return tolerances_of(self.machine, cut_mm=self.shop.defaults.cutting_tolerance_mm)
