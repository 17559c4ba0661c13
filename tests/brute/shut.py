"""Are some bends in a row shut by themselves, whatever lies beside them, with every pair of tools on every blank?

Nothing of the order's search is asked: the judge's own fold and its own tools. Each choice of tools bends a blank of
its own radius exactly; what the radii of other bends may put elsewhere is taken off the tools. What still strikes does
so on every blank; where that does not settle it, the blanks are halved.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely

from flangewise.jobs import Job

from .bench import Bench
from .fold import Line, Strip, Wing, plane, wing_of
from .rack import Blank, Choice, Tools, blank_of, formed_mm
from .strikes import CONTACT_MM, MOMENTS, NEAR_MM, _frames, _strings, swing_of, swung

# Tools are made smaller by whole steps, which makes fewer of them.
STEP_MM = 0.05
DENSE_MM = 0.5

# For each bend in the row the radii that it may have.
Radii = tuple[tuple[float, ...], ...]


@dataclass(eq=False)
class Row:
    """Bends `first` to `last` of a part on one machine, counted from 0."""

    job: Job
    first: int
    last: int
    kept: dict[tuple[object, ...], object] = field(default_factory=dict)
    boxes: int = 0

    @cached_property
    def by_radius(self) -> tuple[dict[float, tuple[Choice, ...]], ...]:
        """For each bend of the part its choices of tools by the radius that they form."""
        part, found = self.job.part, []
        for bend, own in zip(part.section.bends, Bench(self.job).choices, strict=True):
            radii = {choice: formed_mm(part, bend, choice.pair) for choice in own}
            found.append({r: tuple(c for c in own if radii[c] == r) for r in sorted(set(radii.values()))})
        return tuple(found)

    def is_shut(self, *, most: int = 200) -> bool:
        """Whether no choice of tools makes all of them in any order; False where so many blanks do not settle it."""
        own = self.by_radius[self.first : self.last + 1]
        waiting: list[Radii] = [tuple(tuple(each) for each in own)]
        while waiting and self.boxes < most:
            self.boxes += 1
            box = waiting.pop()
            if self._leads_nowhere(box):
                continue
            widths = [each[-1] - each[0] for each in box]
            at = int(np.argmax(widths))
            if not widths[at]:
                return False
            half = len(box[at]) // 2
            waiting += [(*box[:at], part, *box[at + 1 :]) for part in (box[at][:half], box[at][half:])]
        return not waiting

    def _leads_nowhere(self, box: Radii) -> bool:
        """Whether unfolding the finished row backward ends before it is flat, with the tools of those radii."""
        count = len(box)
        sets = {(1 << count) - 1}
        for _ in range(count):
            sets = {
                done & ~(1 << bend)
                for done in sets
                for bend in range(count)
                if done >> bend & 1 and self._is_open(box, bend, done & ~(1 << bend))
            }
            if not sets:
                return True
        return False

    def _is_open(self, box: Radii, bend: int, done: int) -> bool:
        """Whether some choice makes a bend after some others without surely striking, either end behind."""
        return any(
            not self._strikes(box, bend, done, radius, choice, start_behind)
            for start_behind in (True, False)
            for radius in box[bend]
            for choice in self.by_radius[self.first + bend][radius]
        )

    def _strikes(self, box: Radii, bend: int, done: int, radius: float, choice: Choice, start_behind: bool) -> bool:
        blank = self._blank(self._middles(box) | {self.first + bend: radius})
        for to_end in (start_behind, not start_behind):
            behind = to_end != start_behind
            if self._wing_strikes(box, bend, done, blank, choice, to_end=to_end, behind=behind):
                return True
        return False

    def _wing_strikes(
        self, box: Radii, bend: int, done: int, blank: Blank, choice: Choice, *, to_end: bool, behind: bool
    ) -> bool:
        at = self.first + bend
        wing = self._cut(blank, at, done << self.first, to_end=to_end)
        others = range(bend + 1, len(box)) if to_end else range(bend)
        off_mm = sum(self._off_mm(box, other, done, to_end) for other in others) + self._off_beside_mm(box, to_end)
        steps = math.ceil(off_mm / STEP_MM)
        swing, half = swing_of(blank, at, choice), blank.thickness_mm / 2
        key = ("struck", id(choice), wing, swing, steps, behind)
        if key not in self.kept:
            standing, coming = self._smaller(choice.tools[0], steps, behind)
            shares = np.linspace(0.0, 1.0, MOMENTS)
            placed = swung(swing, wing.whole, shares)
            nose = _frames(swing, tuple(shares))[2]
            near = min(
                shapely.distance(_strings(placed), standing).min(),
                shapely.distance(_strings(placed - nose[:, None]), coming).min(),
            )
            self.kept[key] = bool(near < half - CONTACT_MM - NEAR_MM)
        return bool(self.kept[key])

    def _smaller(self, tools: Tools, steps: int, behind: bool) -> tuple[shapely.Geometry, shapely.Geometry]:
        """What of tools lies so deep in them: what stands, and what comes down."""
        key = ("smaller", id(tools), steps, behind)
        if key not in self.kept:
            seen = tools.seen_from_behind if behind else tools.seen_from_front
            # Bodies by themselves: where two touch, their union is deep where neither is.
            each = [
                shapely.union_all([shapely.buffer(b, -steps * STEP_MM) for b in shapely.get_parts(s)]) for s in seen
            ]
            for one in each:
                shapely.prepare(one)
            self.kept[key] = tuple(each)
        return self.kept[key]  # type: ignore[return-value]

    def _cut(self, blank: Blank, bend: int, done: int, *, to_end: bool) -> Wing:
        """A wing as far as the flat beside the row's last bend."""
        wing = blank.wing(bend, done, to_end=to_end, marked_up=blank.turns_deg[bend] > 0)
        others = self.last - bend if to_end else bend - self.first
        return wing_of(wing.strips[: 2 * others + 1])

    def _off_mm(self, box: Radii, bend: int, done: int, to_end: bool) -> float:
        """How far other radii of a bend put it, and what lies beyond it, elsewhere: at most."""
        key = ("off", box[bend], bend, done >> bend & 1, to_end)
        if key not in self.kept:
            middles = self._middles(box)
            lines = [
                self._about(middles | {self.first + bend: radius}, self.first + bend, bool(done >> bend & 1), to_end)
                for radius in box[bend]
            ]
            own = self._about(middles, self.first + bend, bool(done >> bend & 1), to_end)
            beyond = max(abs(own[-1] - other[-1]) for other in lines)
            self.kept[key] = max(beyond, *(_from_line_mm(own, other) for other in lines))
        return self.kept[key]  # type: ignore[return-value]

    def _off_beside_mm(self, box: Radii, to_end: bool) -> float:
        """How far the end of the flat beside the row lies from the sheet with any radius of the next bend."""
        beside = self.last + 1 if to_end else self.first - 1
        if not 0 <= beside < len(self.by_radius):
            return 0.0
        key = ("beside", to_end)
        if key not in self.kept:
            middles = self._middles(box)
            # What of the flat lies past the next bend's own: to where it goes on, flat or formed.
            flat = beside if to_end else beside + 1
            own = self._blank(middles).flats_mm[flat]
            found = [0.0]
            for radius in self.by_radius[beside]:
                blank = self._blank(middles | {beside: radius})
                longer = max(own - blank.flats_mm[flat], 0.0)
                about = radius + blank.thickness_mm / 2
                found.append(min(math.hypot(about, longer) - about, longer))
            self.kept[key] = max(found)
        return self.kept[key]  # type: ignore[return-value]

    def _about(self, radii: Mapping[int, float], bend: int, is_formed: bool, to_end: bool) -> Line:
        """A bend with the flats beside it, the one nearer to the bend that is made first."""
        blank = self._blank(radii)
        first, second = (bend, bend + 1) if to_end else (bend + 1, bend)
        turn = blank.turns_deg[bend] if is_formed else 0.0
        strips = (
            Strip(first, False, blank.flats_mm[first]),
            Strip(bend, True, blank.zones_mm[bend], turn, blank.radii_mm[bend] + blank.thickness_mm / 2),
            Strip(second, False, blank.flats_mm[second]),
        )
        return wing_of(strips).whole

    def _middles(self, box: Radii) -> dict[int, float]:
        """One radius a bend: of the row the middle of those it may have, of others the middle of all."""
        each = [tuple(own) for own in self.by_radius]
        each[self.first : self.last + 1] = box
        return {bend: radii[len(radii) // 2] for bend, radii in enumerate(each)}

    def _blank(self, radii: Mapping[int, float]) -> Blank:
        key = ("blank", *sorted(radii.items()))
        if key not in self.kept:
            by_number = {each.number: radii[bend] for bend, each in enumerate(self.job.part.section.bends)}
            blank = blank_of(self.job.part, self.job.shop, by_number)
            assert blank is not None, "a leg is too short for that radius"
            self.kept[key] = blank
        return self.kept[key]  # type: ignore[return-value]


def _from_line_mm(own: Line, other: Line) -> float:
    """How far a point of one line lies from the other at most, looked at densely."""
    line = shapely.segmentize(shapely.LineString(plane(own)), DENSE_MM)
    return float(
        shapely.distance(shapely.points(shapely.get_coordinates(line)), shapely.LineString(plane(other))).max()
    )
