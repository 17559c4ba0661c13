"""The change of one size that frees a part for which there is no order: found by halving, each length planned once.

It is told as the smallest only where every nearer tenth of a millimetre is proven not to do; else as one that works,
where the next tenth toward what is now is known not to do, with that length beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flangewise.findings import Finding, note
from flangewise.records import dataclass, field
from flangewise.words import Phrase

# A size is told to the tenth of a millimetre, as a drawing has it.
STEP_MM = 0.1
# What of the most is tried first, the farthest before the nearer.
TRIED_SHARES = (1.0, 0.5, 0.2)
# So many nearer lengths are looked at to prove that a change is the smallest.
MOST_NEARER = 20


def never(_length_mm: float) -> bool:
    """Nothing is proven."""
    return False


@dataclass
class Nearest:
    """One size of a part in other lengths; `planned_with_mm` says whether it can be bent so, None: not known.

    `over` says when no time is left; a length of `least_mm` or less is none. `ruled_out_mm`: whether it is proven that
    it cannot be bent so, asked where that is not known and something is told of it.
    """

    now_mm: float
    planned_with_mm: Callable[[float], bool | None]
    over: Callable[[], bool]
    least_mm: float = 0.0
    ruled_out_mm: Callable[[float], bool] = never
    known_mm: dict[float, bool | None] = field(default_factory=dict)
    failing_mm: dict[float, bool] = field(default_factory=dict)

    def length_mm(self, by_mm: float) -> float:
        """The size changed, to the tenth."""
        return round(self.now_mm + by_mm, 1)

    def works(self, length_mm: float) -> bool | None:
        """Whether the part can be bent with the size so long; None where that is not known, or no time is left."""
        if length_mm not in self.known_mm:
            if length_mm <= self.least_mm or self.over():
                return None
            self.known_mm[length_mm] = self.planned_with_mm(length_mm)
        return self.known_mm[length_mm]

    def fails(self, length_mm: float) -> bool:
        """Whether it is proven that the part cannot be bent with the size so long."""
        if length_mm not in self.failing_mm:
            works = self.works(length_mm)
            if works is not None:
                return not works
            if length_mm <= self.least_mm or self.over():
                return False
            self.failing_mm[length_mm] = self.ruled_out_mm(length_mm)
        return self.failing_mm[length_mm]

    def nearest_mm(self, side: int, most_mm: float) -> float | None:
        """A length to one side that works while the one a step nearer does not, as halving finds it.

        None where none is found so near. Out of time it is the nearest that is known to work.
        """
        good = next((by for share in TRIED_SHARES if self.works(self.length_mm(side * (by := most_mm * share)))), None)
        if good is None:
            return None
        bad = 0.0
        while good - bad > STEP_MM + 1e-6 and not self.over():
            middle = abs(self.length_mm(side * (good + bad) / 2) - self.now_mm)
            if middle in (good, bad):
                break
            good, bad = (middle, bad) if self.works(self.length_mm(side * middle)) else (good, middle)
        return self.length_mm(side * good)

    def nearer_of_both_mm(self, most_mm: float) -> float | None:
        """A length that works, shorter or longer by no more than `most_mm`, whichever is nearer."""
        then_mm = None
        for side in (-1, 1):
            found = self.nearest_mm(side, most_mm) if most_mm > STEP_MM / 2 else None
            if found is not None:
                then_mm, most_mm = found, abs(found - self.now_mm) - STEP_MM
        return then_mm

    def finding(
        self, code: str, then_mm: float, where: Phrase | None = None, *, sides: tuple[int, ...], **more: Any
    ) -> Finding:
        """The change under its code, called the smallest where all nearer to these sides are proven not to do."""
        nearer = [self.length_mm(side * step * STEP_MM) for step in range(1, MOST_NEARER + 1) for side in sides]
        nearer = [each for each in nearer if abs(each - self.now_mm) < abs(then_mm - self.now_mm) - STEP_MM / 2]
        # The nearer a length is to one that works the harder it is to prove: one that is not spares all others.
        nearer.sort(key=lambda length_mm: abs(length_mm - then_mm))
        beside = self.length_mm(then_mm - self.now_mm - (STEP_MM if then_mm > self.now_mm else -STEP_MM))
        values = {"now_mm": self.now_mm, "then_mm": then_mm, **more}
        near = abs(then_mm - self.now_mm) <= MOST_NEARER * STEP_MM + STEP_MM / 2
        if near and all(map(self.fails, nearer)):
            return note(f"{code}-smallest", where, **values)
        if beside == self.now_mm or self.fails(beside):
            return note(f"{code}-edge", where, **values, not_mm=beside)
        return note(code, where, **values)
