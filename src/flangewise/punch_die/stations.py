"""Where the tools stand on the bed: one station in the middle, or several beside each other where that works.

Several stations stay mounted together only where all close at one shut height, the part at one station stays clear of
its neighbours, and no station stands so far out that the drives cannot give its force. Otherwise each pair is a set-up
of its own, in the middle of the bed. Common practice; the off-centre rule is statics of two drives.

A tool of a length is made from the segments held by a bounded subset sum over tenths of a mm: the fewest segments
first, then the fewest ears (they are kept for boxes), and on the bed the longest in the middle, an ear at its own end.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from flangewise.punch_die.limits import off_centre_force_kn
from flangewise.punch_die.pair import Mounting, Pair, PunchDie
from flangewise.records import dataclass, replace
from flangewise.shop import Ear, Machine, Segment

Use = tuple[int, ...]  # how many of each kind of segment are taken, in the order of the kinds
Weight = tuple[int, int]  # segments taken, and ears among them: the fewer the better
TENTHS = 10
SAME_SHUT_HEIGHT_MM = 0.05
SHORT_SEGMENT_MM = 20.0  # a punch segment shorter than this may be held by no more than one clamp (common practice)


class _Kind(NamedTuple):
    """Segments of one kind, as a key that is quick to look up."""

    length_mm: float
    held: int
    ear: Ear | None


@dataclass(frozen=True)
class SegmentUse:
    """One segment as it stands on the bed, `apart_mm` right of the one before it."""

    length_mm: float
    ear: Ear | None = None
    apart_mm: float = 0.0

    @property
    def text(self) -> str:
        """As a setter reads it: `110`, or `ear 75 left`."""
        return f"ear {self.length_mm:g} {self.ear}" if self.ear else f"{self.length_mm:g}"

    @property
    def kind(self) -> "SegmentUse":
        """What is taken from the rack, wherever it stands."""
        return replace(self, apart_mm=0.0) if self.apart_mm else self


def segment_texts(segments: Iterable[SegmentUse]) -> tuple[str, ...]:
    """Segments from left to right as a setter reads them, and where one stands apart, how far: `gap 4`."""
    return tuple(
        text
        for segment in segments
        for text in (*([f"gap {segment.apart_mm:g}"] if segment.apart_mm else []), segment.text)
    )


def segments_mm(segments: Iterable[SegmentUse]) -> float:
    """From end to end of a row, what stands apart and all."""
    return round(sum(segment.apart_mm + segment.length_mm for segment in segments), 6)


def cover(
    segments: Iterable[Segment], least_mm: float, *, most_mm: float, short_mm: float = 0.0
) -> tuple[SegmentUse, ...]:
    """The segments for a straight bend of `least_mm`, or up to short_mm less where the set holds no more; else none.

    The fewest win, then the least overhang, which does no harm; most_mm is the bed. Ears carry less and are kept for
    boxes: they are taken only where the plain segments do not reach.
    """
    held = tuple(segments)
    for with_ears in (False, True):
        for reach_mm in (least_mm, least_mm - short_mm):
            found = _cover(_kinds(held, with_ears=with_ears), _tenths(reach_mm), most=_tenths(most_mm))
            if found:
                return found
    return ()


@lru_cache(maxsize=1024)
def _cover(kinds: tuple[_Kind, ...], least: int, *, most: int) -> tuple[SegmentUse, ...]:
    # The fewest that reach do not reach further than by the longest: without one of them the rest would reach too.
    longest = max((_tenths(kind.length_mm) for kind in kinds), default=0)
    sums = _sums(kinds, most=min(most, max(least, 1) + longest))
    enough = [total for total in sums if total >= max(least, 1)]
    if not enough:
        return ()
    best = min(enough, key=lambda total: (sums[total][0], total))
    return arranged(kinds, sums[best][1])


def arranged(kinds: tuple[_Kind, ...], use: Use) -> tuple[SegmentUse, ...]:
    """The segments taken, left to right: the longest in the middle, shorter ones outward, ears at their own ends."""
    taken = [kind for kind, count in zip(kinds, use, strict=True) for _ in range(count)]
    plain = sorted((kind for kind in taken if kind.ear is None), key=lambda kind: -kind.length_mm)
    middle: list[SegmentUse] = []
    for place, kind in enumerate(plain):
        piece = SegmentUse(kind.length_mm)
        middle = [*middle, piece] if place % 2 == 0 else [piece, *middle]
    left = [SegmentUse(kind.length_mm, "left") for kind in taken if kind.ear == "left"]
    right = [SegmentUse(kind.length_mm, "right") for kind in taken if kind.ear == "right"]
    return (*left, *middle, *right)


def _kinds(segments: Iterable[Segment], *, with_ears: bool) -> tuple[_Kind, ...]:
    kept = (segment for segment in segments if with_ears or segment.ear is None)
    ranked = sorted(kept, key=lambda segment: (-segment.length_mm, segment.ear or ""))
    return tuple(_Kind(segment.length_mm, segment.held, segment.ear) for segment in ranked)


def _sums(kinds: tuple[_Kind, ...], *, most: int) -> dict[int, tuple[Weight, Use]]:
    """The best way to each total up to `most`, in tenths of a mm, by segments taken and then by ears."""
    best: dict[int, tuple[Weight, Use]] = {0: ((0, 0), (0,) * len(kinds))}
    for index, kind in enumerate(kinds):
        length, is_ear = _tenths(kind.length_mm), kind.ear is not None
        for total, ((taken, ears), use) in list(best.items()):
            for count in range(1, min(kind.held, (most - total) // length) + 1):
                weight = (taken + count, ears + count * is_ear)
                reached = total + count * length
                if reached not in best or weight < best[reached][0]:
                    best[reached] = weight, (*use[:index], count, *use[index + 1 :])
    return best


def row_sums(
    segments: Iterable[Segment], *, least_mm: float, most_mm: float
) -> Iterator[tuple[float, tuple[SegmentUse, ...]]]:
    """Every length from `least_mm` to `most_mm` that plain segments make, with the fewest, as they stand; 0 is none."""
    kinds = _kinds(segments, with_ears=False)
    for total, (_, use) in sorted(_sums(kinds, most=max(_tenths(most_mm), 0)).items()):
        if total >= _tenths(least_mm) and total <= _tenths(most_mm):
            yield total / TENTHS, arranged(kinds, use)


def left_over(segments: Iterable[Segment], used: Iterable[SegmentUse]) -> tuple[Segment, ...]:
    """The segments that are held beside those used."""
    taken = Counter((use.length_mm, use.ear) for use in used)
    own = ((each, each.held - taken[each.length_mm, each.ear]) for each in segments)
    return tuple(each.model_copy(update={"held": held}) for each, held in own if held > 0)


def _tenths(length_mm: float) -> int:
    return round(length_mm * TENTHS)


@dataclass(frozen=True)
class Station:
    """One pair on the bed; lengths along the bed count from its left end. `set_up` numbers the set-ups from 1."""

    punch: str
    die: str
    turned: bool
    from_mm: float
    to_mm: float
    segments: tuple[SegmentUse, ...]
    die_from_mm: float
    die_to_mm: float
    die_segments: tuple[SegmentUse, ...]
    set_up: int = 1

    @property
    def centre_mm(self) -> float:
        """The middle of the station along the bed."""
        return (self.from_mm + self.to_mm) / 2

    @property
    def has_short_segment(self) -> bool:
        """Whether a punch segment is so short that each clamp wants a look."""
        return any(segment.length_mm < SHORT_SEGMENT_MM for segment in self.segments)

    def carries(self, mounting: Mounting) -> bool:
        """Whether this is where that pair stands."""
        names = (mounting.pair.tools.punch_name, mounting.pair.tools.die_name, mounting.turned)
        return names == (self.punch, self.die, self.turned)


def place_stations(
    mountings: Sequence[Mounting], *, machine: Machine, length_mm: float, short_mm: float = 0.0, gap_mm: float = 20.0
) -> tuple[Station, ...]:
    """A station for each pair and way round, by first use; without segments where these do not reach the length."""
    different = {mounting.name: mounting for mounting in mountings}.values()
    reach = _Reach(length_mm, machine.bed_length_mm, short_mm)
    stations = [_about_nought(mounting.pair.tools, reach, turned=mounting.turned) for mounting in different]
    pairs = [mounting.pair for mounting in different]
    beside = _beside(stations, pairs, machine=machine, reach=reach, gap_mm=gap_mm)
    if beside is not None:
        return beside
    middle_mm = machine.bed_length_mm / 2
    return tuple(replace(_moved(each, middle_mm), set_up=number) for number, each in enumerate(stations, start=1))


def may_stand_beside(
    one: Mounting, other: Mounting, *, machine: Machine, length_mm: float, short_mm: float = 0.0, gap_mm: float = 20.0
) -> bool:
    """Whether two stations could stay mounted together, with others or without, as far as the drives give the force.

    More stations only take more of the bed and of what is held; further in the middle a drive gives more.
    """
    pairs, reach = [one.pair, other.pair], _Reach(length_mm, machine.bed_length_mm, short_mm)
    if not _close_alike(pairs):
        return False
    stations = [_about_nought(each.pair.tools, reach, turned=each.turned) for each in (one, other)]
    return _fit_beside(stations, pairs, reach, gap_mm=gap_mm) is not None


class _Reach(NamedTuple):
    """How long tools must be at least, at most, and how much of the least they may lack."""

    least_mm: float
    most_mm: float
    short_mm: float


@lru_cache(maxsize=1024)
def _about_nought(tools: Pair, reach: _Reach, *, turned: bool) -> Station:
    punch, die = (
        cover(each, reach.least_mm, most_mm=reach.most_mm, short_mm=reach.short_mm)
        for each in (tools.punch_segments, tools.die_segments)
    )
    punch_mm, die_mm = (sum(segment.length_mm for segment in segments) for segments in (punch, die))
    return Station(
        punch=tools.punch_name or "",
        die=tools.die_name or "",
        turned=turned,
        from_mm=-punch_mm / 2,
        to_mm=punch_mm / 2,
        segments=punch,
        die_from_mm=-die_mm / 2,
        die_to_mm=die_mm / 2,
        die_segments=die,
    )


def _moved(station: Station, by_mm: float) -> Station:
    places = ("from_mm", "to_mm", "die_from_mm", "die_to_mm")
    return replace(station, **{place: by_mm + getattr(station, place) for place in places})


def _close_alike(pairs: Sequence[PunchDie]) -> bool:
    """Whether all close at one shut height."""
    heights_mm = [pair.tools.shut_height_mm for pair in pairs]
    return max(heights_mm) - min(heights_mm) <= SAME_SHUT_HEIGHT_MM


def stands_on_mm(one: Mounting, *, machine: Machine, length_mm: float, short_mm: float = 0.0) -> float:
    """How much of the bed a station takes beside others; infinite where no segments reach the length."""
    reach = _Reach(length_mm, machine.bed_length_mm, short_mm)
    station = _about_nought(one.pair.tools, reach, turned=one.turned)
    return _width_mm(station, reach) if station.segments and station.die_segments else math.inf


def _width_mm(station: Station, reach: _Reach) -> float:
    return 2 * max(station.to_mm, station.die_to_mm, reach.least_mm / 2)


def _fit_beside(
    stations: Sequence[Station], pairs: Sequence[PunchDie], reach: _Reach, *, gap_mm: float
) -> list[float] | None:
    """How much of the bed each takes where all find room and enough is held for them, else None."""
    if not all(each.segments and each.die_segments for each in stations):
        return None
    widths_mm = [_width_mm(each, reach) for each in stations]
    if sum(widths_mm) + gap_mm * (len(stations) - 1) > reach.most_mm or not _enough_held(stations, pairs):
        return None
    return widths_mm


def _beside(
    stations: Sequence[Station], pairs: Sequence[PunchDie], *, machine: Machine, reach: _Reach, gap_mm: float
) -> tuple[Station, ...] | None:
    """All stations beside each other in the order of use, or None where they cannot stay mounted together."""
    if len(stations) < 2 or not _close_alike(pairs):
        return None
    widths_mm = _fit_beside(stations, pairs, reach, gap_mm=gap_mm)
    if widths_mm is None:
        return None
    left_mm = (machine.bed_length_mm - sum(widths_mm) - gap_mm * (len(stations) - 1)) / 2
    placed = []
    for each, pair, width_mm in zip(stations, pairs, widths_mm, strict=True):
        placed.append(_moved(each, left_mm + width_mm / 2))
        left_mm += width_mm + gap_mm
        off_mm = placed[-1].centre_mm - machine.bed_length_mm / 2
        if (pair.force_kn(reach.least_mm) or 0.0) > off_centre_force_kn(machine, off_mm):
            return None
    return tuple(placed)


def _enough_held(stations: Sequence[Station], pairs: Sequence[PunchDie]) -> bool:
    taken: Counter[tuple[str, SegmentUse]] = Counter()
    held: dict[tuple[str, SegmentUse], int] = {}
    for each, pair in zip(stations, pairs, strict=True):
        for name, kinds, used in (
            (f"punch {each.punch}", pair.tools.punch_segments, each.segments),
            (f"die {each.die}", pair.tools.die_segments, each.die_segments),
        ):
            taken.update((name, use) for use in used)
            held |= {(name, SegmentUse(kind.length_mm, kind.ear)): kind.held for kind in kinds}
    return all(count <= held[key] for key, count in taken.items())
