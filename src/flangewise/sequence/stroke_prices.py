"""What the strokes of a step take, for the opening and the reach of the part, by the state of the wings beside it.

On a problem with slack it is the least on any of the blanks.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from flangewise.sequence.arrays import Floats, Ints, alike_in, distinct
from flangewise.sequence.candidates import Presentation
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.slack import STEP_MM
from flangewise.sequence.tree import NO_LEVEL, WingTree
from flangewise.sequence.wing_states import HALF, SHAPE, At, WingsBeside, WingStates, wings_together

# Of so few strokes it is not looked which are alike.
FEW_STROKES = 2048


class StrokePrices(WingsBeside):
    """Seconds of the strokes by set, as if no tool were in the way; not to be shared between threads."""

    def __init__(self, problem: SectionProblem, trees: dict[tuple[int, bool, bool], WingTree]) -> None:
        """`trees`: the wings known so far."""
        super().__init__(problem, trees)
        # Bends that are still to be asked for with the other end behind.
        self._bent_turned: dict[tuple[int, bool, bytes], Floats] = {}
        self._slips: dict[Presentation, tuple[Floats, Floats]] = {}

    def least_strokes_s(
        self, alike: Sequence[Presentation], wings: Sequence[tuple[WingStates, WingStates]]
    ) -> Iterator[Floats]:
        """Seconds of the strokes at least with the same tools, for wings in front and behind that are known near the
        bend: for each presentation (states in front, states behind).

        What lies further out may stand up more, hang lower and reach further, never less; in front there is room. Ways
        down and back and the bend are each the least of any of the choices of tools.
        """
        some, share = alike[0].apart, self.problem.costs.share
        between = [self.between(made) for made in alike]
        first = [front.picked(np.zeros(len(behind.leaves), dtype=np.int64)) for front, behind in wings]
        back = wings_together([behind for _, behind in wings])
        at = At(wings_together(first), back, np.repeat(between, [len(each.leaves) for each in first], axis=0))
        opened_s = least_of(self.least_opened_s(some, at, np.full(len(back.leaves), np.inf)))
        reach_mm = list[Floats]()
        for (front, behind), own in zip(wings, between, strict=True):
            wings_mm = (front.reach_steps.max() + behind.reach_steps.max()) * STEP_MM
            off_mm = self._off_mm(some, wings_mm, own) if self.problem.slack else 0.0
            shape = len(some.options), len(front.leaves) + len(behind.leaves)
            both_mm = np.concatenate([front.end(WingTree.REACH), behind.end(WingTree.REACH)])
            reach_mm.append(np.broadcast_to(both_mm - off_mm, shape))
        beyond_s = some.strokes.bent_beyond_s(np.maximum(np.concatenate(reach_mm, axis=1), 0.0))
        bent_s = iter(np.split(share * least_of(beyond_s), np.cumsum([each.shape[1] for each in reach_mm])[:-1]))
        each_s = iter(np.split(opened_s, np.cumsum([len(each.leaves) for each in first])[:-1]))
        for front, _ in wings:
            in_front, behind_s = np.split(next(bent_s), [len(front.leaves)])
            yield next(each_s) + np.maximum(in_front[:, None], behind_s)

    def strokes_s(self, made: Presentation, at: At) -> Floats:
        """Seconds of the strokes for a straight pull, or less where sliding the part off might take less.

        Ways down and back depend on what is behind and whether the gripper fits in front, the bend on the reach: each
        is reckoned once for all parts that are alike in it.
        """
        if not made.strokes.groups:
            return np.zeros((len(made.options), len(at.front.leaves)))
        if len(made.options) * len(at.front.leaves) <= FEW_STROKES:
            return self.least_opened_s(made, at) + self._bent_s(made, at)
        beside = np.searchsorted(made.strokes.gripper_reaches_mm, self.fronts_mm(made, at), side="right")
        first, alike = alike_in(at.behind.leaves, at.front.slack_steps, beside)
        opened = self.least_opened_s(made, at.picked(first)).take(alike, axis=1)
        in_front = at.front.end(WingTree.REACH) >= at.behind.end(WingTree.REACH)
        furthest = np.where(in_front, 2 * at.front.leaves, 2 * at.behind.leaves + 1)
        first, alike = alike_in(furthest, at.front.reach_steps + at.behind.reach_steps)
        seconds: Floats = opened + self._bent_s(made, at.picked(first)).take(alike, axis=1)
        return seconds

    def all_strokes_s(self, made: Presentation) -> Floats:
        """The same for every set without the operation; of many one wing after the other."""
        if len(made.options) << (len(self.problem.operations) - 1) <= FEW_STROKES:
            return self.strokes_s(made, self.everywhere(made))
        start, end = self._wings_apart(made)
        high, low = np.indices((len(end.leaves), len(start.leaves))).reshape(2, -1)
        if not made.strokes.groups:
            return np.zeros((len(made.options), len(high)))
        wings = (end, high), (start, low)
        opened = self._opened_apart(made, *(wings if made.behind == START else wings[::-1]))
        seconds: Floats = opened + self._bent_apart(made, *wings)
        return seconds

    def _opened_apart(
        self, made: Presentation, ahead: tuple[WingStates, Ints], back: tuple[WingStates, Ints]
    ) -> Floats:
        """Ways down and back, by choice of tools, for some of the states of the wing in front and that behind."""
        (front, of_front), (behind, of_behind) = ahead, back
        slack_mm: Floats = distinct(behind.slack_steps)[:, None].astype(float) * STEP_MM
        between = self.between(made)
        fronts_mm = self._far_mm(made, front, between, slack_mm=slack_mm)
        beside = np.searchsorted(made.strokes.gripper_reaches_mm, np.atleast_2d(fronts_mm), side="right")
        first, alike = alike_in(front.slack_steps, *(each for each in beside if each.min() < each.max()))
        rows, count = np.arange(len(first) * len(behind.leaves)), len(behind.leaves)
        opened = self.least_opened_s(made, At(front.picked(first[rows // count]), behind.picked(rows % count), between))
        return opened.take(alike[of_front] * count + of_behind, axis=1)

    def _bent_apart(self, made: Presentation, *wings: tuple[WingStates, Ints]) -> Floats:
        """The bends, by choice of tools, for some of the states of either wing; the same with either end behind."""
        key = made.operation, made.marked_up, made.options.tobytes()
        if key in self._bent_turned:
            return self._bent_turned.pop(key)
        reach_mm, off_mm, columns = list[Floats](), list[Floats](), list[Ints]()
        for (own, of_own), (other, of_other) in (wings, wings[::-1]):
            steps = distinct(other.reach_steps)
            reach_mm.append(np.repeat(own.end(WingTree.REACH), len(steps)))
            off_mm.append((own.reach_steps[:, None] + steps).ravel().astype(float) * STEP_MM)
            columns.append(of_own * len(steps) + steps.searchsorted(other.reach_steps)[of_other])
        every = np.concatenate(reach_mm), np.concatenate(off_mm)
        bent = self.problem.costs.share * self._bent_at(made, *every, self.between(made))
        one, other_mm = (each[column] for each, column in zip(reach_mm, columns, strict=True))
        self._bent_turned[key] = bent.take(np.where(one >= other_mm, columns[0], len(reach_mm[0]) + columns[1]), axis=1)
        return self._bent_turned[key]

    def least_opened_s(self, made: Presentation, at: At, fronts_mm: Floats | None = None) -> Floats:
        """The same for a straight pull, or less where sliding the part off might take less.

        `fronts_mm`: how far it is known to reach out.
        """
        fronts_mm = self.fronts_mm(made, at) if fronts_mm is None else fronts_mm
        pulls_mm = self._at_best_mm(made, at, self.straight_pulls_mm(made, at))
        if not self.problem.side_exit_allowed:
            return self.problem.costs.share * made.strokes.opened_s(pulls_mm, fronts_mm)
        pulled_s = self.problem.costs.share * made.strokes.opened_s(pulls_mm, fronts_mm)
        least: Floats = np.minimum(pulled_s, self._slid_s(made, fronts_mm))
        return least

    def _slid_s(self, made: Presentation, fronts_mm: Floats) -> Floats:
        """The same for a part that is slid off along the bed over the sheet alone, that included."""
        sheet_mm, costs = self.problem.chain.thickness_mm, self.problem.costs
        return costs.side_exit + costs.share * made.strokes.over_sheet_s(sheet_mm, fronts_mm)

    def slid_more_s(self, made: Presentation, at: At) -> Floats:
        """What strokes take more than the least they may where the part is slid off along the bed."""
        if not made.strokes.groups:
            return np.full((len(made.options), len(at.front.leaves)), self.problem.costs.side_exit)
        slid_s = self._slid_s(made, self.fronts_mm(made, at))
        more_s: Floats = np.maximum(slid_s - self.least_opened_s(made, at), 0.0)
        return more_s

    def opened_s(self, made: Presentation, at: At, least_mm: Floats) -> Floats:
        """Seconds of the ways down and back for openings, the handler's share included: (choices of tools, parts)."""
        least_mm = self._at_best_mm(made, at, least_mm)
        return self.problem.costs.share * made.strokes.opened_s(least_mm, self.fronts_mm(made, at))

    def _at_best_mm(self, made: Presentation, at: At, least_mm: Floats) -> Floats:
        """Openings at least, with slack: where the part stands up, hangs down and bends, each may be off.

        Risen, a corner between square faces may be what stands up.
        """
        if not self.problem.slack:
            return least_mm
        off_mm = self._off_mm(made, at.front.slack_mm + at.behind.slack_mm, at.between)
        found: Floats = np.maximum(least_mm - 3 * off_mm - at.behind.inner_mm, self.problem.chain.thickness_mm)
        return found

    def _bent_s(self, made: Presentation, at: At) -> Floats:
        """Seconds of the bends."""
        off_mm = (at.front.reach_steps + at.behind.reach_steps).astype(float) * STEP_MM
        return self.problem.costs.share * self._bent_at(made, at.reaches_mm(), off_mm, at.between)

    def _bent_at(self, made: Presentation, reach_mm: Floats, off_mm: Floats, between: Floats) -> Floats:
        """Seconds of the bends for reaches, with what both wings may be off.

        How fast the end of the part comes up falls with its reach until it is as slow as the ram, and then rises.
        """
        if not self.problem.slack:
            return made.strokes.bent_s(reach_mm)
        off = self._off_mm(made, off_mm, between)
        nearer, further = (made.strokes.bent_s(np.maximum(reach_mm + by, 0.0)) for by in (-off, off))
        least: Floats = np.minimum(nearer, further)
        return least

    def _off_mm(self, made: Presentation, wings_mm: Floats, between: Floats) -> Floats:
        """How far the part may be off in all, with slack, for what both wings may be."""
        off: Floats = wings_mm + np.abs(made.moved_mm) + between[..., SHAPE]
        return off

    def fronts_mm(self, made: Presentation, at: At) -> Floats:
        """How far the part reaches out in front of the die's centre plane before the hit; with slack, at most."""
        return self._far_mm(made, at.front, at.between, slack_mm=at.behind.slack_mm)

    def _far_mm(self, made: Presentation, front: WingStates, between: Floats, *, slack_mm: float | Floats) -> Floats:
        """The same, where the wing behind may be off by so much."""
        fronts: Floats = front.end(WingTree.FAR) + between[..., HALF]
        if not self.problem.slack:
            return fronts
        moved_mm = np.abs(made.moved_mm).max()
        off: Floats = front.slack_mm + slack_mm + moved_mm + between[..., SHAPE]
        return fronts + off

    def straight_pulls_mm(self, made: Presentation, at: At) -> Floats:
        """Opening with which the part comes straight out to the front: what stands up behind, over what hangs behind.

        For each choice of tools and part.

        What hangs in front hangs before the die block and comes away as it is. A wing behind without bends slips out
        along its own slope as soon as the bend has come over the die block's front edge: under the nose it is then
        e tan(a) + t/cos(a) high, with the half turn a and the edge e in front of the centre plane, and the nose's own
        arc adds at most r (1/cos(a) - 1); or it needs what it rises by, if that is less (plane geometry, derived here).
        Without a die block none of this is known, and what is found is less than with any.
        """
        behind = at.behind
        plain = behind.firsts[behind.leaves] == NO_LEVEL
        low = -np.minimum(0.0, behind.end(WingTree.LOW))
        nose, slips = self._slipping_mm(made)
        risen = np.maximum(behind.end(WingTree.TOP), behind.end(WingTree.TOP_RISEN)) + nose
        risen[:, plain] = np.minimum(risen[:, plain], slips)
        pulled: Floats = np.maximum(0.0, risen) + low + self.problem.chain.thickness_mm
        return pulled

    def _slipping_mm(self, made: Presentation) -> tuple[Floats, Floats]:
        """By each choice of tools: what the nose's own arc adds, and what slipping out along the slope needs."""
        if made not in self._slips:
            chain, half = self.problem.chain, np.radians(made.half_turns_deg)
            thickness = chain.thickness_mm
            radius = max(0.0, chain.radii_mm[self.problem.operations[made.operation].zones[0]])
            slope = np.maximum(made.edges_mm[1], 0.0, where=~made.bare, out=np.zeros_like(half)) * np.tan(half)
            slips = slope + (thickness + radius) * (1 / np.cos(half) - 1)
            nose = (radius + thickness / 2) * (1 - np.cos(half))
            self._slips[made] = np.where(made.bare, 0.0, nose), np.where(made.bare, 0.0, slips)
        return self._slips[made]


def least_of(seconds: Floats) -> Floats:
    """The least of rows."""
    least: Floats = seconds[0] if len(seconds) == 1 else seconds.min(axis=0)
    return least
