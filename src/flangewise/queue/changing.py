"""From what stands on the bed to what the next job needs: which stations stay, which are put in, and what that takes.

A tool that stands is not put in again: a station that does for the job stays, of another the punch or the die may stay
where it is while its counterpart is changed. A row may be put in as another job of the queue has it, longer than this
one needs. What need not go stays. Nothing is moved along the bed: that would be taking it out and putting it in.
"""

import itertools
from collections.abc import Collection, Iterator, Sequence

from flangewise.queue.on_bed import Bed, Need, Standing, ToolRow
from flangewise.records import dataclass

Stations = tuple[int, ...]
"""What stands on the bed: the numbers of stations, ascending."""


@dataclass(frozen=True)
class Kind:
    """What jobs that are set up alike need: stations on one bed, or set-ups that have the bed one after the other.

    Of the second kind `needs` holds the first station, `leaves` the last, and `inside_s` is what the changes between
    them take. `due`: its place among the due days from 0, None without one.
    """

    needs: tuple[Need, ...]
    leaves: Need | None = None
    inside_s: float = 0.0
    due: int | None = None

    @property
    def own(self) -> tuple[Standing, ...]:
        """Its stations as its own set-up has them."""
        return tuple(need.own for need in self.needs)


@dataclass(frozen=True)
class Change:
    """What stands once a job is set up, the seconds that it takes, and what each station that stayed was before.

    `after` is what stands when the job is done: the same, unless its set-ups have the bed one after the other.
    `carried_mm`: the length of all rows put in.
    """

    stations: Stations
    after: Stations
    seconds_s: float
    stayed: tuple[tuple[int, int], ...]
    carried_mm: float = 0.0


@dataclass(frozen=True)
class _Option:
    """One way to a station that is needed: it stands; one that stands gives a row for it; or it is put in."""

    station: int
    seconds_s: float
    carried_mm: float
    from_station: int | None


