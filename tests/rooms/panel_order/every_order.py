"""All orders, all poses, all stations of a panel, each summed up by itself: it shares no code with the search."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flangewise.clearance import Runs, Stretches
from flangewise.panel_order import PanelProblem, PanelWay, RowRules, StandingRow
from flangewise.punch_die import Row

Run = tuple[float, float]


@dataclass(frozen=True)
class Stand:
    """A station: tools, punch row, die row."""

    mounting: int
    punch: Row
    die: Row


def standing(row: Row, at: float) -> list[Run]:
    """Where segments of a row stand side by side, its left end there."""
    found: list[Run] = []
    for segment in row.segments:
        at += segment.apart_mm
        begin = found.pop()[0] if found and not segment.apart_mm else at
        at += segment.length_mm
        found.append((begin, at))
    return found


def lacking(runs: Sequence[Run], punch: list[Run], die: list[Run]) -> list[tuple[float, str, float]]:
    """Of bends what is not both under the punch and over the die: how much, at which end or within, and which end."""
    found = []
    for low, high in runs:
        free, at = [], low
        for begin, end in sorted((max(a, c), min(b, d)) for a, b in punch for c, d in die if max(a, c) < min(b, d)):
            if begin > at + 1e-7:
                free.append((at, min(begin, high)))
            at = max(at, end)
            if at >= high - 1e-7:
                break
        free += [(at, high)] if at < high - 1e-7 else []
        for begin, end in free:
            where = "left" if begin <= low + 1e-7 else "right" if end >= high - 1e-7 else "within"
            found.append((end - begin, where, low if where == "left" else high))
    return found


def uncovered(stand: Stand, runs: Sequence[Run], barred: Stretches, rules: RowRules) -> tuple[float, float] | None:
    """What a station leaves uncovered at least, and where its punch then begins, by trying every place where anything
    changes."""
    (low, _), (_, high), long_mm, die_mm = runs[0], runs[-1], stand.punch.length_mm, stand.die.length_mm
    on = long_mm / 2 - die_mm / 2
    left = 35.0 if stand.punch.segments[0].ear == "left" else 0.0
    right = 35.0 if stand.punch.segments[-1].ear == "right" else 0.0
    clear, punch, die = rules.clear_mm, standing(stand.punch, 0.0), standing(stand.die, on)
    inner = [(max(begin, left), min(end, long_mm - right)) for begin, end in punch]

    def allowed(end: float) -> float:
        every = (*barred.punch, *barred.foot, *barred.die)
        near = any(p <= end + rules.near_mm and q >= end - rules.near_mm for p, q in every)
        return rules.beside_short_mm if near else rules.free_short_mm

    def apart(blocks: list[Run], x: float, runs: Runs) -> bool:
        return all(
            begin >= end or x + end <= p - clear + 1e-9 or x + begin >= q + clear - 1e-9
            for begin, end in blocks
            for p, q in runs
        )

    def lacks(x: float) -> list[tuple[float, str, float]]:
        return lacking(runs, *([(x + begin, x + end) for begin, end in row] for row in (punch, die)))

    def stands(x: float) -> bool:
        has_room = apart(inner, x, barred.punch) and apart(die, x, barred.die)
        if left or right:
            has_room = has_room and apart(punch, x, barred.foot)
        return has_room and all(
            mm <= (rules.most_gap_mm if where == "within" else allowed(end)) + 1e-6 for mm, where, end in lacks(x)
        )

    def short(x: float) -> float:
        every = lacks(x)
        ends = [mm for mm, where, _ in every if where != "within"]
        return max(ends, default=0.0) + sum(mm for mm, where, _ in every if where == "within")

    middle = (low + high - long_mm) / 2
    # Of what both cover the middle: where they have gaps, of the two from end to end.
    begins, ends = max(punch[0][0], die[0][0]), min(punch[-1][1], die[-1][1])
    wanted = (low + high - begins - ends) / 2
    edges = {edge for row in (punch, inner, die) for block in row for edge in block}
    marks = {mm for run in runs for end in run for mm in (end, end + allowed(end), end - allowed(end))}
    marks |= {mm for p, q in (*barred.punch, *barred.foot, *barred.die) for mm in (p - clear, q + clear)}
    tries = [wanted, middle, *(mark - edge for mark in marks for edge in edges)]
    if len(punch) + len(die) > 2:
        bends = [end for run in runs for end in run]
        tries += [(a + b - c - d) / 2 for a in bends for b in bends for c in edges for d in edges]
    found = [(round(short(x), 6), round(abs(x - wanted), 6), x) for x in tries if stands(x)]
    return (short(min(found)[2]), min(found)[2]) if found else None


def _rotated(axis: np.ndarray, angle: float) -> np.ndarray:
    """About an axis through the origin, right-handed: columns are where the three directions come."""
    along = axis / np.linalg.norm(axis)
    turned = [
        along * (along @ each)
        + math.cos(angle) * (each - along * (along @ each))
        + math.sin(angle) * np.cross(along, each)
        for each in np.eye(3)
    ]
    return np.array(turned).T


def base_stood(problem: PanelProblem, way: PanelWay, done: frozenset[int]) -> np.ndarray:
    """How the base stands in the machine (right, back, up) where the way's parent lies on the die."""
    face, unfolded = problem.operations[way.operation].parents[0], np.eye(3)
    while True:
        zone = next((each for each in problem.blank.zones if each.face_to == face), None)
        if zone is None:
            break
        if zone.bend in done:
            (x, y), (to_x, to_y) = zone.line_mm
            turn = math.radians(zone.turn_deg if zone.toward else -zone.turn_deg)
            unfolded = _rotated(np.array([to_x - x, to_y - y, 0.0]), turn) @ unfolded
        face = zone.face_from
    heading, up = math.radians(way.lie.heading_deg), 1.0 if way.lie.marked_up else -1.0
    back = np.array([-math.cos(heading), -math.sin(heading), 0.0])
    return np.array([np.cross(back, [0, 0, up]), back, [0, 0, up]]) @ unfolded.T


