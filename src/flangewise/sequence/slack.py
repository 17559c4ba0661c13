"""How far a wing may lie from where it is thought to be on the blanks of other tools, by what is bent on it."""

import math
from functools import cached_property

import numpy as np

from flangewise.sequence.arrays import Ints, SumsByState
from flangewise.sequence.candidates import Candidate, Presentation
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem, Slack

# Slack is rounded up to steps of this: more of it only makes a bound lower, and many sets are then alike.
STEP_MM = 0.02


class Beyond:
    """The slack of what lies beyond each operation of a problem with slack."""

    def __init__(self, problem: SectionProblem) -> None:
        self._slack = problem.slack

    @cached_property
    def _formed_more_mm(self) -> tuple[SumsByState, ...]:
        """What is formed of the operations before each one, and from each one on, is off by more than flat."""
        more = [each.formed_mm - each.flat_mm for each in self._slack]
        return tuple(SumsByState(each) for at in range(len(more)) for each in (more[:at], more[at + 1 :]))

    def steps(self, made: Presentation, sets: Ints) -> tuple[Ints, Ints]:
        """How far the wing in front and the wing behind of each set may reach elsewhere than thought, in `STEP_MM`."""
        if not self._slack:
            return np.zeros(len(sets), dtype=np.int64), np.zeros(len(sets), dtype=np.int64)
        at = made.operation
        wings = (self._slack[:at], sets & ((1 << at) - 1)), (self._slack[at + 1 :], sets >> (at + 1))
        found = []
        for (own, states), more_mm in zip(wings, self._formed_more_mm[2 * at : 2 * at + 2], strict=True):
            flat_mm = corner_mm(own) + sum(each.flat_mm for each in own)
            found.append(np.ceil((flat_mm + more_mm.of(states)) / STEP_MM).astype(np.int64))
        return (found[1], found[0]) if made.behind == START else (found[0], found[1])

    def most_steps(self, made: Presentation) -> tuple[int, int]:
        """The same where nothing is known of what is bent of them: at most."""
        front, behind = (
            corner_mm(own) + sum(max(each.flat_mm, each.formed_mm) for each in own) for own in self.of(made)
        )
        return math.ceil(front / STEP_MM), math.ceil(behind / STEP_MM)

    def of(self, way: Candidate | Presentation) -> tuple[tuple[Slack, ...], tuple[Slack, ...]]:
        """The slack of what lies in front of an operation, and behind it."""
        to_start, to_end = self._slack[: way.operation], self._slack[way.operation + 1 :]
        return (to_end, to_start) if way.behind == START else (to_start, to_end)


def corner_mm(beyond: tuple[Slack, ...]) -> float:
    """How far the corner that lies outermost may be off: one of them, and none where all that is formed is square."""
    if all(each.is_square for each in beyond):
        return 0.0
    return max((each.corner_mm for each in beyond), default=0.0)


def sheet_mm(beyond: tuple[Slack, ...]) -> tuple[float, float]:
    """By how much less and by how much more sheet what lies beyond an operation is long."""
    return sum(each.shorter_mm for each in beyond), sum(each.longer_mm for each in beyond)
