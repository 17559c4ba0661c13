"""What may be done from a set of done operations: all that decides it, looked up by the bends between.

A set of done operations is an integer, bit i for operation i. For each operation, pose and tool option
the table says for many sets at once whether the operation is possible and what it costs by itself.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from flangewise.sequence.arrays import Bools, Floats, Ints, sets_without, without
from flangewise.sequence.candidates import Candidate, Exclusion, Lot, Pose, Presentation, lot_of
from flangewise.sequence.gauging import WingBehind
from flangewise.sequence.moves import END, START
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import MadeTable, Shapes
from flangewise.sequence.strikes import StrikeTable
from flangewise.sequence.stroke_prices import least_of
from flangewise.sequence.upright import too_tall
from flangewise.sequence.wing_states import At, WingStates

if TYPE_CHECKING:
    from flangewise.sequence.arrivals import Arrivals

# Up to so many operations what a pose costs is reckoned for all sets at once; where less lie behind, handling is.
MOST_WHOLE = 12


class FeasibilityTable(StrikeTable):
    """Prices of candidates by set, infinite where they cannot be made; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, shapes: Shapes | None = None, *, each_held: bool = False) -> None:
        """Shapes are worked out when first asked for; `shapes` of a problem like it are used further.

        `each_held`: with slack too the part is held by each choice of tools by itself, of few operations.
        """
        super().__init__(problem, shapes if shapes is not None else Shapes(problem), each_held=each_held)
        self.exclusions: dict[int, list[Exclusion]] = {}
        self._is_each_held = self._has_few_states and (each_held or not problem.slack)
        self._is_whole = len(problem.operations) <= MOST_WHOLE
        self._alone_s: dict[tuple[Pose, bytes], float] = {}
        if problem.check_exits:
            self.remember(too_tall(problem, shapes=self.shapes))
        # What sets cost at least to be reached, by the ways that may be taken.
        self.arrivals: dict[tuple[bytes, ...], Arrivals] = {}
        # The same of more blanks than these, with all their tools.
        self.reached: Arrivals | None = None

    def remember(self, found: Iterable[Exclusion]) -> None:
        """Keep what a closer look found."""
        for item in found:
            self.exclusions.setdefault(item.operation, []).append(item)

    def prices(self, way: Candidate, sets: Ints) -> Floats:
        """Price of the way by itself for each set and datum (edge, formed face); infinite where impossible."""
        lot = lot_of(self.presented(way), sets)
        prices: Floats = self.unstruck(lot, self.all_handled(lot))[0]
        chosen = np.flatnonzero(np.isfinite(prices).any(axis=1))
        prices[chosen[self.strikes(way, sets[chosen])]] = np.inf
        return prices

    def unstruck(self, lot: Lot, handled: Floats) -> Floats:
        """Prices where no tool were in the way, by choice of tools, set and datum; what was learned included."""
        prices = handled[None] + (lot.tools.own_s + self._all_made_s(lot))[:, :, None]
        for made, own in lot.each():
            if made.operation in self.exclusions:
                self._add_learned(made, lot.sets[own], prices[:, own])
        return prices

    def _add_learned(self, made: Presentation, sets: Ints, prices: Floats) -> None:
        """Add to prices what a closer look found."""
        for item in self.exclusions[made.operation]:
            if not item.is_caught and item.behind in (None, made.behind):
                spoken = np.outer(item.covers_options(made.options), (sets & item.mask) == item.value)
                prices[spoken, slice(None) if item.datum is None else item.datum] += item.price
        is_caught = self._caught(made, sets)
        some = np.flatnonzero(is_caught.any(axis=0))
        if len(some):
            more_s = np.where(is_caught[:, some], self.slid_more_s(made, self.at(made, sets[some])), 0.0)
            prices[:, some] += more_s[:, :, None]

    def all_handled(self, lot: Lot) -> Floats:
        """What handling costs, of a lot: kept for few operations behind, of more asked together."""
        found, asked = np.empty((len(lot.sets), 2)), list[tuple[slice, WingBehind]]()
        for made, own in lot.each():
            if len(self.wings(made)[1].levels) < MOST_WHOLE:
                found[own] = self.handled(made, lot.sets[own])
            else:
                asked.append((own, self._behind(made, lot.sets[own])))
        if asked:
            rows = np.concatenate([np.arange(own.start, own.stop) for own, _ in asked])
            found[rows] = self._gauging.prices(*(behind for _, behind in asked))
        return found

    def handled(self, made: Presentation, sets: Ints) -> Floats:
        """What a pose costs whatever the tools, by set and datum; infinite where the stops find nothing."""
        levels = len(self.wings(made)[1].levels)
        if levels >= MOST_WHOLE:
            return super().handled(made, sets)
        preferred = self.problem.preferred[made.operation] if self.problem.preferred else ()
        kept, key = self.shapes.handled_s, (made.pose, preferred)
        shift = made.operation + 1 if made.behind == END else 0
        if key not in kept:
            kept[key] = super().handled(made, np.arange(1 << levels) << shift)
        states = sets >> shift if made.behind == END else sets & ((1 << made.operation) - 1)
        handled_s: Floats = kept[key][states]
        return handled_s

    def made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds of the strokes and what holding costs: (choices of tools, sets)."""
        if not self._is_whole:
            return super().made_s(made, sets)
        if made.pose not in self.shapes.made:
            every = next(each for each in self.presentations(made.operation) if each.pose == made.pose)
            self.shapes.made[made.pose] = MadeTable(every.options, self.all_made_s(every))
        table = self.shapes.made[made.pose]
        rows = np.searchsorted(table.options, made.options)
        found: Floats = table.made_s[np.ix_(rows, without(made.operation, sets))]
        return found

    def _all_made_s(self, lot: Lot) -> Floats:
        """Seconds of the strokes and what holding costs, of a lot."""
        if self._is_whole:
            return np.concatenate([self.made_s(made, lot.sets[own]) for made, own in lot.each()], axis=1)
        return self._made_s(lot.tools, self.at_all(lot))

    def least_steps(self, lot: Lot, handled: Floats) -> Floats:
        """What a step costs at least with any of the choices of tools, for each set and datum, nothing in the way."""
        if self._is_whole:
            least_s = np.concatenate([self._least_made_s(made, lot.sets[own]) for made, own in lot.each()])
        else:
            at = self.at_all(lot)
            least_s = least_of(self._made_s(lot.tools.apart, at)) + self._caught_more_s(lot, at)
        least: Floats = handled + (lot.tools.own_s.min() + least_s)[:, None]
        return least

    def _least_made_s(self, made: Presentation, sets: Ints) -> Floats:
        """Seconds at least with any of the choices of tools, of few operations."""
        if self._is_each_held:
            return least_of(self.made_s(made.apart, sets))
        kept, key = self.shapes.least_made_s, (made.pose, made.options.tobytes())
        if key not in kept:
            every = sets_without(made.operation, len(self.problem.operations))
            more_s = self._caught_more_s(lot_of(made, every), self.everywhere(made))
            kept[key] = self.least_made_s(made) + more_s
        least_s: Floats = kept[key][without(made.operation, sets)]
        return least_s

    def _caught_more_s(self, lot: Lot, at: At) -> Floats:
        """What a step takes at least more for being caught: it is slid off, or tilted, which takes no less."""
        more_s = np.zeros(len(lot.sets))
        learned = ((made, own) for made, own in lot.each() if made.operation in self.exclusions)
        caught = [own.start + np.flatnonzero(self._caught(made, lot.sets[own]).all(axis=0)) for made, own in learned]
        if caught and len(some := np.concatenate(caught)):
            tools, beside = lot.tools.apart, at.picked(some)
            made_s = self._made_s(tools, beside)
            more_s[some] = least_of(made_s + self.slid_more_s(tools, beside)) - least_of(made_s)
        return more_s

    def _caught(self, made: Presentation, sets: Ints) -> Bools:
        """Whether it is known that the part does not leave level: (choices of tools, sets)."""
        some, every = np.zeros((len(made.options), len(sets)), dtype=bool), np.zeros(len(sets), dtype=bool)
        for item in self.exclusions.get(made.operation, ()):
            if item.is_caught and item.behind in (None, made.behind):
                spoken = (sets & item.mask) == item.value
                if item.option is None:
                    every |= spoken
                else:
                    some |= np.outer(item.covers_options(made.options), spoken)
        return some | every

    def least_alone_s(self, made: Presentation) -> float:
        """What a step takes at least whatever is bent, handling apart."""
        key = made.pose, made.options.tobytes()
        if key not in self._alone_s:
            strokes_s = self.problem.costs.share * made.strokes.least_s(self.problem.chain.thickness_mm)
            self._alone_s[key] = made.own_s.min() + strokes_s.min() + self.least_held_s(made)
        return self._alone_s[key]

    def least_near(self, alike: Sequence[Presentation], first: int, count: int) -> Iterator[Floats]:
        """The same where only a stretch of operations about these is known: for all their sets, as `sets_without`.

        What is not known behind leaves the raw edge to be touched past what is bent, or a formed face. All of them are
        made with the same tools.
        """
        every, near = len(self.problem.operations), ((1 << count) - 1) << first
        wings, gauged_s = list[tuple[WingStates, WingStates]](), list[Floats]()
        for made in alike:
            at = made.operation
            start, end = np.arange(1 << (at - first)) << first, np.arange(1 << (first + count - 1 - at)) << (at + 1)
            is_known = first == 0 if made.behind == START else first + count == every
            ahead, behind = (end, start) if made.behind == START else (start, end)
            wings.append(self.near(made, (ahead, behind), near))
            gauged_s.append(
                self.handled(made, behind) if is_known else self._gauging.least(at, made.behind, behind != 0)
            )
        strokes_s = self.least_strokes_s(alike, wings)
        for made, handled_s, stroke_s in zip(alike, gauged_s, strokes_s, strict=True):
            both_s = stroke_s[:, :, None] + handled_s
            in_order = both_s if made.behind == START else both_s.transpose(1, 0, 2)
            yield in_order.reshape(-1, 2) + (made.own_s.min() + self.least_held_s(made))
