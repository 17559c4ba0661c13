"""The rows that each set of tools of a panel may stand in: they hang on what the hits forbid."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType

from flangewise.panel_order import HitAnswers, PanelProblem, PanelRows, PanelWay, SpaceHit
from flangewise.punch_die import Apart, Row, SegmentUse, row_sums, rows_apart, rows_of, segment_texts
from flangewise.setup import WorkCentre
from flangewise.shop import Die, Punch, Segment

# Rows longer than a line by more than this are of no use to it: the shop's segments step finer.
LONGER_MM = 25.0
# A die row may be so much longer where nothing hangs down beside it.
LONG_DIE_MM = 700.0
MOST_ROW_PAIRS = 6000
# Gaps between segments are set to this (judgement).
GAP_STEP_MM = 0.5
# Of blocks between gaps so many choices are offered, the longest first.
MOST_BLOCKS = 12
# Over dies with gaps stand punches without that are longer or shorter by no more than this.
ALIKE_MM = 5.0
# Of dies with gaps so many are offered, those of the fewest segments first.
MOST_HUNG = 100


# Of punch and die by name, the segments of both rows as they are told, gaps and all; left to right.
ToldRows = Mapping[tuple[str, str], frozenset[tuple[tuple[str, ...], tuple[str, ...]]]]
NO_ROWS: ToldRows = MappingProxyType({})


def with_rows(problem: PanelProblem, centre: WorkCentre, told: ToldRows = NO_ROWS) -> PanelProblem:
    """The question with the rows that each set of tools may stand in: they hang on what the hits forbid.

    Of tools of which rows are told these alone, if they are of use at all.
    """
    for way in problem.ways:
        if isinstance(way.hit, SpaceHit):
            way.hit.prepare()
    for way in problem.ways:
        if isinstance(way.hit, SpaceHit):
            way.hit.shapes.let_go()
    mountings = range(max(way.mounting for way in problem.ways) + 1)
    own = ([way for way in problem.ways if way.mounting == number] for number in mountings)
    return replace(problem, rows=tuple(_told(_rows(ways, problem, centre), told) for ways in own))


def _told(rows: PanelRows, told: ToldRows) -> PanelRows:
    wanted = told.get(rows.names, frozenset())
    pairs = (pair for pair in rows.pairs if wanted and _texts(pair) in wanted)
    return replace(rows, pairs=tuple(pairs) or rows.pairs)


def _texts(pair: tuple[Row, Row]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return segment_texts(pair[0].segments), segment_texts(pair[1].segments)


def _rows(ways: Sequence[PanelWay], problem: PanelProblem, centre: WorkCentre) -> PanelRows:
    """Punch rows over die rows that may be of use: none shorter than the shortest line allows, none much longer than
    needed, but for a die beside which nothing hangs down. Ears only where they carry every hit."""
    punch, die = ways[0].made.pair.tools.punch, ways[0].made.pair.tools.die
    assert punch is not None and die is not None
    rules, hits = problem.rules, [way.hit for way in ways]
    forces = [way.made.pair.limit_force_kn_per_m or 0.0 for way in ways]
    carries = punch.ear_load_kn_per_m is None or max(forces) <= punch.ear_load_kn_per_m
    short_mm = _short_mm(problem)
    lines_mm = sorted({round(problem.operations[way.operation].length_mm, 3) for way in ways})
    bed_mm = centre.machine.bed_length_mm

    def useful(rows: Sequence[Row]) -> list[Row]:
        return [row for row in rows if any(mm - short_mm <= row.length_mm <= mm + LONGER_MM for mm in lines_mm)]

    ends_mm = (max(lines_mm[0] - short_mm, 1.0), min(lines_mm[-1] + LONGER_MM, bed_mm))
    punches = useful(
        rows_of(
            punch.segments,
            least_mm=ends_mm[0],
            most_mm=ends_mm[1],
            ear_reach_mm=punch.ear_reach_mm if carries else None,
        )
    )
    plain = _plain(die)
    most_mm = min(lines_mm[-1] + LONG_DIE_MM, bed_mm)
    least_mm = min(lines_mm[-1] + 2 * (rules.near_mm + rules.beside_short_mm), bed_mm)
    longer = rows_of(plain, least_mm=least_mm, most_mm=most_mm)
    dies = sorted(longer, key=lambda row: (len(row.segments), row.length_mm))[:1]
    if not dies or any(each.die for hit in hits for face in hit.faces for each in hit.answers(face)):
        dies += useful(rows_of(plain, least_mm=ends_mm[0], most_mm=ends_mm[1]))
    # Of very many the dies of fewest segments are kept: each pair of rows is placed for every state of the part.
    most = max(MOST_ROW_PAIRS // max(len(punches), 1), 1)
    dies = sorted(dict.fromkeys(dies), key=lambda row: len(row.segments))[:most]
    held = [{SegmentUse(each.length_mm, each.ear): each.held for each in tool.segments} for tool in (punch, die)]
    apart = rows_apart(
        punch.segments,
        [*_past_ends(ways, problem, bed_mm), *_between_bends(ways, problem, bed_mm, _plain(punch), die=False)],
        ear_reach_mm=punch.ear_reach_mm if carries and _has_returns(hits) else None,
    )
    hung = rows_apart(plain, _between_bends(ways, problem, bed_mm, plain, die=True))
    hung = tuple(sorted(hung, key=lambda row: len(row.segments))[:MOST_HUNG])
    eared = _has_returns(hits)
    over = [row for row in punches if eared or not any(row.ears)]
    alike = ((row, own) for own in hung for row in over if abs(row.length_mm - own.length_mm) <= ALIKE_MM)
    pairs = itertools.chain(itertools.product(punches, dies), _over_dies(apart, dies, plain), alike)
    return PanelRows(tuple(dict.fromkeys(pairs)), (punch.name, die.name), (held[0], held[1]))


def _plain(tool: Punch | Die) -> tuple[Segment, ...]:
    """Its segments that are no ears."""
    return tuple(segment for segment in tool.segments if segment.ear is None)


def _over_dies(apart: Sequence[Row], dies: Sequence[Row], plain: Sequence[Segment]) -> Iterator[tuple[Row, Row]]:
    """Punch rows with gaps over the dies that are longer or as long, and over one with its gaps below theirs: what
    passes the punch may reach below the sheet."""
    whole = {row.length_mm: row for row in reversed(dies)}
    longest_mm, below = max(whole), dict[tuple[tuple[float, float], ...], tuple[Row, ...]]()
    for row in apart:
        yield from ((row, whole[mm]) for mm in sorted({longest_mm, row.length_mm} & whole.keys()))
        blocks = row.blocks_mm
        if blocks not in below:
            lengths_mm = [(high - low, high - low) for low, high in blocks[:-1]]
            gaps_mm = tuple(high - low for low, high in row.gaps_mm)
            asked = Apart(gaps_mm, tuple(lengths_mm), (row.length_mm, row.length_mm))
            below[blocks] = tuple(each for each in rows_apart(plain, [asked]) if each.blocks_mm == blocks)[:1]
        yield from ((row, die) for die in below[blocks])


def _has_returns(hits: Sequence[HitAnswers]) -> bool:
    """Whether anything is in the way of a punch that is not in the way of an ear's foot."""
    return any(each.punch != each.foot for hit in hits for face in hit.faces for each in hit.answers(face))


