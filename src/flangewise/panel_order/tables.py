"""What each way of making an operation costs and forbids, for all sets of operations at once.

Prices are the least that is known of a step; a closer look only adds to them, for all sets that agree on the bends it
hangs on.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Stretches
from flangewise.panel_order.moves import lies_of
from flangewise.panel_order.places import Line, PairTable
from flangewise.panel_order.problem import PanelProblem, PanelWay
from flangewise.panel_order.wing_sums import WingSums, lying, straight_pulls_mm, wing_sums
from flangewise.panel_order.wings import Wing
from flangewise.sequence import (
    HitTime,
    Hold,
    HoldRule,
    Lying,
    breaches,
    held,
    weights_s,
    wishes_s,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Patterns:
    """Of a way: which of its patterns each set has (-1: none, as the operation is made, or ram or bed are met)."""

    of_set: Ints
    stretches: tuple[Stretches, ...]


@dataclass(frozen=True)
class Shorts:
    """Of a way: least shortfall and place of each pair of rows for each pattern; infinities end the patterns."""

    short_mm: Floats
    from_mm: Floats


@dataclass
class PanelTables:
    """Prices and patterns of a problem; prices rise as steps are looked at. Not to be shared between threads."""

    problem: PanelProblem
    price_s: Floats = field(init=False)
    pairs: tuple[PairTable, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Prices before any look."""
        problem = self.problem
        self._kept: dict[tuple[int, float], WingSums] = {}
        self.sets: Ints = np.arange(problem.sets, dtype=np.int64)
        self.pairs = tuple(PairTable(each.pairs) for each in problem.rows)
        self.lies, self.classes = lies_of([way.lie for way in problem.ways])
        self.patterns = tuple(self._patterns(way) for way in problem.ways)
        kept: dict[object, tuple[Floats, Floats]] = {}
        self.shorts = tuple(self._shorts(index, kept) for index in range(len(problem.ways)))
        self.price_s = np.stack([self._prices(index) for index in range(len(problem.ways))])

    def front_and_behind(self, way: PanelWay) -> tuple[WingSums, WingSums]:
        """The wing in front and the wing behind."""
        front, behind = way.hit.front, way.hit.behind
        return self._sums(way, front), self._sums(way, behind)

    def _sums(self, way: PanelWay, wing: Wing) -> WingSums:
        half_deg = way.tools.loaded_turn_deg / 2
        key = id(wing), half_deg
        if key not in self._kept:
            strip_mm = sum(high - low for low, high in way.hit.runs_mm)
            self._kept[key] = wing_sums(self.problem, wing, self.sets, half_turn_deg=half_deg, strip_mm=strip_mm)
        return self._kept[key]

    def open_sets(self, way: PanelWay) -> Bools:
        """Sets in which the operation is not made, and which a wanted order leads to."""
        free: Bools = (self.sets >> way.operation & 1) == 0
        if self.problem.order is not None:
            before = self.problem.order[: self.problem.order.index(way.operation)]
            free &= self.sets == sum(1 << place for place in before)
        return free

    def line(self, way: PanelWay) -> Line:
        """The line of a way along the bed, as far as it must be covered."""
        runs, rules = way.hit.runs_mm, self.problem.rules
        return Line(runs[0][0], runs[-1][1], rules.free_short_mm, rules.beside_short_mm, rules.near_mm)

    def _patterns(self, way: PanelWay) -> Patterns:
        """The sets parted by what the faces of the wings forbid, face by face."""
        problem = self.problem
        sets = self.sets[self.open_sets(way)]
        code = np.zeros(len(sets), dtype=np.int64)
        fatal = np.zeros(len(sets), dtype=bool)
        for face in way.hit.faces:
            path = [problem.mask_of((bend,)).bit_length() - 1 for bend in way.hit.depends(face)]
            nodes = way.hit.answers(face)
            kinds = {node: kind for kind, node in enumerate(dict.fromkeys(nodes))}
            if len(kinds) == 1 and not nodes[0].fatal:
                continue
            state = np.zeros(len(sets), dtype=np.int64)
            for at, place in enumerate(path):
                state |= (sets >> place & 1) << at
            fatal |= np.array([node.fatal for node in nodes], dtype=bool)[state]
            _, code = np.unique(
                code * len(kinds) + np.array([kinds[node] for node in nodes])[state], return_inverse=True
            )
        of_set = np.full(len(self.sets), -1, dtype=np.int64)
        _, first, kind = np.unique(code[~fatal], return_index=True, return_inverse=True)
        of_set[sets[~fatal]] = kind
        firsts = sets[~fatal][first]
        return Patterns(of_set, tuple(way.hit.forbidden(problem.bends_of(int(done))) for done in firsts))

    def _shorts(self, index: int, kept: dict[object, tuple[Floats, Floats]]) -> Shorts:
        way, line, table = self.problem.ways[index], self.line(self.problem.ways[index]), self.pairs
        columns = []
        for each in self.patterns[index].stretches:
            key = (way.mounting, line, each)
            if key not in kept:
                kept[key] = table[way.mounting].places(
                    line, each.punch, each.foot, each.die, clear_mm=self.problem.rules.clear_mm
                )
            columns.append(kept[key])
        nowhere = np.full(len(table[way.mounting].pairs), np.inf)
        columns.append((nowhere, nowhere))
        return Shorts(np.stack([short for short, _ in columns]), np.stack([place for _, place in columns]))

    def _prices(self, index: int) -> Floats:
        """Hit, strokes, holding and the wish of the tools; infinite where no row can stand at all."""
        way, problem = self.problem.ways[index], self.problem
        price = np.full(len(self.sets), problem.costs.hit + way.wish_s)
        if way.tools.time is not None:
            front, behind = self.front_and_behind(way)
            reach = np.maximum(front.reach_mm, behind.reach_mm)
            opened_s = self._least_opened_s(way, way.tools.time, slice(None))
            price = price + opened_s + problem.costs.share * way.tools.time.bent_s(reach)
        if problem.hold is not None:
            price = price + weights_s(problem.hold, self._lying(way, problem.hold, slice(None)))
        shorts, of_set = self.shorts[index], self.patterns[index].of_set
        stands: Bools = np.isfinite(shorts.short_mm.min(axis=1))
        return np.where(stands[of_set], price, np.inf)

    def _least_opened_s(self, way: PanelWay, time: HitTime, at: slice) -> Floats:
        """Seconds of the ways down and back for a straight pull, or less where sliding the part off takes less."""
        front, behind = self.front_and_behind(way)
        thickness_mm = self.problem.blank.thickness_mm
        pulls = straight_pulls_mm(behind, way.tools, thickness_mm=thickness_mm)[at]
        pulled, slid = (
            self.problem.costs.share * time.opened_s(openings, front.far_mm[at])
            for openings in (pulls, np.full(len(pulls), thickness_mm))
        )
        least: Floats = np.minimum(pulled, self.problem.costs.side_exit + slid)
        return least

    def least_opened_s(self, way: PanelWay, done: int) -> float:
        """The same for one step; 0 where no time is reckoned."""
        time = way.tools.time
        return 0.0 if time is None else float(self._least_opened_s(way, time, slice(done, done + 1))[0])

    def opened_s(self, way: PanelWay, done: int, opening_mm: float) -> float:
        """Seconds of the ways down and back for an opening; 0 where no time is reckoned."""
        time = way.tools.time
        if time is None:
            return 0.0
        front, _ = self.front_and_behind(way)
        fronts = front.far_mm[done : done + 1]
        return float(self.problem.costs.share * time.opened_s(np.array([opening_mm]), fronts)[0])

    def opening_mm(self, way: PanelWay, done: int) -> float:
        """What must pass between nose and die top for a straight pull: what stands up behind over what hangs there."""
        _, behind = self.front_and_behind(way)
        return float(straight_pulls_mm(behind, way.tools, thickness_mm=self.problem.blank.thickness_mm)[done])

    def _lying(self, way: PanelWay, rule: HoldRule, at: slice) -> Lying:
        """How the part lies on the die."""
        return lying(*self.front_and_behind(way), way.tools, rule, at)

    def hold(self, way: PanelWay, done: int) -> Hold | None:
        """How the part is held at one step."""
        rule = self.problem.hold
        return None if rule is None else held(rule, self._lying(way, rule, slice(done, done + 1)))

    def holding_s(self, way: PanelWay, done: int) -> float:
        """What of a step's price are wishes for how the part lies."""
        rule = self.problem.hold
        return (
            0.0 if rule is None else float(np.ravel(wishes_s(rule, self._lying(way, rule, slice(done, done + 1))))[0])
        )

    def broken(self, way: PanelWay, done: int) -> float:
        """How many conditions of the hold rule a step breaks."""
        rule = self.problem.hold
        return (
            0.0 if rule is None else float(np.ravel(breaches(rule, self._lying(way, rule, slice(done, done + 1))))[0])
        )

    def agreeing(self, done: int, mask: int) -> Bools:
        """The sets that have of `mask` what `done` has."""
        agree: Bools = (self.sets & mask) == (done & mask)
        return agree

    def add(self, way: int, where: Bools, seconds: float) -> None:
        """Seconds more for a way at some sets, infinite where it cannot be."""
        self.price_s[way, where] += seconds
