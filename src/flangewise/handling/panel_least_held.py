"""The least of a panel's order, poses and grips together: one table forward over sets, hits and grips.

Each hit takes what its order says, and what holding it takes with a grip that comes and one that leaves; between two
hits the order's moves, and what the grips take more. Grips are asked of a hit only where the cheapest way through the
table goes over it: as long as it was not asked, each grip that the part's own rules allow is taken to hold. With
whatever rows it is asked of tools that stand where all rows do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from flangewise.handling.moves import Floats, Pose
from flangewise.handling.panel_bodies import Bools
from flangewise.handling.panel_hits import PanelHits
from flangewise.handling.panel_moves import PanelMoves, PanelStepHolds, attitude, axes_of, turned_by
from flangewise.handling.panel_passing import Passing, least_of_others
from flangewise.handling.panel_rules import AtHit
from flangewise.handling.panel_step_grips import panel_grips_that_may
from flangewise.handling.step_grips import StepGrips
from flangewise.handling.way import NO_GRIP_S
from flangewise.panel_order import (
    Between,
    Graph,
    PanelSearch,
    PanelStep,
    PlanPath,
    RowPair,
    SpaceHit,
    Taken,
    hit_at,
    with_any_rows,
)
from flangewise.records import dataclass, field, replace

# Of so many operations at most order and grips are looked at together, and so many hits are asked.
MOST_HELD, MOST_ASKED = 6, 1500

# How far the ram opens for a hit.
OpeningOf = Callable[[PanelStep], float]


@dataclass(frozen=True)
class HeldHit:
    """What a hit takes to be held: with each grip kept, by hand last; with one changed for another in the tools, from
    those that are drawn away to those that are brought."""

    kept_s: Floats
    away: Bools
    near: Bools
    anew_s: float

    def left_s(self, arrived: Floats) -> Floats:
        """The least to leave it with each grip; `arrived`: the least to come to it with each."""
        found: Floats = arrived + self.kept_s
        if math.isfinite(self.anew_s) and self.near.any():
            others = least_of_others(np.where(self.away, arrived[:-1], np.inf)) + self.anew_s
            found[:-1] = np.where(self.near, np.minimum(found[:-1], others), found[:-1])
        return found

    def came_with(self, arrived: Floats, grip_out: int) -> int:
        """The grip with which it was come to, where it was left with one at its least."""
        if grip_out == len(self.away) or not self.near[grip_out] or not math.isfinite(self.anew_s):
            return grip_out
        others = np.where(self.away, arrived[:-1], np.inf)
        others[grip_out] = np.inf
        other = int(others.argmin())
        changed_s = others[other] + self.anew_s
        return grip_out if arrived[grip_out] + self.kept_s[grip_out] <= changed_s else other


@dataclass
class _Made:
    """A step made on the way: what it is left with, by grip; of each step before it what it was come to with."""

    taken: Taken
    left_s: Floats
    cell: HeldHit
    arrived_s: Floats
    before: Sequence[_Made]


@dataclass(frozen=True)
class _Told:
    """What a table is gone over with: the cells that are known, and what two steps cost besides their moves."""

    graph: Graph
    left: Floats
    cell: Callable[[Taken], HeldHit]
    between: Between
    below_s: float
    only: tuple[Taken, ...] = field(default=())


class PanelHolding:
    """Order and grips of one search; what is asked is kept. Not to be shared between threads."""

    def __init__(self, search: PanelSearch, hits: PanelHits, opening_of: OpeningOf) -> None:
        """`opening_of`: how far the ram opens for a hit whose way out is known."""
        self._search, self._hits, self._opening_of = search, hits, opening_of
        self._moves = PanelMoves(hits.handler, hits.shape, hits.grips)
        self._share = 1 + hits.handler.allowance_share
        self._known: dict[tuple[int, int, RowPair | None], HeldHit] = {}
        self._hoped: dict[tuple[int, int], HeldHit] = {}
        self._passings: dict[tuple[int, int, int], Passing] = {}
        self._picked: dict[int, Bools] = {}
        self._rooms: dict[int, Bools] = {}
        self._any: dict[int, RowPair] = {}
        for pair in search.stations.pairs:
            self._any.setdefault(pair.mounting, pair)
        self.asked = 0

    @property
    def over(self) -> bool:
        """Whether so much was asked that no more is."""
        return self.asked > MOST_ASKED

    # ---- what the search asks

    def cheapest(
        self, graph: Graph, left: Floats, pairs: Sequence[RowPair] | None, between: Between, *, below_s: float
    ) -> PlanPath | None:
        """The plan that takes least with these stations, as far as it was asked, if any takes less than `below_s`.

        `pairs` None: whatever rows its tools stand in.
        """
        return self._gone_over(_Told(graph, left, lambda taken: self._cell(taken, pairs), between, below_s))

    def is_known(self, path: PlanPath, pairs: Sequence[RowPair] | None) -> bool:
        """Whether all of a plan was asked before; from now on it was."""
        return not self._ask(path, pairs)

    def held(self, path: PlanPath, graph: Graph, pairs: Sequence[RowPair], between: Between) -> PlanPath:
        """A plan with what holding it takes."""
        self._ask(path, pairs)
        left = np.zeros((len(graph.layers.sets) + 1, len(graph.ways) * graph.class_count))
        found = self._gone_over(
            _Told(graph, left, lambda taken: self._cell(taken, pairs), between, math.inf, path.steps)
        )
        assert found is not None
        return found

    # ---- what is asked

    def _ask(self, path: PlanPath, pairs: Sequence[RowPair] | None) -> bool:
        """Asks what is not known of the steps of a plan; whether there was anything."""
        asked, last = False, None
        for taken in path.steps:
            key = (taken.way, taken.done, None if pairs is None else pairs[taken.station])
            if key not in self._known:
                self._known[key] = self._answer(taken, pairs)
                self.asked += 1
                asked = True
            new = last is not None and taken.done not in self._rooms
            if new and last is not None and self._passing(last, taken).may_turn_in_hand:
                bends, every = self._search.problem.bends_of(taken.done), list(range(len(self._hits.grips)))
                self._rooms[taken.done] = self._hits.room(every, bends)
                asked = True
            last = taken
        return asked

    def _cell(self, taken: Taken, pairs: Sequence[RowPair] | None) -> HeldHit:
        """What is known of a hit with its rows; else with any, else what may be hoped."""
        for pair in (None if pairs is None else pairs[taken.station], None):
            if (taken.way, taken.done, pair) in self._known:
                return self._known[taken.way, taken.done, pair]
        return self._hope(taken.way, taken.done)

    def _at_hit(self, way: int, done: int, pair: RowPair | None) -> AtHit:
        search, own = self._search, self._search.problem.ways[way]
        step = hit_at(search, way, done, self._any[own.mounting] if pair is None else pair)
        hit = own.hit
        assert isinstance(hit, SpaceHit)
        if pair is None:
            own_step = with_any_rows(search.tables, step, way, done)
            least_mm = self._opening_of(replace(own_step, least_opening_mm=0.0))
            return AtHit(own_step, hit, least_mm, whatever_rows=True)
        return AtHit(step, hit, self._opening_of(step))

    def _answer(self, taken: Taken, pairs: Sequence[RowPair] | None) -> HeldHit:
        pair = None if pairs is None else pairs[taken.station]
        at = self._at_hit(taken.way, taken.done, pair)
        second = self._search.problem.ways[taken.way].then
        if second is not None and pairs is not None:
            then = self._at_hit(second, taken.done, pairs[taken.end])
            at = AtHit(at.step, at.hit, at.opening_mm, then)
        grips = self._hits.grips_at(at)
        single = grips.single and second is None
        followed_s, floating = self._hits.goes_with(at, grips.through)
        row, hand = self._moves.row, NO_GRIP_S
        kept = np.where(grips.through, np.where(floating, 0.0, followed_s), np.inf)
        if single and row.release_s is not None:
            kept = np.minimum(kept, np.where(grips.drawn_away & grips.drawn_near, row.release_s, np.inf))
        anew_s = row.regrip_in_tools_s if single and row.regrip_in_tools_s is not None else math.inf
        return HeldHit(np.append(self._share * kept, hand), grips.drawn_away, grips.drawn_near, self._share * anew_s)

    def _hope(self, way: int, done: int) -> HeldHit:
        if (way, done) not in self._hoped:
            at = self._at_hit(way, done, None)
            may = panel_grips_that_may(self._hits.asked, at, self._hits.strong(at))
            anew_s = self._moves.row.regrip_in_tools_s
            own = self._share * anew_s if anew_s is not None else math.inf
            self._hoped[way, done] = HeldHit(np.append(np.where(may, 0.0, np.inf), NO_GRIP_S), may, may, own)
        return self._hoped[way, done]

    # ---- between two hits

    def _passing(self, last: Taken, taken: Taken) -> Passing:
        classes = self._search.tables.attitudes.classes
        key = classes[last.way], classes[taken.way], taken.done
        if key not in self._passings:
            moves = self._search.tables.attitudes.moves(last.way, taken.way, taken.done)
            before, after = (self._axes(way, taken.done) for way in (last.way, taken.way))
            self._passings[key] = self._moves.passing(_bare(tuple(map(turned_by, moves)), before, after))
        return self._passings[key]

    def _axes(self, way: int, done: int) -> tuple[Floats, ...]:
        own, problem = self._search.problem.ways[way], self._search.problem
        bends, operation = problem.bends_of(done), problem.operations[own.operation]
        base = attitude(problem.blank, operation, own.lie, bends)
        return axes_of(problem.blank, self._hits.grips, base, bends)

    def _room(self, done: int) -> Bools:
        """Who has room to turn the part in hand; as long as that was not asked, all."""
        return self._rooms[done] if done in self._rooms else np.ones(len(self._hits.grips), dtype=bool)

    def _picked_at(self, way: int) -> Floats:
        """What a blank is come to with, by grip, by hand last."""
        number = self._search.tables.attitudes.classes[way]
        if number not in self._picked:
            axes = self._axes(way, 0)
            self._picked[number] = self._moves.picked_at(_bare((), axes, axes))
        return np.append(np.where(self._picked[number], 0.0, np.inf), 0.0)

    # ---- the table

    def _gone_over(self, told: _Told) -> PlanPath | None:
        """The least over all plans as far as is known, if it is less than asked for."""
        graph, position = told.graph, told.graph.layers.position
        made: dict[int, list[_Made]] = {0: []}
        for done in sorted(graph.layers.sets.tolist()):
            if done == graph.whole or done not in made:
                continue
            before, came = made[done], dict[int, Floats]()
            for taken, price_s in _next_of(told, done):
                rest_s = float(
                    told.left[position[done | 1 << graph.operations[taken.way]]][
                        graph.place(taken.end, graph.classes[taken.way])
                    ]
                )
                if math.isinf(price_s + rest_s):
                    continue
                arrived = self._arrived(told, before, taken, came) if done else self._picked_at(taken.way)[None, :]
                cell = told.cell(taken)
                left_s = cell.left_s(arrived.min(axis=0)) + price_s
                if float(left_s.min()) + rest_s < told.below_s:
                    own = _Made(taken, left_s, cell, arrived, before)
                    made.setdefault(done | 1 << graph.operations[taken.way], []).append(own)
        whole = made.get(graph.whole, [])
        if not whole:
            return None
        last = min(whole, key=lambda each: float(each.left_s.min()))
        return self._path(last)

    def _arrived(self, told: _Told, before: Sequence[_Made], taken: Taken, came: dict[int, Floats]) -> Floats:
        """The least to come to a hit with each grip from each step before it [step, grip], by hand last."""
        graph, number = told.graph, told.graph.classes[taken.way]
        if number not in came:
            found = np.full((len(before), len(self._hits.grips) + 1), np.inf)
            room, by_class = self._room(taken.done), dict[int, list[int]]()
            for at, each in enumerate(before):
                by_class.setdefault(graph.classes[each.taken.way], []).append(at)
            for rows in by_class.values():
                spent = np.array([before[at].left_s for at in rows])
                passing = self._passing(before[rows[0]].taken, taken)
                found[rows, :-1] = self._shared(passing, spent[:, :-1], room)
                found[rows, :-1] = np.minimum(found[rows, :-1], spent[:, -1:])
                found[rows, -1] = spent.min(axis=1)
            came[number] = found
        more = np.empty(len(before))
        for at, each in enumerate(before):
            moved_s = graph.moved_s(each.taken, taken)
            more[at] = moved_s + told.between(each.taken, taken, moved_s)
        return came[number] + more[:, None]

    def _shared(self, passing: Passing, spent_s: Floats, room: Bools) -> Floats:
        """What is come to; the seconds of the passing with the handler's allowance."""
        found: Floats = self._share * passing.arrived(spent_s / self._share, room)
        return found

    def _path(self, last: _Made) -> PlanPath:
        """The plan behind a least, from its end."""
        steps, by_hand, hand = [last.taken], 0, len(self._hits.grips)
        cost_s, own, grip_out = float(last.left_s.min()), last, int(last.left_s.argmin())
        while True:
            grip = own.cell.came_with(own.arrived_s.min(axis=0), grip_out)
            by_hand += grip == hand
            if not own.before:
                return PlanPath(tuple(reversed(steps)), cost_s, by_hand)
            came = own.before[int(own.arrived_s[:, grip].argmin())]
            grip_out = self._left_with(came, own.taken, grip)
            own = came
            steps.append(own.taken)

    def _left_with(self, before: _Made, taken: Taken, grip: int) -> int:
        """The grip that a step was left with, where the next was come to with one at its least."""
        hand, spent = len(self._hits.grips), before.left_s
        if grip == hand:
            return int(spent.argmin())
        table = self._share * self._passing(before.taken, taken).table(self._room(taken.done))[:, grip]
        return int(np.append(spent[:-1] + table, spent[-1]).argmin())


def _next_of(told: _Told, done: int) -> Iterator[tuple[Taken, float]]:
    """The steps that may come next to a set, each with its price."""
    graph = told.graph
    place = int(graph.layers.position[done])
    for station, ways in enumerate(graph.ways):
        for own, (way, end) in enumerate(zip(ways, graph.ends[station], strict=True)):
            taken = Taken(way, station, done, end)
            if not done >> graph.operations[way] & 1 and (not told.only or taken in told.only):
                yield taken, float(graph.prices_s[station][own, place])


def _bare(turned: tuple[object, ...], before: tuple[Floats, ...], after: tuple[Floats, ...]) -> PanelStepHolds:
    """A step of which the moves alone are asked."""
    none = np.zeros(0, dtype=bool)
    grips = StepGrips(none, none, none, none, none, False, (), ())
    return PanelStepHolds(Pose(True, True), grips, np.zeros(0), none, turned=turned, before=before, after=after)  # type: ignore[arg-type]
