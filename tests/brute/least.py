"""Every order, face, end, datum and pair of a part, each on the blank of its own dies: the least, or that none is.

Best first, by sums of its own: a plan's price is settled only when it stands first, and each look at a shape is kept.
What is near a limit counts once as free and once as struck, so that the answer is a bracket.
"""

from __future__ import annotations

import heapq
import itertools
import math
import time
from dataclasses import dataclass, field

from .bench import BREACH_S, Hit, Looked, Plan
from .board import Board
from .judge import Judge
from .lies import lying, straight_pull_mm
from .seconds import Clock, pair_s

# The clock is looked at seldom: a look takes longer than most steps.
SELDOM = 25


class TooMuchError(Exception):
    """Raised where trying everything takes longer than it may."""


@dataclass(eq=False)
class Least:
    """Looks for the least plan of a judge's part."""

    judge: Judge
    onward: dict[tuple[object, ...], float] = field(default_factory=dict)

    @property
    def clock(self) -> Clock:
        """What everything takes."""
        return self.judge.clock

    def found(self, limit: int, *, most_s: float = 60.0) -> Plan | None:
        """The least plan of all, what is near counted as `limit` says (NEAR: free, FREE: struck); None for none."""
        number, begun, tried = itertools.count(), time.process_time(), 0
        queue: list[tuple[float, int, str, Board, tuple[Hit, ...], float]] = []
        floors: dict[int, list[float]] = {}
        ready: dict[int, frozenset[int]] = {}
        seen: set[tuple[object, ...]] = set()

        def push(state: str, board: Board, hits: tuple[Hit, ...], so_far: float) -> None:
            done = sum(1 << hit.bend for hit in hits)
            rest = sum(floor for bend, floor in enumerate(floors[id(board)]) if not done >> bend & 1)
            rest += self._onward_s(board, done, hits[-1] if hits else None)
            heapq.heappush(queue, (so_far + rest, next(number), state, board, hits, so_far))

        for board in self.judge.boards:
            floor = sum(
                min(pair_s(self.judge.bench.choices[bend][c]) for c in own) for bend, own in enumerate(board.own)
            )
            floor += self.clock.around_s + self._onward_s(board, 0, None)
            heapq.heappush(queue, (floor, next(number), "rough", board, (), 0.0))
        start = self.clock.around_s - self.clock.share * self.judge.bench.job.handler.next_stop_s
        while queue:
            _, _, state, board, hits, so_far = heapq.heappop(queue)
            tried += 1
            if tried % SELDOM == 0 and time.process_time() - begun > most_s:
                raise TooMuchError("too much to try")
            if state == "rough":
                next_s = self.clock.share * self.judge.bench.job.handler.next_stop_s
                floors[id(board)] = [board.at_least(bend) + next_s for bend in range(len(board.own))]
                if all(map(math.isfinite, floors[id(board)])):
                    push("closer", board, (), start)
                continue
            if state == "closer":
                floors[id(board)] = self._floors(board)
                if all(map(math.isfinite, floors[id(board)])):
                    push("blank", board, (), start)
                continue
            if state == "whole":
                return self.judge.price(board, hits)
            if state == "blank":
                ready[id(board)] = board.sets_that_end(limit)
                if 0 in ready[id(board)]:
                    push("open", board, (), start)
                continue
            done = sum(1 << hit.bend for hit in hits)
            if state == "look":
                if board.passes(hits[-1], limit) and board.look(hits[-1]).verdict <= limit:
                    push("open", board, hits, so_far + self._dearer_s(board, hits, board.look(hits[-1])))
                continue
            key = (id(board), done, hits[-1:], tuple((hit.bend, hit.choice) for hit in hits))
            if key in seen:
                continue
            seen.add(key)
            if len(hits) == len(board.own):
                plan = self.judge.price(board, hits)
                heapq.heappush(queue, (plan.weight, next(number), "whole", board, hits, plan.weight))
                continue
            used = frozenset(s for hit in hits for s in self.judge.bench.choices[hit.bend][hit.choice].stations)
            for bend in range(len(board.own)):
                if done >> bend & 1 or done | 1 << bend not in ready[id(board)]:
                    continue
                for hit in board.ways(bend, done):
                    cost, breach = board.base(hit) or (math.inf, 0.0)
                    going = self.judge.going_s(hits[-1], hit, used) if hits else self.judge.first_s(hit)
                    push("look", board, (*hits, hit), so_far + cost + BREACH_S * breach + going)
        return None

    def _dearer_s(self, board: Board, hits: tuple[Hit, ...], found: Looked) -> float:
        """What a look adds: the opening that is really needed, the way out sideways, the stops' way."""
        hit = hits[-1]
        choice = self.judge.bench.choices[hit.bend][hit.choice]
        front, back = board.wings(hit)
        handler, clock = self.judge.bench.job.handler, self.clock
        lies = lying(board.blank, hit.bend, choice, handler, front, back, self.judge.bench.kg_per_mm)
        pull = straight_pull_mm(board.blank, hit.bend, choice, back)
        thought = min(
            self.judge.bench.strokes_s(choice, pull, lies.reach_mm, lies.front_mm),
            handler.side_exit_s
            + self.judge.bench.strokes_s(choice, board.blank.thickness_mm, lies.reach_mm, lies.front_mm),
        )
        more = found.strokes_s + (handler.side_exit_s if found.slid else 0.0) - thought
        before = board.look(hits[-2]).x_mm if len(hits) > 1 else None
        if before is not None and found.x_mm is not None:
            other = self.judge.bench.choices[hits[-2].bend][hits[-2].choice].stations[-1] != choice.stations[0]
            over, swap = hits[-2].marked_up != hit.marked_up, hits[-2].start_behind != hit.start_behind
            hands = clock.handled_s(over=over, swap=swap, shifted=False, fetched=other)
            more += max(0.0, clock.travel_s(found.x_mm - before) - hands)
        return clock.share * more

    def _floors(self, board: Board) -> list[float]:
        """The least that each bend weighs by itself, whenever it is made, and for going there."""
        floors, count = [], len(board.own)
        for bend in range(count):
            least = math.inf
            for done in range(1 << count):
                if not done >> bend & 1:
                    for hit in board.ways(bend, done):
                        cost, breach = board.base(hit) or (0.0, 0.0)
                        least = min(least, cost + BREACH_S * breach)
            floors.append(least + self.clock.share * self.judge.bench.job.handler.next_stop_s)
        return floors

    def _onward_s(self, board: Board, done: int, last: Hit | None) -> float:
        """What other tools and the other face still cost at least, besides what each bend costs by itself."""
        standing = self.judge.bench.choices[last.bend][last.choice].stations[-1] if last is not None else None
        up = last.marked_up if last is not None else None
        key = (id(board), done, standing, up)
        if key not in self.onward:
            self.onward[key] = self._onward(board, done, standing, up)
        return self.onward[key]

    def _onward(self, board: Board, done: int, standing: tuple[str, str, bool] | None, up: bool | None) -> float:
        clock, left = self.clock, [bend for bend in range(len(board.own)) if not done >> bend & 1]
        needs = [{self.judge.bench.choices[bend][c].stations[0] for c in board.own[bend]} for bend in left]
        needs = [each for each in needs if standing not in each]
        names = sorted(set[tuple[str, str, bool]]().union(*needs))
        fewest = next(
            size
            for size in range(len(needs) + 1)
            if any(all(each & set(taken) for each in needs) for taken in itertools.combinations(names, size))
        )
        changes = fewest if standing is not None else max(fewest - 1, 0)
        still = clock.handled_s(over=False, swap=False, shifted=False, fetched=False)
        shifted = clock.share * (clock.handled_s(over=False, swap=False, shifted=True, fetched=False) - still)
        fetched = clock.share * (clock.handled_s(over=False, swap=False, shifted=False, fetched=True) - still)
        # Tools that were used before may still stand there.
        least = changes * min(shifted, fetched + clock.mount_s)
        faces = {board.blank.turns_deg[board.blank.zones_of[bend][0]] > 0 for bend in left if self._one_faced(bend)}
        if up is not None:
            faces.add(up)
        if len(faces) == 2:
            turned = [clock.handled_s(over=True, swap=swap, shifted=False, fetched=False) for swap in (False, True)]
            through = (
                clock.handled_s(over=False, swap=True, shifted=False, fetched=False)
                - self.judge.bench.job.handler.turn_s
            )
            least += clock.share * (min(turned) - (through if changes else still))
        return least

    def _one_faced(self, bend: int) -> bool:
        return self.judge.bench.job.part.section.bends[bend].kind != "offset"