class Changing:
    """The changes between the kinds of set-up of one machine, each reckoned once."""

    def __init__(self, bed: Bed, kinds: Sequence[Kind]) -> None:
        """`kinds` go by their number from 0."""
        self.bed, self.kinds = bed, tuple(kinds)
        self.standing: list[Standing] = []
        self._numbers: dict[Standing, int] = {}
        self._own = {tuple(sorted({self.number(own) for own in kind.own})) for kind in self.kinds}
        self._held: dict[Stations, bool] = {}
        self._changes: dict[tuple[Stations, int], tuple[Change, ...]] = {}
        self._fit = [self._fit_for(kind) for kind in self.kinds]

    def number(self, station: Standing) -> int:
        """The number a station goes by."""
        if station not in self._numbers:
            self._numbers[station] = len(self.standing)
            self.standing.append(station)
        return self._numbers[station]

    def holds(self, stations: Stations) -> bool:
        """Whether these stand on the bed together; those of one set-up do."""
        if stations not in self._held:
            together = self.bed.holds([self.standing[each] for each in stations])
            self._held[stations] = together or stations in self._own
        return self._held[stations]

    def _fit_for(self, kind: Kind) -> tuple[tuple[Standing, ...], ...]:
        """For each need the stations that are some set-up's own and do for it."""
        every = dict.fromkeys(own for each in self.kinds for own in each.own)
        return tuple(tuple(own for own in every if need.is_served(own)) for need in kind.needs)

    def changes(self, stations: Stations, kind: int) -> tuple[Change, ...]:
        """The ways to set up for a kind from what stands."""
        key = (stations, kind)
        if key not in self._changes:
            self._changes[key] = tuple(self._found(stations, self.kinds[kind], self._fit[kind]))
        return self._changes[key]

    def _found(self, stations: Stations, kind: Kind, fits: Sequence[Collection[Standing]]) -> Iterator[Change]:
        options = self._all_options(stations, kind, fits)
        if kind.leaves is None and all(any(each.station == each.from_station for each in every) for every in options):
            yield Change(stations, stations, 0.0, tuple((each, each) for each in stations))
            return
        least: dict[tuple[Stations, Stations], Change] = {}
        for chosen in itertools.product(*options):
            for change in self._with(stations, kind, chosen):
                key = (change.stations, change.after)
                known = least.get(key)
                if known is None or (change.seconds_s, change.carried_mm) < (known.seconds_s, known.carried_mm):
                    least[key] = change
        yield from least.values()

    def every_change(self, stations: Stations, kind: int) -> Iterator[Change]:
        """The ways to set up for a kind, also those that keep less standing, or put in anew what stands."""
        for chosen in itertools.product(*self._all_options(stations, self.kinds[kind], self._fit[kind])):
            yield from self._with(stations, self.kinds[kind], chosen, every=True)

    def serving(self, need: Need, stations: Collection[int]) -> int:
        """The station that is used for a need: of several that would do its own, or else the shortest."""
        does = [number for number in stations if need.is_served(self.standing[number])]
        return min(does, key=lambda each: (self.standing[each] != need.own, self.standing[each].wide_mm))

    def _all_options(self, stations: Stations, kind: Kind, fits: Sequence[Collection[Standing]]) -> list[list[_Option]]:
        return [list(self._options(need, stations, fit)) for need, fit in zip(kind.needs, fits, strict=True)]

    def _options(self, need: Need, stations: Stations, fit: Collection[Standing]) -> Iterator[_Option]:
        made: dict[tuple[int | None, int], tuple[float, float]] = {}
        for own in fit:
            number = self.number(_for(need, own.punch, own.die, own.off_mm))
            made[None, number] = own.put_in_s, own.punch.length_mm + own.die.length_mm
            for before in stations:
                for given, row in _given(self.standing[before], own, need):
                    key, spent = (before, self.number(given)), (0.0, 0.0)
                    if row is not None:
                        spent = row.put_in_s, row.length_mm
                    made[key] = min(spent, made.get(key, spent))
        for (from_station, after), (seconds_s, carried_mm) in made.items():
            yield _Option(after, seconds_s, carried_mm, from_station)

    def _with(
        self, stations: Stations, kind: Kind, chosen: Sequence[_Option], *, every: bool = False
    ) -> Iterator[Change]:
        """The changes that give the job these stations, with as much left standing beside them as may be.

        `every`: those as well that leave less.
        """
        gone = [each.from_station for each in chosen if each.from_station is not None]
        new = tuple(sorted({each.station for each in chosen}))
        if len(set(gone)) < len(gone) or len(new) < len(chosen) or not self.holds(new):
            return
        seconds_s = sum(each.seconds_s for each in chosen) + kind.inside_s
        carried_mm = sum(each.carried_mm for each in chosen)
        stayed = tuple((each.from_station, each.station) for each in chosen if each.from_station is not None)
        if kind.leaves is not None:
            yield Change(new, (self.number(kind.leaves.own),), seconds_s, stayed, carried_mm)
            return
        others = [each for each in stations if each not in gone and each not in new]
        for kept in self._beside(others, new, every=every):
            both = tuple(sorted((*new, *kept)))
            yield Change(both, both, seconds_s, tuple(sorted((*stayed, *((each, each) for each in kept)))), carried_mm)

    def _beside(self, others: Sequence[int], new: Stations, *, every: bool) -> list[tuple[int, ...]]:
        """Sets of what stands that may stay beside the new stations; but for `every` those part of no larger."""
        found: list[tuple[int, ...]] = []
        for count in range(len(others), -1, -1):
            for kept in itertools.combinations(others, count):
                if not every and any(set(kept) <= set(more) for more in found):
                    continue
                if self.holds(tuple(sorted((*new, *kept)))):
                    found.append(kept)
        return found


def _given(standing: Standing, own: Standing, need: Need) -> Iterator[tuple[Standing, ToolRow | None]]:
    """A station with what stands and does, the rest as `own` has it; and the row that is put in for it, if any."""
    punch_does, die_does = map(need.row_does, standing.rows)
    if need.is_served(standing):
        yield _for(need, *standing.rows, standing.off_mm, before=standing), None
    if punch_does:
        yield _for(need, standing.punch, own.die, own.off_mm), own.die
    if die_does:
        yield _for(need, own.punch, standing.die, own.off_mm), own.punch


def _for(need: Need, punch: ToolRow, die: ToolRow, off_mm: float, *, before: Standing | None = None) -> Standing:
    """A station with these rows for what the need bends there, and as free of others as it was before."""
    left_mm, right_mm, heavy_kn = need.left_mm, need.right_mm, need.own.heavy_kn
    if before is not None:
        left_mm, right_mm = max(left_mm, before.left_mm), max(right_mm, before.right_mm)
        heavy_kn = max(heavy_kn, before.heavy_kn)
    return Standing.of(
        *(punch, die, off_mm),
        parts_mm=(left_mm, right_mm),
        shut_height_mm=need.own.shut_height_mm,
        heavy_kn=heavy_kn,
    )