def _past_ends(ways: Sequence[PanelWay], problem: PanelProblem, bed_mm: float) -> tuple[Apart, ...]:
    """Punch rows with a gap for a flange to pass that stands at the end of a shorter line, the row as long as a longer
    one needs."""
    rules, asked = problem.rules, dict[Apart, None]()
    short_mm = _short_mm(problem)
    lines_mm = sorted({round(problem.operations[way.operation].length_mm, 3) for way in ways})
    for way in ways:
        runs, needs_mm = way.hit.runs_mm, set[float]()
        (begin_mm, _), (_, end_mm) = runs[0], runs[-1]
        for low, high in {run for face in way.hit.faces for each in way.hit.answers(face) for run in each.punch}:
            wide_mm = high - low + 2 * rules.clear_mm
            if wide_mm <= rules.most_gap_mm and (high <= begin_mm + short_mm or low >= end_mm - short_mm):
                needs_mm.add(min(_as_set_mm(wide_mm), rules.most_gap_mm))
        long_mm = end_mm - begin_mm
        alone_mm = max(long_mm - short_mm, 1.0), long_mm + 2 * rules.near_mm
        longer = [_whole_mm(mm, problem, bed_mm) for mm in lines_mm if mm > long_mm + short_mm]
        asked |= {Apart((gap_mm,), (alone_mm,), whole_mm): None for gap_mm in sorted(needs_mm) for whole_mm in longer}
    return tuple(asked)


