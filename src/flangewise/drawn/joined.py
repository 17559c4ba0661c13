"""Pieces of contour joined to rings: ends that meet, gaps that are closed, pieces drawn twice, and what stays open."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from flangewise.drawn.pieces import Points
from flangewise.drawn.told import TimeBox, apart_mm, at
from flangewise.findings import Finding, note, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass

# Ends nearer than this meet; up to JOIN_MM they are joined, and it is told.
MEET_MM = 1e-3
JOIN_MM = 0.1
# Two pieces between the same ends are one drawn twice where they are this near in the middle.
TWICE_MM = 0.02
# A chain shorter than this is no ring, however near its ends.
LEAST_RING_MM = 1.0
# The next end of each is looked for among all: of more open ends than these no more are told.
MOST_OPEN = 300


@dataclass(frozen=True)
class Joined:
    """The closed rings, their first point not said again, and what must be told."""

    rings: tuple[Points, ...]
    findings: tuple[Finding, ...]


def joined(pieces: Sequence[Points], box: TimeBox) -> Joined:
    """Pieces joined end to end to rings. An end that meets none, and one where three meet, is a fault."""
    rings = [piece[:-1] for piece in pieces if len(piece) > 3 and apart_mm(piece[0], piece[-1]) <= MEET_MM]
    once, findings = _once([piece for piece in pieces if apart_mm(piece[0], piece[-1]) > MEET_MM], box)
    # End 2 i is the first point of piece i, end 2 i + 1 its last.
    ends = [point for piece in once for point in (piece[0], piece[-1])]
    mate: dict[int, int] = {}
    loose: list[int] = []
    for node in _meeting(ends, MEET_MM, box):
        if len(node) == 2:
            mate[node[0]], mate[node[1]] = node[1], node[0]
        elif len(node) == 1:
            loose.append(node[0])
        else:
            findings.append(refuse("drawn-branch", at(ends[node[0]]), count=len(node)))
    gaps_mm = _close(once, ends, mate, loose, box)
    findings += _open(ends, mate, loose, box)
    if gaps_mm:
        findings.append(note("drawn-joined", count=len(gaps_mm), widest_mm=max(gaps_mm)))
    if not any(finding.severity == "refuse" for finding in findings):
        rings += _walked(once, mate)
    return Joined(tuple(rings), tuple(findings))


def _once(pieces: Sequence[Points], box: TimeBox) -> tuple[list[Points], list[Finding]]:
    """The pieces, those drawn twice once; a note of how many, and where the first lies."""
    ends = [point for piece in pieces for point in (piece[0], piece[-1])]
    node_of = {end: node for node, members in enumerate(_meeting(ends, MEET_MM, box)) for end in members}
    between: dict[tuple[int, int], list[Points]] = defaultdict(list)
    kept, twice = [], []
    for number, piece in enumerate(pieces):
        box.look()
        one, other = node_of[2 * number], node_of[2 * number + 1]
        alike = between[min(one, other), max(one, other)]
        if any(_is_same(piece, each) for each in alike):
            twice.append(piece)
        else:
            alike.append(piece)
            kept.append(piece)
    return kept, [note("drawn-twice", at(twice[0][0]), count=len(twice))] if twice else []


def _is_same(one: Points, other: Points) -> bool:
    """Whether two pieces between the same ends lie on each other: as long, and through the same middle."""
    if abs(_length_mm(one) - _length_mm(other)) > TWICE_MM:
        return False
    return apart_mm(_middle_mm(one), _middle_mm(other)) <= TWICE_MM


def _length_mm(points: Points) -> float:
    return sum(map(apart_mm, points, points[1:]))


def _middle_mm(points: Points) -> Point:
    left_mm = _length_mm(points) / 2
    for one, other in pairwise(points):
        step_mm = apart_mm(one, other)
        if step_mm >= left_mm and step_mm > 0:
            share = left_mm / step_mm
            return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])
        left_mm -= step_mm
    return points[-1]


def _meeting(points: Sequence[Point], reach_mm: float, box: TimeBox) -> list[list[int]]:
    """The points in groups: in one group are those that a chain of steps no longer than the reach joins."""
    group = list(range(len(points)))

    def head(each: int) -> int:
        while group[each] != each:
            group[each] = group[group[each]]
            each = group[each]
        return each

    for one, other, _ in _near(points, range(len(points)), reach_mm, box):
        group[head(other)] = head(one)
    groups: dict[int, list[int]] = defaultdict(list)
    for each in range(len(points)):
        groups[head(each)].append(each)
    return list(groups.values())


def _near(
    points: Sequence[Point], among: Iterable[int], reach_mm: float, box: TimeBox
) -> Iterator[tuple[int, int, float]]:
    """Pairs of points no further apart than the reach, each once, and how far they are apart."""
    boxes: dict[tuple[int, int], list[int]] = defaultdict(list)
    for each in among:
        x_mm, y_mm = points[each]
        box.look()
        column, row = math.floor(x_mm / reach_mm), math.floor(y_mm / reach_mm)
        for across in (-1, 0, 1):
            for up in (-1, 0, 1):
                for other in boxes.get((column + across, row + up), ()):
                    gap_mm = apart_mm(points[other], points[each])
                    if gap_mm <= reach_mm:
                        yield other, each, gap_mm
        boxes[column, row].append(each)


def _close(
    pieces: Sequence[Points], ends: Sequence[Point], mate: dict[int, int], loose: Sequence[int], box: TimeBox
) -> list[float]:
    """Loose ends joined within JOIN_MM, the nearest first; how wide each gap was."""
    # The other loose end of the chain that begins at a loose end, and how long that chain is.
    chains = {end: _chain(pieces, end, mate) for end in loose}
    gaps_mm = []
    for one, other, gap_mm in sorted(_near(ends, loose, JOIN_MM, box), key=lambda pair: pair[2]):
        if one in mate or other in mate:
            continue
        (far_one, one_mm), (far_other, other_mm) = chains[one], chains[other]
        if far_one == other and one_mm < LEAST_RING_MM:
            continue
        mate[one], mate[other] = other, one
        chains[far_one], chains[far_other] = (far_other, one_mm + other_mm), (far_one, one_mm + other_mm)
        gaps_mm.append(gap_mm)
    return gaps_mm


def _chain(pieces: Sequence[Points], end: int, mate: dict[int, int]) -> tuple[int, float]:
    length_mm, across = _length_mm(pieces[end // 2]), end ^ 1
    while across in mate:
        across = mate[across]
        length_mm += _length_mm(pieces[across // 2])
        across ^= 1
    return across, length_mm


def _open(ends: Sequence[Point], mate: dict[int, int], loose: Sequence[int], box: TimeBox) -> list[Finding]:
    """A fault for each end left: a branch where ends that are joined lie within reach, open otherwise."""
    left = [end for end in loose if end not in mate]
    found: list[Finding] = []
    if not left:
        return found
    near: dict[int, int] = defaultdict(int)
    for one, other, _ in _near(ends, range(len(ends)), JOIN_MM, box):
        near[one] += other in mate
        near[other] += one in mate
    for end in left:
        if near[end]:
            found.append(refuse("drawn-branch", at(ends[end]), count=near[end] + 1))
        else:
            others = loose if len(loose) > 1 else range(len(ends))
            gap_mm = min(apart_mm(ends[end], ends[other]) for other in others if other != end)
            found.append(refuse("drawn-open", at(ends[end]), gap_mm=gap_mm))
        if len(found) > MOST_OPEN:
            break
    return found


def _walked(pieces: Sequence[Points], mate: dict[int, int]) -> list[Points]:
    """The rings that the pieces make, each end having its mate; a joined gap is closed in its middle."""
    left, rings = dict.fromkeys(range(len(pieces))), []
    while left:
        first = next(iter(left))
        ring: list[Point] = []
        into = 2 * first
        while into // 2 in left:
            del left[into // 2]
            piece = pieces[into // 2] if into % 2 == 0 else pieces[into // 2][::-1]
            before = _end(pieces, mate[into])
            ring.append(((piece[0][0] + before[0]) / 2, (piece[0][1] + before[1]) / 2))
            ring += piece[1:-1]
            into = mate[into ^ 1]
        rings.append(tuple(ring))
    return rings


def _end(pieces: Sequence[Points], end: int) -> Point:
    return pieces[end // 2][-1 if end % 2 else 0]