def moved_s(problem: PanelProblem, one: PanelWay, other: PanelWay, done: frozenset[int], *, shifted: bool) -> float:
    """The cheapest of all chains of one turning over, one tilt by 90 degrees at most and one turn in the plane."""
    costs = problem.costs
    wanted = base_stood(problem, other, done) @ base_stood(problem, one, done).T
    overs = ((0.0, (1, 1, 1)), (costs.turn_over_bed, (1, -1, -1)), (costs.turn_over_front_back, (-1, 1, -1)))
    best = math.inf
    for over_s, signs in overs:
        rest = wanted @ np.diag(np.array(signs, dtype=float))
        level, lies = abs(rest[2, 2] - 1) < 1e-4, np.allclose(rest, np.eye(3), atol=1e-3)
        # About a level axis: square to where up comes to, and left where it is.
        axis = np.cross([0.0, 0.0, 1.0], rest[:, 2])
        about_level = np.allclose(rest @ axis, axis, atol=1e-3)
        for tilts, turns in itertools.product((False, True), repeat=2):
            reached = lies if not tilts and not turns else level if not tilts else rest[2, 2] > -1e-3
            if reached and (turns or not tilts or about_level):
                best = min(best, over_s + tilts * costs.tilt_onto_face + turns * costs.turn_in_plane)
    return best + (costs.rehandle if best or shifted else 0.0) + (problem.rules.change_s if shifted else 0.0)