def _between_bends(
    ways: Sequence[PanelWay], problem: PanelProblem, bed_mm: float, plain: Sequence[Segment], *, die: bool
) -> tuple[Apart, ...]:
    """Rows with gaps between bends on one line for what stands there, or hangs there beside a die: for all of it
    together, and for what stands there always, or for each by itself."""
    rules, asked = problem.rules, dict[Apart, None]()
    short_mm = _short_mm(problem)
    for way in ways:
        runs = way.hit.runs_mm
        begin_mm, whole_mm = runs[0][0], _whole_mm(runs[-1][1] - runs[0][0], problem, bed_mm)
        stands: dict[int, tuple[float, float]] = {}
        always: set[int] = set()
        singly: set[tuple[float, float]] = set()
        for face in way.hit.faces:
            states = [each.die if die else each.punch for each in way.hit.answers(face) if not each.fatal]
            for low, high in sorted({run for each in states for run in each}):
                low_mm, high_mm = low - rules.clear_mm, high + rules.clear_mm
                for at, ((_, one), (two, _)) in enumerate(pairwise(runs)):
                    if one - short_mm <= low_mm and high_mm <= two + short_mm:
                        singly.add((low_mm, high_mm))
                        before = stands.get(at, (low_mm, high_mm))
                        stands[at] = min(low_mm, before[0]), max(high_mm, before[1])
                        always |= {at} if all((low, high) in each for each in states) else set()
        chosen = [sorted(stands), sorted(always)] if always else [[at] for at in sorted(stands)] + [sorted(stands)]
        every = [[stands[at] for at in some] for some in chosen]
        every += [] if always else [[one] for one in sorted(singly)]
        for some in filter(None, every):
            first_mm = max(some[0][0] - begin_mm - short_mm, 1.0), some[0][0] - begin_mm + LONGER_MM
            asked |= dict.fromkeys(_all_between(some, first_mm, whole_mm, plain, short_mm))
    return tuple(asked)


def _all_between(
    stands: Sequence[tuple[float, float]],
    first_mm: tuple[float, float],
    whole_mm: tuple[float, float],
    plain: Sequence[Segment],
    short_mm: float,
) -> Iterator[Apart]:
    """Rows with a gap about each of what stands between bends: blocks as long as they find room between two of them, or
    less by what may be left uncovered, each in the middle of its room."""
    rooms_mm = [low - high for (_, high), (low, _) in pairwise(stands)]
    blocks = [[mm for mm, _ in row_sums(plain, least_mm=max(mm - short_mm, 1.0), most_mm=mm)] for mm in rooms_mm]
    for some in itertools.islice(itertools.product(*(sorted(each, reverse=True) for each in blocks)), MOST_BLOCKS):
        beside_mm = [0.0, *((room - mm) / 2 for room, mm in zip(rooms_mm, some, strict=True)), 0.0]
        gaps_mm = (
            _as_set_mm(high - low + one + other)
            for (low, high), one, other in zip(stands, beside_mm[:-1], beside_mm[1:], strict=True)
        )
        yield Apart(tuple(gaps_mm), (first_mm, *((mm, mm) for mm in some)), whole_mm)


def _short_mm(problem: PanelProblem) -> float:
    """What may be left uncovered of a line at both ends together."""
    return 2 * max(problem.rules.beside_short_mm, problem.rules.free_short_mm)


def _whole_mm(line_mm: float, problem: PanelProblem, bed_mm: float) -> tuple[float, float]:
    """How long a row may be that is of use to a line."""
    return line_mm - _short_mm(problem), min(line_mm + LONGER_MM, bed_mm)


def _as_set_mm(gap_mm: float) -> float:
    """A gap as it is set, no narrower."""
    return math.ceil(gap_mm / GAP_STEP_MM - 1e-6) * GAP_STEP_MM
