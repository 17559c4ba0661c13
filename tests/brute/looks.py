"""A look at one operation: tools, the part itself, the stops, and the way out; what was looked at once is kept."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .bench import Bench, Hit, Looked
from .exits import Way
from .fold import Wing
from .lies import lying, straight_pull_mm
from .poses import laid_out, nose_mm, placing
from .rack import Blank, Choice
from .stops import stand
from .strikes import (
    FREE,
    NEAR,
    STRUCK,
    leg_is_at_end,
    offset_gap_mm,
    press_gap_mm,
    self_verdict,
    still_self_gap_mm,
    swing_gap_mm,
    swing_of,
    swing_self_gap_mm,
    verdict,
)
from .tilted import TOLD, is_free

CAUGHT_MM, PRESSED_MM, SLIDE_MM, GRID_MM = 0.05, 0.3, 10.0, 5.0


@dataclass(frozen=True, eq=False)
class Sight:
    """Looks at operations on one blank."""

    bench: Bench
    blank: Blank

    def struck(self, hit: Hit, front: Wing, back: Wing) -> Looked:
        """Whether tools, the part itself or the stops forbid an operation; without its way out."""
        choice = self.bench.choices[hit.bend][hit.choice]
        worst, why = FREE, ""
        for found, told in self._verdicts(hit, choice, front, back):
            if found > worst:
                worst, why = found, told
            if worst == STRUCK:
                break
        return Looked(worst, why)

    def _verdicts(self, hit: Hit, choice: Choice, front: Wing, back: Wing) -> Iterator[tuple[int, str]]:
        for nth in range(len(choice.hits)):
            for wing, behind in ((front, False), (back, True)):
                gap = self._tool_gap(hit, choice, wing, nth=nth, behind=behind)
                yield verdict(gap), f"{'behind' if behind else 'front'} {gap:.3f}"
        stood = self._stand(hit, choice, front, back)
        yield (STRUCK if stood is None else NEAR if stood[1] else FREE), "stops"
        for nth in range(len(choice.hits)):
            gap = self._self_gap(hit, choice, front, back, nth=nth)
            yield self_verdict(gap), f"self {gap:.3f}"

    def _stand(self, hit: Hit, choice: Choice, front: Wing, back: Wing) -> tuple[float, bool] | None:
        key = ("stand", hit.bend, choice.tools[0].key, front, back, hit.on_flange)
        kept = self.bench.kept
        if key not in kept:
            found = stand(
                self.blank,
                hit.bend,
                choice,
                self.bench.finger,
                front,
                back,
                on_flange=hit.on_flange,
                start_behind=hit.start_behind,
            )
            kept[key] = None if found is None else (found.x_mm, found.near)
        return kept[key]  # type: ignore[return-value]

    def _tool_gap(self, hit: Hit, choice: Choice, wing: Wing, *, nth: int, behind: bool) -> float:
        """The least gap of a wing, strip after strip outward: what is struck near the bend settles all beyond."""
        least, kept, tools = math.inf, self.bench.kept, choice.tools[nth]
        kind = choice.hits[nth].kind
        swing = swing_of(self.blank, hit.bend, choice) if kind in ("bend", "hem") else None
        leg = behind == (hit.start_behind != leg_is_at_end(self.blank, hit.bend))
        body_behind = behind != leg
        for cut in wing.inward:
            key = (tools.key, kind, swing or hit.bend, behind, leg if kind == "flatten" else None, cut)
            if key not in kept:
                pieces = cut.lines[-2:]
                gaps = []
                for piece in pieces:
                    if swing is not None:
                        gaps.append(swing_gap_mm(tools, swing, piece, behind=behind))
                    elif kind == "offset":
                        gaps.append(offset_gap_mm(self.blank, hit.bend, tools, piece, behind=behind))
                    else:
                        gaps.append(
                            press_gap_mm(self.blank, hit.bend, tools, piece, is_leg=leg, body_behind=body_behind)
                        )
                kept[key] = min(gaps)
            least = min(least, kept[key])  # type: ignore[type-var]
            if verdict(least) == STRUCK:
                break
        return least

    def _self_gap(self, hit: Hit, choice: Choice, front: Wing, back: Wing, *, nth: int) -> float:
        kind, kept = choice.hits[nth].kind, self.bench.kept
        if kind in ("bend", "hem"):
            swing = swing_of(self.blank, hit.bend, choice)
            key: tuple[object, ...] = ("self", swing.half_deg, swing, front, back)
            if key not in kept:
                kept[key] = swing_self_gap_mm(swing, front, back)
            return kept[key]  # type: ignore[return-value]
        key = ("still", kind, choice.tools[nth].key, front, back)
        if key not in kept:
            place = placing(self.blank, hit.bend, choice, hit=nth, at_end=True, start_behind=hit.start_behind)
            kept[key] = still_self_gap_mm(self.blank.thickness_mm, front, back, place)
        return kept[key]  # type: ignore[return-value]

    def look(self, hit: Hit, front: Wing, back: Wing) -> Looked:
        seen = self.struck(hit, front, back)
        if seen.verdict == STRUCK:
            return seen
        choice = self.bench.choices[hit.bend][hit.choice]
        lies = lying(self.blank, hit.bend, choice, self.bench.job.handler, front, back, self.bench.kg_per_mm)
        pull = straight_pull_mm(self.blank, hit.bend, choice, back)
        opening, slid = self._opening_mm(hit, choice, front, back, pull)
        tilted = opening is None and not slid and self._told_is_free(hit, choice, front, back)
        if opening is None and not slid and not tilted:
            return Looked(STRUCK, "no way out")
        needed = self.blank.thickness_mm if opening is None else opening
        if tilted:
            # What is kept in hand is added to it again.
            handler = self.bench.job.handler
            in_hand = max(handler.load_margin_mm, handler.unload_margin_mm) + handler.tilt_margin_mm
            needed = hit.told_open_mm - in_hand
        stood = self._stand(hit, choice, front, back)
        return Looked(
            seen.verdict,
            seen.why,
            self.bench.strokes_s(choice, needed, lies.reach_mm, lies.front_mm),
            slid=opening is None and not tilted,
            x_mm=None if stood is None else stood[0],
            tilts=len(hit.told) if tilted else 0,
        )

    def _told_is_free(self, hit: Hit, choice: Choice, front: Wing, back: Wing) -> bool:
        """Whether the ways a plan tells are free, and where it tells none a level one is."""
        if not hit.told:
            return False
        told = {move for move, _ in hit.told}
        for at_end, move in enumerate(TOLD):
            if move in told:
                free = is_free(self.blank, hit, choice, front, back, move)
            else:
                way = self._way(hit, choice, front, back, nth=0, at_end=bool(at_end))
                free = way.open_at(hit.told_open_mm - way.nose_mm)
            if not free:
                return False
        return True

    def _opening_mm(
        self, hit: Hit, choice: Choice, front: Wing, back: Wing, pull_mm: float
    ) -> tuple[float | None, bool]:
        """What must pass under the nose (None: no way to the front), and whether the part can be slid out sideways."""
        key = ("open", hit.bend, choice.stations, front, back, swing_of(self.blank, hit.bend, choice))
        kept = self.bench.kept
        if key not in kept:
            last = len(choice.hits) - 1
            ways = [self._way(hit, choice, front, back, nth=nth, at_end=end) for nth, end in ((0, False), (last, True))]
            most = choice.tools[last].most_open_mm
            # On the grid a step over the straight pull is no more than rounding.
            quick = [np.floor((pull_mm + GRID_MM - way.nose_mm) / GRID_MM) * GRID_MM for way in ways]
            if all(
                lift <= most - way.nose_mm and (way.slips_out_at(lift) or way.open_at(lift))
                for way, lift in zip(ways, quick, strict=True)
            ):
                kept[key] = (pull_mm, False)
                return pull_mm, False
            lifts = [way.least_lift_mm(most - way.nose_mm) for way in ways]
            if lifts[0] is None or lifts[1] is None:
                kept[key] = (None, ways[1].stays(SLIDE_MM))
            else:
                kept[key] = (max(lift + way.nose_mm for lift, way in zip(lifts, ways, strict=True)), False)  # type: ignore[operator]
        measured, slid = kept[key]  # type: ignore[misc]
        if measured is None:
            return None, slid
        return (pull_mm if measured - GRID_MM <= pull_mm else measured), False

    def _way(self, hit: Hit, choice: Choice, front: Wing, back: Wing, *, nth: int, at_end: bool) -> Way:
        line = laid_out(
            self.blank, hit.bend, choice, front, back, hit=nth, at_end=at_end, start_behind=hit.start_behind
        )
        tight = CAUGHT_MM if choice.hits[nth].kind in ("bend", "hem") else PRESSED_MM
        nose = nose_mm(self.blank, hit.bend, choice, hit=nth, at_end=at_end)
        return Way(choice.tools[nth], line, self.blank.thickness_mm, nose, tight)
