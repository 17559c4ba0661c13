"""Panels whose hits answer what chance wants: the search needs no geometry to be wrong."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache

from flangewise.clearance import Runs, Stretches, ToolStack
from flangewise.panel_order import (
    Leaving,
    PanelGauging,
    PanelOperation,
    PanelProblem,
    PanelRows,
    PanelWay,
    RowRules,
    SelfMeeting,
    StandingRow,
    lie_of,
    operations_of,
)
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Mounting, PunchDie, Row, SegmentUse
from flangewise.sequence import Costs, Hit, StopTravel

from ...published.panels import SQUARE, blank_of, panel_of

NO_TOOLS = Hit(ToolStack("none", "punch", "die", 12.0, 1.0, ()), 91.0, 2.0)


def joined(runs: Sequence[tuple[float, float]]) -> Runs:
    """Runs that overlap as one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted(runs):
        if found and low <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    return tuple(found)


@dataclass
class MadeUpHit:
    """Answers drawn once for each question, by the bends that it hangs on."""

    seed: str
    operation: PanelOperation
    paths: dict[int, tuple[int, ...]]
    behind: frozenset[int]
    kept: dict[object, object] = field(default_factory=dict)

    @property
    def runs_mm(self) -> Runs:
        """One run after another, from 0."""
        return self.operation.runs_mm

    @property
    def faces(self) -> tuple[int, ...]:
        """All faces that a bend parts from the line."""
        return tuple(self.paths)

    def depends(self, face: int) -> tuple[int, ...]:
        """Nearest first."""
        return self.paths[face]

    def _draw(self, *asked: object) -> random.Random:
        return random.Random(f"{self.seed} {asked}")

    def answers(self, face: int) -> tuple[Stretches, ...]:
        """In every state of its path."""
        path = self.paths[face]
        states = range(1 << len(path))
        return tuple(
            self.forbids(face, frozenset(bend for at, bend in enumerate(path) if state >> at & 1)) for state in states
        )

    def forbids(self, face: int, done: frozenset[int]) -> Stretches:
        """Nothing while it lies flat; now and then something at an end, in the middle, or all along."""
        state = tuple(bend in done for bend in self.paths[face])
        draw, length = self._draw("face", face, state), self.operation.length_mm
        if not any(state) or draw.random() < 0.4:
            return Stretches()
        if draw.random() < 0.06:
            return Stretches(fatal=True)
        off = draw.choice((1.1, 3.0, 8.0, -2.0))
        run = draw.choice(
            ((length + off, length + 60), (-60.0, -off), (length / 2 - 5, length / 2 + 5))
            if draw.random() < 0.1
            else ((length + off, length + 60), (-60.0, -off))
            if draw.random() < 0.6
            else ((length + 1.1, length + 3.9), (-3.9, -1.1))
        )
        foot = (run,) if draw.random() < 0.4 else ()
        return Stretches(punch=(run,), foot=foot, die=(run,) if draw.random() < 0.15 else ())

    def forbidden(self, done: frozenset[int]) -> Stretches:
        """All faces together."""
        each = [self.forbids(face, done) for face in self.faces]
        kinds = (joined([run for one in each for run in getattr(one, kind)]) for kind in ("punch", "foot", "die"))
        return Stretches(*kinds, fatal=any(one.fatal for one in each))

    def meets_itself(self, done: frozenset[int]) -> SelfMeeting | None:
        """Now and then by the states of two bends."""
        draw = self._draw("self")
        bends = sorted({bend for path in self.paths.values() for bend in path})
        if len(bends) < 2 or draw.random() < 0.5:
            return None
        chosen = draw.sample(bends, 2)
        wanted = [draw.random() < 0.6 for _ in chosen]
        meets = [bend in done for bend in chosen] == wanted
        return SelfMeeting((1, 2), 45.0, 0.3, frozenset(chosen)) if meets else None

    def stops(self, done: frozenset[int]) -> tuple[PanelGauging, ...]:
        """By the bends behind: none, or one with a wish."""
        draw = self._draw("stops", sorted(done & self.behind))
        if draw.random() < 0.1:
            return ()
        wish = draw.choice((0.0, 0.0, 0.5, 1.3))
        wishes = (("gauging", wish),) if wish else ()
        x_mm = draw.choice((20.0, 120.0, 400.0))
        return (PanelGauging("edge", 1, "base", x_mm, 0.0, 5.0, (10.0, 50.0), 0.0, False, wishes),)

    def clearance_mm(self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None) -> float | None:
        """Not asked."""
        return None

    def leaves(
        self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None, *, turned: bool = True
    ) -> Leaving | None:
        """Nearly always up; now and then turned, or not at all."""
        draw = self._draw("leaves", sorted(done), row.length_mm, row.foot_left_mm)
        chance = draw.random()
        if chance >= 0.1:
            return Leaving("up", 2.0)
        return Leaving("turned", 2.0) if turned and chance >= 0.04 else None

    def leaves_turned(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """As it leaves where nothing else was found."""
        return self.leaves(done, row)


FLANGE = f"{{height: 30, bend: {SQUARE}}}"
WITH_TIP = f"{{height: 30, bend: {SQUARE}, tip: {{height: 15, bend: {SQUARE}, ends: mitre}}}}"
AWAY = "{height: 30, bend: {turn: 90, away: true, k_factor: 0.42}}"


@cache
def drawn_blank(seed: int) -> PanelBlank:
    """A plate with flanges on some of its edges, some with a tip, some bent away: two to six bends."""
    draw = random.Random(seed)
    sides = draw.sample(("near", "right", "far", "left"), draw.randint(2, 4))
    kinds = [draw.choice((FLANGE, FLANGE, AWAY, WITH_TIP)) for _ in sides]
    while sum(1 + (kind == WITH_TIP) for kind in kinds) > 6:
        kinds[kinds.index(WITH_TIP)] = FLANGE
    flanges = ", ".join(f"{side}: {kind}" for side, kind in zip(sides, kinds, strict=True))
    return blank_of(panel_of(f"{{base: [300, 200], flanges: {{{flanges}}}}}"))


def paths_from(blank: PanelBlank, operation: PanelOperation, roots: Sequence[int]) -> dict[int, tuple[int, ...]]:
    """Of each face of a wing the bends between it and the bend line, nearest first."""
    found: dict[int, tuple[int, ...]] = dict.fromkeys(roots, ())
    waiting = list(roots)
    while waiting:
        face = waiting.pop()
        for zone in blank.zones:
            if zone.bend not in operation.bends and face in (zone.face_from, zone.face_to):
                other = zone.face_to if zone.face_from == face else zone.face_from
                if other not in found:
                    found[other] = (*found[face], zone.bend)
                    waiting.append(other)
    return found


def row(*lengths: float, ears: bool = False, apart_mm: float = 0.0, more: tuple[float, ...] = ()) -> Row:
    """Segments with an ear at each end, or none; and `more` of them, apart from these."""
    plain = tuple(SegmentUse(length) for length in lengths)
    plain += tuple(SegmentUse(length, apart_mm=0.0 if at else apart_mm) for at, length in enumerate(more))
    return Row((SegmentUse(75, "left"), *plain, SegmentUse(75, "right")) if ears else plain, 35.0)


def made_up(seed: int, *, mountings: int = 1, order: tuple[int, ...] | None = None) -> PanelProblem:
    """A problem on a drawn blank, all its answers drawn."""
    blank, draw = drawn_blank(seed), random.Random(seed + 1)
    operations, made = operations_of(blank), Mounting(PunchDie.__new__(PunchDie))
    ways = []
    for number in range(mountings):
        for index, operation in enumerate(operations):
            parent = paths_from(blank, operation, operation.parents)
            beyond = paths_from(blank, operation, operation.faces)
            for parent_behind in (False, True):
                behind = frozenset(bend for path in (parent if parent_behind else beyond).values() for bend in path)
                hit = MadeUpHit(f"{seed} {number} {index} {parent_behind}", operation, parent | beyond, behind)
                lie = lie_of(operation.zones[0].line_mm, marked_up=operation.marked_up, parent_behind=parent_behind)
                ways.append(PanelWay(index, number, parent_behind, lie, hit, NO_TOOLS, made, behind, 0.7 * number))
    rules = RowRules(
        clear_mm=0.5,
        free_short_mm=0.0,
        beside_short_mm=4.0,
        near_mm=9.0,
        tool_s=draw.choice((0.4, 1.8)),
        segment_s=0.15,
        ear_s=0.2,
        short_wish_s_per_mm=0.3,
        change_s=draw.choice((0.5, 2.0)),
        most_gap_mm=4.0,
    )
    punches = (row(295), row(220, 70), row(195), row(110, 80), row(60, 80, ears=True), row(40, ears=True))
    dies = (row(300), row(200)) if draw.random() < 0.5 else (row(300),)
    pairs = tuple((punch, die) for punch in punches for die in dies)
    # In place of some, rows with a gap, over a long die or one with the gap below theirs.
    apart = row(110, 80, apart_mm=4.0, more=(95,)), row(95, apart_mm=draw.choice((3.5, 9.0)), more=(110, 80))
    if draw.random() < 0.6:
        pairs = (*pairs[:-4], *((each, dies[0]) for each in apart), *((each, each) for each in apart))
    # Two gaps in one row, and a die with a gap below a punch without.
    if draw.random() < 0.5:
        twice = Row((*(SegmentUse(95, apart_mm=mm) for mm in (0.0, 4.0, 4.0)),))
        pairs = (*pairs[:2], (twice, dies[0]), (twice, twice), (punches[0], apart[0]), *pairs[5:])
    costs = Costs(
        base=11.0,
        hit=2.0,
        turn_over_bed=3.1,
        turn_over_front_back=3.7,
        turn_in_plane=1.2,
        rehandle=1.6,
        side_exit=2.5,
    )
    return PanelProblem(
        blank,
        operations,
        tuple(ways),
        (PanelRows(pairs),) * mountings,
        rules,
        costs,
        stop_travel=StopTravel(150.0, 1000.0, 0.8, 1.5),
        order=order,
    )
