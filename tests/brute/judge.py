"""Every blank of a part on one machine, and what plans on them cost, from the first move to the last."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from functools import cached_property

from .bench import Bench, Hit, Looked, Plan
from .board import Board
from .lies import lying
from .rack import blank_of, formed_mm
from .seconds import Clock, pair_s, put_in
from .stops import edge_wish_s, flange_wish_s
from .strikes import NEAR, STRUCK

SAME_RADIUS = 7


@dataclass(eq=False)
class Judge:
    """A part on one machine, judged by trying everything."""

    bench: Bench
    sides: dict[tuple[int, ...], bool] = field(default_factory=dict)

    @property
    def clock(self) -> Clock:
        """What everything takes."""
        return self.bench.clock

    @cached_property
    def boards(self) -> tuple[Board, ...]:
        """Every blank that a choice of tools makes, with the choices that make it."""
        part, groups = self.bench.job.part, []
        for bend, own in zip(part.section.bends, self.bench.choices, strict=True):
            by_radius: dict[float, list[int]] = {}
            for index, choice in enumerate(own):
                by_radius.setdefault(round(formed_mm(part, bend, choice.pair), SAME_RADIUS), []).append(index)
            groups.append(sorted(by_radius.items()))
        found = []
        for taken in itertools.product(*groups):
            radii = {bend.number: radius for bend, (radius, _) in zip(part.section.bends, taken, strict=True)}
            blank = blank_of(part, self.bench.job.shop, radii)
            if blank is not None:
                found.append(Board(self.bench, blank, tuple(tuple(own) for _, own in taken)))
        return tuple(found)

    def can_be_bent(self, limit: int) -> bool:
        """Whether the tools, the stops and the part itself leave any order; ways out are not looked at."""
        return any(0 in board.sets_that_end(limit) for board in self.boards)

    def together(self, used: tuple[tuple[int, int], ...]) -> bool:
        """Whether the choices used, (bend, choice) in turn, stand beside each other."""
        key = tuple(itertools.chain(*used))
        if key not in self.sides:
            self.sides[key] = self.clock.beside([self.bench.choices[bend][choice] for bend, choice in used])
        return self.sides[key]

    def price(self, board: Board, hits: tuple[Hit, ...]) -> Plan:
        """A plan's own sum, from its first move to its last."""
        clock, handler = self.clock, self.bench.job.handler
        beside = self.together(tuple((hit.bend, hit.choice) for hit in hits))
        total, breach, near, struck = clock.around_s, 0.0, [], []
        standing: tuple[str, str, bool] | None = None
        mounted, seen = 0, set()
        before: tuple[Hit, Looked] | None = None
        for hit in hits:
            if board.base(hit) is None:
                struck.append(f"bend {hit.bend + 1}: not to be gauged so")
                continue
            found = board.look(hit)
            if found.verdict == STRUCK:
                struck.append(f"bend {hit.bend + 1}: {found.why}")
                continue
            if found.verdict == NEAR:
                near.append(f"bend {hit.bend + 1}: {found.why}")
            choice = self.bench.choices[hit.bend][hit.choice]
            front, back = board.wings(hit)
            lies = lying(board.blank, hit.bend, choice, handler, front, back, self.bench.kg_per_mm)
            asked = flange_wish_s if hit.on_flange else edge_wish_s
            total += pair_s(choice) + lies.wish_s + self.bench.mark_s(hit)
            total += asked(board.blank, hit.bend, self.bench.finger, handler, back) or 0.0
            breach += lies.breach
            seconds = (
                found.strokes_s
                + handler.gauge_s * len(choice.hits)
                + (handler.side_exit_s if found.slid else 0.0)
                + (handler.tilt_out_s or 0.0) * found.tilts
            )
            for nth, station in enumerate(choice.stations):
                if before is not None or nth:
                    moved = before is not None and nth == 0
                    over = moved and before is not None and before[0].marked_up != hit.marked_up
                    swap = moved and before is not None and before[0].start_behind != hit.start_behind
                    other = station != standing
                    hands = clock.handled_s(
                        over=over, swap=swap, shifted=other and beside, fetched=other and not beside
                    )
                    if moved and before is not None and None not in (before[1].x_mm, found.x_mm):
                        hands = max(hands, clock.travel_s((found.x_mm or 0.0) - (before[1].x_mm or 0.0)))
                    seconds += hands
                mounted += put_in(station, standing)
                seen.add(station)
                standing = station
            total += clock.share * seconds
            before = (hit, found)
        total += clock.mount_s * (2 * len(seen) if beside or len(seen) == 1 else mounted)
        return Plan(hits, board.blank, total, breach, tuple(near), tuple(struck))

    def going_s(self, before: Hit, hit: Hit, used: frozenset[tuple[str, str, bool]]) -> float:
        """The least that going from one operation to the next takes, tools and all; it may be more in a whole plan."""
        clock = self.clock
        one, other = self.bench.choices[before.bend][before.choice], self.bench.choices[hit.bend][hit.choice]
        over, swap = before.marked_up != hit.marked_up, before.start_behind != hit.start_behind
        least = 0.0
        stations = (one.stations[-1], *other.stations)
        for nth, (was, now) in enumerate(itertools.pairwise(stations)):
            turned = {"over": over and nth == 0, "swap": swap and nth == 0}
            if was == now:
                least += clock.share * clock.handled_s(shifted=False, fetched=False, **turned)
                continue
            shifted = clock.share * clock.handled_s(shifted=True, fetched=False, **turned)
            fetched = clock.share * clock.handled_s(shifted=False, fetched=True, **turned)
            new = 0 if now in used else 2
            least += min(shifted + new * clock.mount_s, fetched + put_in(now, was) * clock.mount_s)
        return least

    def first_s(self, hit: Hit) -> float:
        """The least that the first operation's tools take, and what lies between a hem's two strokes."""
        clock, stations = self.clock, self.bench.choices[hit.bend][hit.choice].stations
        # The start was reckoned with a next stop less, which the first operation has none of.
        least = 2 * clock.mount_s + clock.share * self.bench.job.handler.next_stop_s
        for was, now in itertools.pairwise(stations):
            shifted = clock.share * clock.handled_s(over=False, swap=False, shifted=True, fetched=False)
            fetched = clock.share * clock.handled_s(over=False, swap=False, shifted=False, fetched=True)
            least += min(shifted + 2 * clock.mount_s, fetched + put_in(now, was) * clock.mount_s)
        return least
