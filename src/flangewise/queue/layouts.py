"""One layout of stations for a run of jobs: all of them stand together, each at its place, and nothing is taken out."""

import itertools
from collections.abc import Iterator, Sequence

from flangewise.queue.changing import Kind
from flangewise.queue.on_bed import SAME_MM, Bed, Standing, ToolRow
from flangewise.queue.places import Stage, StationPlace
from flangewise.records import dataclass, replace

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class LaidStation:
    """A station of a layout: the middle of its punch row on the bed, and which of its rows are put in for it.

    `letter` stays with it as long as it stands at its place.
    """

    letter: str
    standing: Standing
    middle_mm: float
    put_in: tuple[ToolRow, ...]

    def ends_mm(self, row: ToolRow) -> tuple[float, float]:
        """From where to where a row of it stands on the bed."""
        middle_mm = self.middle_mm + (self.standing.off_mm if row.kind == "die" else 0.0)
        return middle_mm - row.length_mm / 2, middle_mm + row.length_mm / 2


@dataclass(frozen=True)
class Layout:
    """What stands on the bed for the stages numbered so, left to right."""

    stations: tuple[LaidStation, ...]
    stages: tuple[int, ...]


def layouts_of(placed: StationPlace, kinds: Sequence[Kind], bed: Bed) -> tuple[Layout, ...]:
    """The layouts of a queue, each for as many jobs one after the other as it can serve."""
    found: list[Layout] = []
    before: dict[int, Standing] = {}
    for numbers in _runs(placed, kinds, bed):
        stages = [placed.stages[number] for number in numbers]
        stands = _together(stages)
        used = {use.station for stage in stages for use in stage.uses}
        stations = []
        for number in sorted(stands, key=lambda each: placed.middles_mm[each]):
            standing, last = stands[number], before.get(number)
            put_in = tuple(row for row in standing.rows if last is None or row not in last.rows)
            if number in used or not put_in:
                stations.append(LaidStation(letter(number), standing, placed.middles_mm[number], put_in))
        found.append(Layout(tuple(stations), tuple(numbers)))
        before = dict(stages[-1].standing)
    return tuple(found)


def letter(number: int) -> str:
    """What a station is called: A to Z, then AA.

    >>> [letter(number) for number in (0, 25, 26, 52)]
    ['A', 'Z', 'AA', 'BA']
    """
    more, last = divmod(number, len(LETTERS))
    return (letter(more - 1) if more else "") + LETTERS[last]


def _runs(placed: StationPlace, kinds: Sequence[Kind], bed: Bed) -> Iterator[list[int]]:
    run: list[int] = []
    for number, stage in enumerate(placed.stages):
        both = [placed.stages[each] for each in run] + [stage]
        apart = any(kinds[each.kind].leaves is not None for each in both)
        if run and (apart or not _stand_together(both, placed, bed)):
            yield run
            run = []
        run.append(number)
    if run:
        yield run


def _together(stages: Sequence[Stage]) -> dict[int, Standing]:
    """All that stands for stages, as broad as it is at its broadest."""
    found: dict[int, Standing] = {}
    for number, standing in (each for stage in stages for each in stage.standing):
        known = found.get(number, standing)
        left_mm, right_mm = max(known.left_mm, standing.left_mm), max(known.right_mm, standing.right_mm)
        found[number] = replace(standing, left_mm=left_mm, right_mm=right_mm)
    return found


def _stand_together(stages: Sequence[Stage], placed: StationPlace, bed: Bed) -> bool:
    rows: dict[int, tuple[ToolRow, ToolRow]] = {}
    for number, standing in (each for stage in stages for each in stage.standing):
        if rows.setdefault(number, standing.rows) != standing.rows:
            return False
    stands = _together(stages)
    along = sorted(stands, key=lambda each: placed.middles_mm[each])
    ends = [
        (placed.middles_mm[each] - stands[each].left_mm, placed.middles_mm[each] + stands[each].right_mm)
        for each in along
    ]
    if any(high + bed.gap_mm > low + SAME_MM for (_, high), (low, _) in itertools.pairwise(ends)):
        return False
    return bed.holds([stands[each] for each in along])
