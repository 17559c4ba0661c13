"""How far a wing may lie from where it is thought to be on the blanks of other tools, by what is bent on it."""

import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np

from flangewise.sequence.arrays import Floats, Ints, SumsByState
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
    def _sides(self) -> tuple[tuple["_Side", "_Side"], ...]:
        """What lies beyond each operation toward the start, and toward the end."""
        return tuple(
            (_Side(0, self._slack[:at]), _Side(at + 1, self._slack[at + 1 :])) for at in range(len(self._slack))
        )

    def beside(self, operation: int, sets: Ints, *, toward_end: bool) -> tuple[Ints, float | Floats, float | Floats]:
        """How far the wing to one side of each set may reach elsewhere than thought, in `STEP_MM`; what of it a corner
        is off that may lie outermost, and besides one between square faces, which does not."""
        if not self._slack:
            return np.zeros(len(sets), dtype=np.int64), 0.0, 0.0
        side = self._sides[operation][toward_end]
        own = sets >> side.first & side.bits
        # A wing without bends has no corner.
        corner_mm = np.where(own != 0, side.corner_mm, 0.0)
        off_mm = side.flat_mm + side.formed_more_mm.of(own)
        if side.is_square:
            return np.ceil(off_mm / STEP_MM).astype(np.int64), 0.0, corner_mm
        return np.ceil((off_mm + corner_mm) / STEP_MM).astype(np.int64), corner_mm, 0.0

    def most(self, made: Presentation) -> Iterator[tuple[int, float]]:
        """How far the wing in front and the wing behind may be off where nothing is known of what is bent of them, and
        a corner between square faces besides."""
        for own in self.of(made):
            outermost = outermost_mm(own)
            off_mm = outermost + sum(max(each.flat_mm, each.formed_mm) for each in own)
            yield math.ceil(off_mm / STEP_MM), _corner_mm(own) - outermost

    def of(self, way: Candidate | Presentation) -> tuple[tuple[Slack, ...], tuple[Slack, ...]]:
        """The slack of what lies in front of an operation, and behind it."""
        to_start, to_end = self._slack[: way.operation], self._slack[way.operation + 1 :]
        return (to_end, to_start) if way.behind == START else (to_start, to_end)


class _Side:
    """What lies beyond an operation to one side: its operations begin with `first`."""

    def __init__(self, first: int, own: tuple[Slack, ...]) -> None:
        self.first, self.bits, self.corner_mm = first, (1 << len(own)) - 1, _corner_mm(own)
        self.flat_mm, self.is_square = sum(each.flat_mm for each in own), all(each.is_square for each in own)
        self.formed_more_mm = SumsByState([each.formed_mm - each.flat_mm for each in own])


def outermost_mm(beyond: tuple[Slack, ...]) -> float:
    """How far the corner that lies outermost may be off: one of them, and none where all that is formed is square."""
    return 0.0 if all(each.is_square for each in beyond) else _corner_mm(beyond)


def _corner_mm(beyond: tuple[Slack, ...]) -> float:
    """How far a corner may be off."""
    return max((each.corner_mm for each in beyond), default=0.0)


def sheet_mm(beyond: tuple[Slack, ...]) -> tuple[float, float]:
    """By how much less and by how much more sheet what lies beyond an operation is long."""
    return sum(each.shorter_mm for each in beyond), sum(each.longer_mm for each in beyond)