def _stroke_s(problem: PanelProblem, way: PanelWay, done: frozenset[int], opening_mm: float, *, aside: bool) -> float:
    """Seconds of a stroke, for what must pass under the punch: to the front no less than a straight pull needs."""
    if way.tools.time is None:
        return 0.0
    opened_mm = opening_mm if aside else max(opening_mm, way.hit.opening_mm(done))
    first = next(each for each in problem.ways if each.operation == way.operation and not each.is_second)
    lies = _as_laid(problem, first, way) if way.is_second else way.hit
    return problem.costs.share * way.tools.time.stroke_s(opened_mm, lies.reach_mm(done), lies.front_mm(done))


def _as_laid(problem: PanelProblem, first: PanelWay, second: PanelWay):
    """The hit before a hem is flattened, that lies as it does then."""
    ways = [each for each in problem.ways if each.operation == first.operation and not each.is_second]
    return next(each.hit for each in ways if each.parent_behind == second.parent_behind)


def _held_s(problem: PanelProblem, way: PanelWay, done: frozenset[int]) -> float:
    """The wishes for how the part lies, and what a broken rule weighs."""
    rule = problem.hold
    if rule is None:
        return 0.0
    held = way.hit.hold(done, rule)
    whole = held.front_kg + held.behind_kg
    wish = rule.behind_wish_s * max(held.behind_kg - held.front_kg, 0.0) / whole
    small = held.by == "tool" and not held.little_in_front
    wish += (rule.small_wish_s or 0.0) if small else 0.0
    lacking = [
        0.0 if small else (rule.least_mm - held.front_mm) / max(rule.least_mm, 1.0),
        (held.moment_nm - rule.most_behind_nm) / (rule.most_behind_nm + 1.0) if held.tips == "behind" else 0.0,
    ]
    missed = [each for each in lacking if each > 1e-9]
    return wish + 10.0 * sum(missed) + 1e5 * len(missed)


