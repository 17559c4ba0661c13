"""Ways of doing an operation, by itself or those of one pose together, and what a closer look finds of them."""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property, lru_cache

import numpy as np

from flangewise.records import dataclass, replace
from flangewise.sequence.arrays import Bools, Floats, Ints, alike_in
from flangewise.sequence.moves import EDGE, FLANGE, pose_number
from flangewise.sequence.seconds import Strokes
from flangewise.sequence.solution import Blocker

# An operation, the marked face up or not, and the end behind.
Pose = tuple[int, bool, int]


@dataclass(frozen=True)
class Candidate:
    """One way of doing an operation, but for the datum: option of tools, face up, end behind."""

    operation: int
    option: int
    marked_up: bool
    behind: int


@dataclass(frozen=True)
class Exclusion:
    """What a closer look found: a way is dearer, or impossible, in every set that agrees with `value` on `mask`.

    `option` and `behind` None: whatever tools, whichever end behind. `datum` None: whatever it is gauged on.
    `price` infinite forbids. `is_caught`: it does not leave level, so it takes no less than being slid off
    along the bed, whatever `price` says. `blocker` says why.
    """

    operation: int
    mask: int
    value: int
    option: int | None = None
    behind: int | None = None
    datum: int | None = None
    price: float = math.inf
    is_caught: bool = False
    blocker: Blocker | None = None

    def covers(self, way: Candidate) -> bool:
        """Whether it speaks of this way of doing the operation."""
        same = self.option in (None, way.option) and self.behind in (None, way.behind)
        return self.operation == way.operation and same

    def covers_options(self, options: Ints) -> Bools:
        """Which choices of tools it speaks of."""
        every: Bools = np.full(len(options), self.option is None) | (options == self.option)
        return every


@dataclass(frozen=True, eq=False)
class Presentation:
    """An operation with one face up and one end behind, and choices of tools that can make it so, in columns.

    `options`: their numbers. `own_s`: what each costs besides its strokes. `edges_mm`: back and front edge of each
    die block, `bare` where it has none. `half_turns_deg`: how far a leg is up at the bottom of each stroke.
    `moved_mm`: how much further from the bend's middle than thought the flats beside it end on the tools' own blank.
    """

    operation: int
    marked_up: bool
    behind: int
    options: Ints
    own_s: Floats
    strokes: Strokes
    edges_mm: tuple[Floats, Floats]
    bare: Bools
    half_turns_deg: Floats
    moved_mm: Floats

    @property
    def pose(self) -> Pose:
        """Operation, face up and end behind."""
        return self.operation, self.marked_up, self.behind

    @cached_property
    def poses(self) -> list[int]:
        """Pose numbers for the raw edge and for a formed face on the stops."""
        return [pose_number(marked_up=self.marked_up, behind=self.behind, datum=datum) for datum in (EDGE, FLANGE)]

    def only(self, options: Collection[int]) -> "Presentation":
        """The same with some of the choices of tools."""
        wanted = set(options)
        rows = [row for row, number in enumerate(self.options.tolist()) if number in wanted]
        if len(rows) == len(self.options):
            return self
        return replace(
            self,
            options=self.options[rows],
            own_s=self.own_s[rows],
            strokes=self.strokes.only(np.array(rows, dtype=np.int64)),
            edges_mm=(self.edges_mm[0][rows], self.edges_mm[1][rows]),
            bare=self.bare[rows],
            half_turns_deg=self.half_turns_deg[rows],
            moved_mm=self.moved_mm[rows],
        )

    @cached_property
    def apart(self) -> "Presentation":
        """The choices that differ from those before them in anything a set's strokes or its hold depend on."""
        if len(self.options) == 1:
            return self
        own = (*self.edges_mm, self.bare, self.half_turns_deg, self.moved_mm, self.strokes.numbers)
        numbers = np.hstack([np.asarray(each, dtype=float) for each in own])
        return self.only(self.options[_first_alike(numbers.tobytes(), len(numbers))])

    @cached_property
    def held_apart(self) -> tuple["Presentation", Ints]:
        """Choices whose dies hold a part unlike those before them, and which of these holds it as each choice does."""
        rows, alike = alike_in(*(each[:, 0] for each in (*self.edges_mm, self.moved_mm)))
        return self if len(rows) == len(alike) else self.only(self.options[rows]), alike

    @cached_property
    def easiest(self) -> "Presentation":
        """One choice that holds a part no worse than any: the widest block, and as far off as any may be."""
        low, high = self.edges_mm
        one = self.only(self.options[:1])
        return replace(
            one,
            edges_mm=(low.min(keepdims=True), high.max(keepdims=True)),
            moved_mm=np.abs(self.moved_mm).max(keepdims=True),
        )

    def candidate(self, row: int) -> Candidate:
        """The way of one of the choices."""
        return Candidate(self.operation, int(self.options[row]), self.marked_up, self.behind)


@dataclass(frozen=True, eq=False)
class Lot:
    """Sets of done operations before steps made with the same choices of tools, whose columns are alike: those of one
    presentation after those of another, so many of each."""

    made: tuple[Presentation, ...]
    counts: Ints
    sets: Ints

    @property
    def tools(self) -> Presentation:
        """One of the presentations: what of it is of its tools is so of all."""
        return self.made[0]

    def each(self) -> Iterator[tuple[Presentation, slice]]:
        """Every presentation, with where its sets are."""
        end = 0
        for made, count in zip(self.made, self.counts.tolist(), strict=True):
            start, end = end, end + count
            if count:
                yield made, slice(start, end)

    def picked(self, rows: Ints) -> "Lot":
        """Some of the sets, in their order."""
        counts = np.diff(rows.searchsorted(np.cumsum(self.counts)), prepend=0)
        return Lot(self.made, counts, self.sets[rows])


def lot_of(made: Presentation, sets: Ints) -> Lot:
    """Sets before steps of one presentation."""
    return Lot((made,), np.array([len(sets)]), sets)


def made_alike(
    every: Iterable[Presentation], stations: Mapping[Presentation, Ints] | None = None
) -> list[tuple[Presentation, ...]]:
    """Presentations whose choices of tools are the same, with the same wishes and stations, so asked together."""
    alike: dict[tuple[object, ...], list[Presentation]] = {}
    for made in every:
        key = id(made.strokes), made.own_s.tobytes(), None if stations is None else stations[made].tobytes()
        alike.setdefault(key, []).append(made)
    return [tuple(each) for each in alike.values()]


@lru_cache(maxsize=64)
def _first_alike(numbers: bytes, count: int) -> list[int]:
    """Of so many rows of numbers, the first of those that are alike: bends of one part are often offered the same."""
    width = len(numbers) // count
    return sorted({numbers[nth * width : (nth + 1) * width]: nth for nth in reversed(range(count))}.values())
