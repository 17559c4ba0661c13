"""The answer of the search for a panel, as plain data."""

from __future__ import annotations

import math
from typing import Literal

from flangewise.panel_order.gauging import PanelGauging
from flangewise.panel_order.leaving import Leaving
from flangewise.panel_order.operations import PanelOperation
from flangewise.punch_die import Mounting, Placed
from flangewise.records import dataclass, replace
from flangewise.sequence import BREACH_S, Axis, MadeStep, MoveKind


@dataclass(frozen=True)
class PanelMove:
    """One thing to do with the part before a hit; `axis` of a turn-over, and of a tilt about the bed or front to back.

    `angle_deg` of a turn in the plane is counterclockwise as the operator looks down on the part; None for a turn-over.
    A tilt goes about a level axis, `axis_deg` counterclockwise from the bed, left to right; its `angle_deg` is above 0
    where what lies to the right of the axis rises: the front, or the right end.
    """

    move: MoveKind
    axis: Axis | None
    angle_deg: float | None
    cost: float
    axis_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class PanelStep(MadeStep):
    """One operation of a plan; `done` are the numbers of the bends made before it.

    `parent_behind`: whether the face that the flange hangs on lies behind the tools. `punch` and `die` are the rows
    where they stand for this hit, from the left end of its line; `short_mm` what they leave uncovered at the worse end,
    `gap_mm` the widest gap between segments within a bend.
    `gauged` None: no stops are looked at. `leaving`: how the part comes out of the tools, None where not looked at.
    `station` is the number of the station in the plan, from 0. `then`: the hit that flattens a hem, the first of the
    two; the costs and wishes of both are the first's.
    """

    operation: PanelOperation
    mounting: Mounting
    parent_behind: bool
    done: frozenset[int]
    station: int
    punch: Placed
    die: Placed
    short_mm: float
    gap_mm: float
    gauged: PanelGauging | None
    moves: tuple[PanelMove, ...]
    leaving: Leaving | None
    then: PanelStep | None = None

    @property
    def hits(self) -> tuple[PanelStep, ...]:
        """Its hits: of a hem two."""
        return (self,) if self.then is None else (self, self.then)

    @property
    def bends(self) -> tuple[int, ...]:
        """The bends it makes."""
        return self.operation.bends

    @property
    def most_opening_mm(self) -> float:
        """Opened further than this the feet of ears strike what stands over them."""
        return math.inf if self.leaving is None else self.leaving.most_opening_mm


@dataclass(frozen=True)
class PanelBlocker:
    """Why an operation cannot be made, whatever is bent before: with `bent` made and `flat` not it comes nearest.

    `needs_mm`: the least row for its line; `free_mm`: the longest that finds room there; `made_mm`: the longest row of
    the shop's segments within it (0: none). `faces` stand at the ends of what is free. `against`: what is in the way.
    """

    operation: PanelOperation
    bent: tuple[int, ...]
    flat: tuple[int, ...]
    against: Literal["row", "machine", "self", "stop", "exit", "segments"]
    needs_mm: float | None = None
    free_mm: float | None = None
    made_mm: float | None = None
    faces: tuple[str, ...] = ()


@dataclass(frozen=True)
class PanelSolution:
    """What is known about a panel's order.

    `feasible` True with a plan, False with a proof that there is none, None where the search gave up or found no way
    out. `proven_least`: no plan with the tools offered costs less. `lower_bound`: no such plan costs less than this.
    `breach`: how often the hold rule is broken in all, and steps that no grip holds; `least_known_s`: no plan weighs
    less, rules that all break included.
    """

    feasible: bool | None
    proven_least: bool
    cost: float | None
    lower_bound: float | None
    steps: tuple[PanelStep, ...]
    blockers: tuple[PanelBlocker, ...]
    breach: float = 0.0
    least_known_s: float = 0.0

    @property
    def weight(self) -> float:
        """What plans are compared by: a hold rule less broken comes before any number of seconds."""
        return math.inf if self.cost is None else self.cost + BREACH_S * self.breach

    @property
    def open_bound(self) -> float:
        """What a plan that was not found may still weigh at least; infinite where it is known what there is."""
        return math.inf if self.feasible is False or self.proven_least else self.least_known_s

    def not_proven(self, least_known_s: float) -> PanelSolution:
        """The same where no more is known than that no plan weighs less than this."""
        weight = max(min(least_known_s, self.least_known_s, self.weight), 0.0)
        return replace(self, proven_least=False, lower_bound=self.seconds_of(weight), least_known_s=weight)

    def seconds_of(self, weight: float) -> float:
        """Seconds of a weight that no plan is less than, without what it holds for rules that this plan breaks as well.

        Where others may break fewer of them nothing is known of their seconds but what was known before.
        """
        seconds = weight - BREACH_S * min(self.breach, weight // BREACH_S)
        if weight < BREACH_S * self.breach:
            seconds = min(seconds, self.lower_bound or 0.0, self.cost or 0.0)
        return max(seconds, 0.0)
