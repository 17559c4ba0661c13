"""The rows that each set of tools of a panel may stand in: they hang on what the hits forbid."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from flangewise.panel_order import Hit, PanelProblem, PanelRows, PanelWay
from flangewise.punch_die import Row, SegmentUse, rows_of
from flangewise.setup import WorkCentre

# Rows longer than a line by more than this are of no use to it: the shop's segments step finer.
LONGER_MM = 25.0
# A die row may be so much longer where nothing hangs down beside it.
LONG_DIE_MM = 700.0
MOST_ROW_PAIRS = 6000


def with_rows(problem: PanelProblem, centre: WorkCentre) -> PanelProblem:
    """The question with the rows that each set of tools may stand in: they hang on what the hits forbid."""
    for way in problem.ways:
        if isinstance(way.hit, Hit):
            way.hit.prepare()
    mountings = range(max(way.mounting for way in problem.ways) + 1)
    own = ([way for way in problem.ways if way.mounting == number] for number in mountings)
    return replace(problem, rows=tuple(_rows(ways, problem, centre) for ways in own))


def _rows(ways: Sequence[PanelWay], problem: PanelProblem, centre: WorkCentre) -> PanelRows:
    """Punch rows over die rows that may be of use: none shorter than the shortest line allows, none much longer than
    needed, but for a die beside which nothing hangs down. Ears only where they carry every hit."""
    punch, die = ways[0].made.pair.tools.punch, ways[0].made.pair.tools.die
    assert punch is not None and die is not None
    rules, hits = problem.rules, [way.hit for way in ways]
    forces = [way.made.pair.limit_force_kn_per_m or 0.0 for way in ways]
    carries = punch.ear_load_kn_per_m is None or max(forces) <= punch.ear_load_kn_per_m
    short_mm = 2 * max(rules.beside_short_mm, rules.free_short_mm)
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
    plain = tuple(segment for segment in die.segments if segment.ear is None)
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
    return PanelRows(tuple(itertools.product(punches, dies)), (punch.name, die.name), (held[0], held[1]))