def least_of_all(problem: PanelProblem) -> tuple[float, tuple[int, ...]]:
    """What the cheapest plan costs, and its operations in their order; infinite where there is none."""
    rules, costs = problem.rules, problem.costs
    most_stations = 3 + any(way.is_second for way in problem.ways)
    most_stations += any(each.is_offset for each in problem.operations)
    stands = [Stand(number, punch, die) for number, own in enumerate(problem.rows) for punch, die in own.pairs]
    whole = (1 << len(problem.operations)) - 1
    bends = [
        frozenset(b for i, op in enumerate(problem.operations) if s >> i & 1 for b in op.bends)
        for s in range(whole + 1)
    ]
    kept: dict[object, tuple[float, object] | None] = {}
    moves: dict[object, float] = {}

    def own_s(way: PanelWay, done: int, stand: Stand):
        key = (id(way), done, stand)
        if key not in kept:
            kept[key] = reckoned(way, bends[done], stand)
        return kept[key]

    def reckoned(way: PanelWay, done: frozenset[int], stand: Stand):
        barred = way.hit.forbidden(done)
        if barred.fatal or way.hit.meets_itself(done) is not None:
            return None
        stops = () if way.is_second else way.hit.stops(done)
        if not stops and not way.is_second:
            return None
        placed = uncovered(stand, way.hit.runs_mm, barred, rules)
        if placed is None:
            return None
        die = StandingRow.of(stand.die, placed[1] + stand.punch.length_mm / 2 - stand.die.length_mm / 2)
        out = way.hit.leaves(done, StandingRow.of(stand.punch, placed[1]), die)
        if out is None:
            return None
        aside = out.way == "turned" or out.along_bed
        own_s = costs.hit + placed[0] * rules.short_wish_s_per_mm + way.wish_s + (costs.side_exit if aside else 0.0)
        own_s += min((each.wish_s for each in stops), default=0.0)
        own_s += _stroke_s(problem, way, done, out.opening_mm, aside=aside)
        if not way.is_second:
            own_s += _held_s(problem, way, done)
        return own_s, (min(stops, key=lambda each: each.wish_s).x_mm if stops else None)

    def put_in_s(stand: Stand) -> float:
        segments = (*stand.punch.segments, *stand.die.segments)
        return 2 * rules.tool_s + rules.segment_s * len(segments) + rules.ear_s * sum(bool(s.ear) for s in segments)

    def travelled_s(one: float, other: float) -> float:
        way, travel = abs(one - other), problem.stop_travel
        v, a = travel.speed_mm_per_s, travel.acceleration_mm_per_s2
        return (way / v + v / a if way >= v * v / a else 2 * math.sqrt(way / a)) if way else 0.0

    def hits_of(way: PanelWay) -> Iterator[tuple[tuple[PanelWay, Stand], ...]]:
        """A way at every station; of a hem each pair of stations."""
        for stand in stands:
            if stand.mounting == way.mounting:
                if way.then is None:
                    yield ((way, stand),)
                    continue
                second = problem.ways[way.then]
                yield from (((way, stand), (second, other)) for other in stands if other.mounting == second.mounting)

    def together(some: tuple[Stand, ...]) -> bool:
        """Whether stations fit on the bed, and enough segments of all kinds are held, if they stand at one time."""
        if rules.bed_mm == math.inf:
            return True
        wide_mm = sum(max(rules.part_mm, stand.punch.length_mm, stand.die.length_mm) for stand in some)
        if wide_mm + rules.gap_mm * (len(some) - 1) > rules.bed_mm:
            return False
        used: Counter = Counter()
        for stand in some:
            rows = problem.rows[stand.mounting]
            # A punch and a die may have one name.
            for body, (name, row) in enumerate(zip(rows.names, (stand.punch, stand.die), strict=True)):
                used.update((body, name, segment.length_mm, segment.ear) for segment in row.segments)
        known = {
            (body, name, kind.length_mm, kind.ear): count
            for rows in problem.rows
            for body, (name, held) in enumerate(zip(rows.names, rows.held, strict=True))
            for kind, count in held.items()
        }
        return all(count <= known.get(key, count) for key, count in used.items())

    best: list = [math.inf, ()]
    least: dict[object, float] = {}

    def go(done: int, last, cost: float, standing: tuple[Stand, ...], order: tuple[int, ...]) -> None:
        if cost >= best[0] - 1e-9:
            return
        if done == whole:
            best[:] = [cost, order]
            return
        # Whoever stood here before with the same behind him and paid less goes on better.
        here = (done, last and (id(last[0]), last[1]), frozenset(standing))
        if least.get(here, math.inf) <= cost:
            return
        least[here] = cost
        for way in problem.ways:
            if done >> way.operation & 1 or way.is_second:
                continue
            if problem.order is not None and problem.order[len(order)] != way.operation:
                continue
            for made in hits_of(way):
                new = tuple(dict.fromkeys(stand for _, stand in made if stand not in standing))
                if len(standing) + len(new) > most_stations or not together((*standing, *new)):
                    continue
                owns = [own_s(each, done, stand) for each, stand in made]
                if None in owns:
                    continue
                more = sum(own[0] for own in owns) + sum(map(put_in_s, new))
                # A hem is flattened elsewhere, the part lying alike.
                more += (len(made) - 1) * (costs.rehandle + rules.change_s)
                if last is not None:
                    shifted = made[0][1] != last[1]
                    key = (id(last[0]), id(way), done, shifted)
                    if key not in moves:
                        moves[key] = moved_s(problem, last[0], way, bends[done], shifted=shifted)
                    handled = costs.share * problem.stop_travel.next_stop_s + moves[key]
                    far_s = 0.0 if last[2] is None else costs.share * travelled_s(last[2], owns[0][1])
                    more += moves[key] + max(0.0, far_s - handled)
                go(
                    done | 1 << way.operation,
                    (way, made[-1][1], owns[0][1] if len(made) == 1 else None),
                    cost + more,
                    (*standing, *new),
                    (*order, way.operation),
                )

    go(0, None, costs.base, (), ())
    return best[0], best[1]
