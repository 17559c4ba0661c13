"""One blank on one machine: the ways of doing each bend on it, what they cost by themselves, whether they can be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from .bench import BREACH_S, Bench, Hit, Looked
from .fold import Wing
from .lies import lying, straight_pull_mm
from .looks import Sight
from .rack import Blank, Choice
from .seconds import pair_s
from .stops import edge_wish_s, flange_bend, flange_wish_s


@dataclass(eq=False)
class Board:
    """One blank on one machine, with all that was looked at on it."""

    bench: Bench
    blank: Blank
    own: tuple[tuple[int, ...], ...]
    looked: dict[Hit, Looked] = field(default_factory=dict)
    bases: dict[Hit, tuple[float, float] | None] = field(default_factory=dict)
    short: dict[Hit, int] = field(default_factory=dict)
    drawn: dict[tuple[int, bool, bool, int], Wing] = field(default_factory=dict)

    def wings(self, hit: Hit) -> tuple[Wing, Wing]:
        """In front and behind, before the hit."""
        return self._wing(hit, to_end=hit.start_behind), self._wing(hit, to_end=not hit.start_behind)

    def _wing(self, hit: Hit, *, to_end: bool) -> Wing:
        outward = hit.done >> hit.bend + 1 if to_end else hit.done & (1 << hit.bend) - 1
        key = (hit.bend, to_end, hit.marked_up, outward)
        if key not in self.drawn:
            self.drawn[key] = self.blank.wing(hit.bend, hit.done, to_end=to_end, marked_up=hit.marked_up)
        return self.drawn[key]

    def ways(self, bend: int, done: int) -> Iterator[Hit]:
        """All ways of doing a bend next that the part allows to ask for."""
        part = self.bench.job.part
        wanted = part.section.bends[bend]
        if part.order is not None and part.order[done.bit_count()] != bend + 1:
            return
        turns = [self.blank.turns_deg[zone] for zone in self.blank.zones_of[bend]]
        faces = (turns[0] > 0,) if wanted.kind != "offset" else (True, False)
        for choice in self.own[bend]:
            for marked_up in faces:
                for start_behind in (True, False):
                    for on_flange in (False, True):
                        hit = Hit(bend, choice, marked_up, start_behind, on_flange, done)
                        if self._allowed(hit) and self.base(hit) is not None:
                            yield hit

    def _allowed(self, hit: Hit) -> bool:
        wanted = self.bench.job.part.section.bends[hit.bend]
        if wanted.marked_up not in (None, hit.marked_up):
            return False
        choice = self.bench.choices[hit.bend][hit.choice]
        if wanted.kind == "offset" and not self._fits(hit, choice):
            return False
        gauge = wanted.gauge
        if gauge is None:
            return True
        if gauge.bend is None:
            return not hit.on_flange and hit.start_behind == (gauge.on == "start")
        if not hit.on_flange or hit.start_behind != (gauge.bend - 1 < hit.bend):
            return False
        return flange_bend(self.blank, self.wings(hit)[1]) == gauge.bend - 1

    def _fits(self, hit: Hit, choice: Choice) -> bool:
        """An offset goes up from behind to the front on a die whose front land is the higher, and down on the other."""
        zones = self.blank.zones_of[hit.bend]
        first = zones[0] if hit.start_behind else zones[-1]
        behind, front = choice.tools[0].levels_mm
        return ((self.blank.turns_deg[first] > 0) == hit.marked_up) == (front > behind)

    def base(self, hit: Hit) -> tuple[float, float] | None:
        """Seconds (allowance in) and breach of an operation but for moves, tools and what only a look can tell."""
        if hit not in self.bases:
            self.bases[hit] = self._base(hit)
        return self.bases[hit]

    def _base(self, hit: Hit) -> tuple[float, float] | None:
        bench, choice = self.bench, self.bench.choices[hit.bend][hit.choice]
        front, back = self.wings(hit)
        asked = flange_wish_s if hit.on_flange else edge_wish_s
        gauging = asked(self.blank, hit.bend, bench.finger, bench.job.handler, back)
        if gauging is None:
            return None
        lies = lying(self.blank, hit.bend, choice, bench.job.handler, front, back, bench.kg_per_mm)
        pull = straight_pull_mm(self.blank, hit.bend, choice, back)
        strokes = min(
            bench.strokes_s(choice, pull, lies.reach_mm, lies.front_mm),
            bench.job.handler.side_exit_s
            + bench.strokes_s(choice, self.blank.thickness_mm, lies.reach_mm, lies.front_mm),
        )
        own = pair_s(choice) + gauging + lies.wish_s + bench.mark_s(hit)
        time = strokes + bench.job.handler.gauge_s * len(choice.hits)
        return own + bench.clock.share * time, lies.breach

    def at_least(self, bend: int) -> float:
        """What a bend weighs at the least, whatever its tools and whenever it is made: no tool is looked at closely."""
        bench, part = self.bench, self.bench.job.part
        own, handler = [bench.choices[bend][index] for index in self.own[bend]], bench.job.handler
        tools = min(
            pair_s(choice)
            + bench.clock.share
            * (bench.strokes_s(choice, self.blank.thickness_mm, 0.0, math.inf) + handler.gauge_s * len(choice.hits))
            for choice in own
        )
        least = math.inf
        faces = (True, False) if part.section.bends[bend].kind == "offset" else (self._rises(bend),)
        for done in range(1 << len(self.own)):
            if done >> bend & 1:
                continue
            for face in faces:
                for start_behind in (True, False):
                    front, back = self.wings(Hit(bend, 0, face, start_behind, False, done))
                    asked = (ask(self.blank, bend, bench.finger, handler, back) for ask in (edge_wish_s, flange_wish_s))
                    gauging = min((found for found in asked if found is not None), default=math.inf)
                    lies = lying(self.blank, bend, None, handler, front, back, bench.kg_per_mm)
                    least = min(least, gauging + lies.wish_s + BREACH_S * lies.breach)
        return tools + least

    def _rises(self, bend: int) -> bool:
        return self.blank.turns_deg[self.blank.zones_of[bend][0]] > 0

    # --- looks

    @cached_property
    def _sight(self) -> Sight:
        return Sight(self.bench, self.blank)

    def look(self, hit: Hit) -> Looked:
        """All there is to be known of an operation."""
        if hit not in self.looked:
            self.looked[hit] = self._sight.look(hit, *self.wings(hit))
        return self.looked[hit]

    def sets_that_end(self, limit: int) -> frozenset[int]:
        """Sets of bends made from which the part can be finished; `limit` is the worst verdict let pass."""
        count = len(self.own)
        good, layer = {(1 << count) - 1}, {(1 << count) - 1}
        while layer:
            before = {done & ~(1 << bend) for done in layer for bend in range(count) if done >> bend & 1} - good
            layer = {
                done
                for done in before
                if any(
                    self.passes(hit, limit)
                    for bend in range(count)
                    if not done >> bend & 1 and done | 1 << bend in good
                    for hit in self.ways(bend, done)
                )
            }
            good |= layer
        return frozenset(good)

    def passes(self, hit: Hit, limit: int) -> bool:
        """Whether an operation can be made, near limits counted as `limit` says; the way out is looked at later."""
        if self.base(hit) is None:
            return False
        if hit not in self.short:
            self.short[hit] = self._sight.struck(hit, *self.wings(hit)).verdict
        return self.short[hit] <= limit
