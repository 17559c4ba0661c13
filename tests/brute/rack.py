"""What may bend a part: tools with their bodies, as the shop's tables have them, and the blank that each choice makes.

Read from the shop, the part and the offers; nothing of the order's search is asked.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity

from flangewise.jobs import Job
from flangewise.part import Part, WantedBend
from flangewise.pattern import NoBlank, lay_out
from flangewise.punch_die import PunchDie
from flangewise.shop import Die, Machine, Punch, Shop

from .fold import Strip, Wing, wing_of

DRAWN_MM = 0.003


@dataclass(frozen=True, eq=False)
class Tools:
    """One pair in one machine, the punch put in one way: what stands, and what comes down with the nose at 0."""

    punch: Punch
    die: Die
    turned: bool
    machine: Machine
    is_offset: bool

    @cached_property
    def standing(self) -> tuple[tuple[str, shapely.Polygon], ...]:
        """Die and bed, the top of the die at 0."""
        die = self.die.outline_turned if self.turned and self.is_offset else self.die.outline_mm
        bed = self.machine.bed_outline_mm.shifted(0.0, -self.die.height_mm)
        return tuple((name, shapely.Polygon(each.drawn_mm(DRAWN_MM))) for name, each in (("die", die), ("bed", bed)))

    @cached_property
    def coming(self) -> tuple[tuple[str, shapely.Polygon], ...]:
        """Punch and ram, the nose at 0."""
        punch = self.punch.outline_turned if self.turned else self.punch.outline_mm
        ram = self.machine.ram_outline_mm.shifted(0.0, self.punch.height_mm)
        return tuple(
            (name, shapely.Polygon(each.drawn_mm(DRAWN_MM))) for name, each in (("punch", punch), ("ram", ram))
        )

    @cached_property
    def die_edges_mm(self) -> tuple[float, float]:
        """Back and front of the die's top, a millimetre down at the most."""
        points = np.array(self.standing[0][1].exterior.coords)
        high = points[points[:, 1] >= points[:, 1].max() - 1.0][:, 0]
        return float(high.min()), float(high.max())

    @cached_property
    def seen_from_front(self) -> tuple[shapely.Geometry, shapely.Geometry]:
        """All that stands, and all that comes down."""
        return tuple(shapely.union_all([body for _, body in each]) for each in (self.standing, self.coming))  # type: ignore[return-value]

    @cached_property
    def seen_from_behind(self) -> tuple[shapely.Geometry, shapely.Geometry]:
        """The same mirrored, so that the wing behind runs along the real axis too."""
        return tuple(shapely.affinity.scale(each, -1.0, 1.0, origin=(0, 0)) for each in self.seen_from_front)  # type: ignore[return-value]

    @property
    def most_open_mm(self) -> float:
        """Between nose and die top with the ram up."""
        return self.machine.daylight_mm - self.punch.height_mm - self.die.height_mm

    @property
    def levels_mm(self) -> tuple[float, float]:
        """Undersides behind and in front at the end of an offset."""
        step = self.die.offset_mm or 0.0
        return ((-step, 0.0) if self.turned else (0.0, -step)) if self.is_offset else (0.0, 0.0)

    @property
    def key(self) -> tuple[str, str, bool]:
        """What tells one station from another."""
        return self.punch.name, self.die.name, self.turned


_KEPT: dict[tuple[int, int, bool, int, bool], Tools] = {}


def _tools(punch: Punch, die: Die, turned: bool, machine: Machine, is_offset: bool) -> Tools:
    """Tools are drawn once for each row of the tables, which they keep alive."""
    key = (id(punch), id(die), turned, id(machine), is_offset)
    if key not in _KEPT:
        _KEPT[key] = Tools(punch, die, turned, machine, is_offset)
    return _KEPT[key]


@dataclass(frozen=True, eq=False)
class Choice:
    """One way of having a bend's tools: a pair, its punch one way round, and the second pair of a hem."""

    pair: PunchDie
    turned: bool
    tools: tuple[Tools, ...]

    @property
    def hits(self) -> tuple[PunchDie, ...]:
        """The strokes, in turn."""
        return (self.pair,) if self.pair.then is None else (self.pair, self.pair.then)

    @property
    def stations(self) -> tuple[tuple[str, str, bool], ...]:
        """Where each stroke is made."""
        return tuple(each.key for each in self.tools)


def _same_both_ways(punch: Punch) -> bool:
    one, other = (
        {(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in each.points_mm}
        for each in (punch.outline_mm, punch.outline_turned)
    )
    return one == other


def choices(job: Job, bend: WantedBend) -> tuple[Choice, ...]:
    """Every way of having the tools of a bend that nothing forbids."""
    found = []
    for pair in job.offers[bend.number]:
        punch, die = pair.tools.punch, pair.tools.die
        if pair.refused or punch is None or die is None:
            continue
        offset = pair.kind == "offset"
        for turned in (False, True) if offset or not _same_both_ways(punch) else (False,):
            if bend.punch_turned in (None, turned) or not (offset or not _same_both_ways(punch)):
                own = [_tools(punch, die, turned, job.machine, offset)]
                if pair.then is not None and pair.then.tools.punch is not None and pair.then.tools.die is not None:
                    own.append(_tools(pair.then.tools.punch, pair.then.tools.die, False, job.machine, False))
                found.append(Choice(pair, turned, tuple(own)))
    return tuple(found)


@dataclass(frozen=True)
class Blank:
    """The sheet for one choice of radii: flats and zones from the start edge, and the zones of each bend."""

    flats_mm: tuple[float, ...]
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float
    zones_of: tuple[tuple[int, ...], ...]

    @property
    def developed_mm(self) -> float:
        """From edge to edge."""
        return sum(self.flats_mm) + sum(self.zones_mm)

    def wing(self, bend: int, done: int, *, to_end: bool, marked_up: bool) -> Wing:
        """What lies outward of a bend (counted from 0) when the bends of `done` are made."""
        bent = {zone for other, own in enumerate(self.zones_of) if done >> other & 1 for zone in own}
        up = 1.0 if marked_up else -1.0
        flat = self.zones_of[bend][-1] + 1 if to_end else self.zones_of[bend][0]
        last = len(self.zones_mm) if to_end else 0
        strips = [Strip(flat, False, self.flats_mm[flat])]
        while flat != last:
            zone = flat if to_end else flat - 1
            flat += 1 if to_end else -1
            turn = up * self.turns_deg[zone] if zone in bent else 0.0
            radius = max(0.0, self.radii_mm[zone] + self.thickness_mm / 2) if turn else 0.0
            strips += [
                Strip(zone, True, self.zones_mm[zone], turn, radius),
                Strip(flat, False, self.flats_mm[flat]),
            ]
        return wing_of(tuple(strips))

    def half_span_mm(self, bend: int) -> float:
        """From the middle of a bend's zones to the wings beside them, flat."""
        zones = self.zones_of[bend]
        return (sum(self.zones_mm[zone] for zone in zones) + sum(self.flats_mm[zones[0] + 1 : zones[-1] + 1])) / 2

    def bend_of(self, zone: int) -> int:
        """The bend that a zone belongs to."""
        return next(bend for bend, own in enumerate(self.zones_of) if zone in own)


def formed_mm(part: Part, bend: WantedBend, pair: PunchDie) -> float:
    """The inside radius that makes the blank: what the pair forms, half a hem's gap, or what is asked for."""
    if pair.formed_radius_mm is not None:
        return pair.formed_radius_mm
    if bend.kind == "hem":
        return (bend.gap_mm or 0.0) / 2
    wanted = bend.radius_mm if bend.radius_mm is not None else part.section.radius_mm
    return wanted if wanted is not None else part.thickness_mm


def blank_of(part: Part, shop: Shop, radii_mm: Mapping[int, float]) -> Blank | None:
    """The blank with those radii by bend number; None where there is none."""
    if shop.measured.rows:
        raise ValueError("measured deductions are not judged here")
    try:
        pattern = lay_out(part, shop, radii_mm=radii_mm)
    except NoBlank:
        return None
    zones: dict[int, list[int]] = {}
    for index, zone in enumerate(pattern.zones):
        zones.setdefault(zone.bend, []).append(index)
    return Blank(
        flats_mm=tuple(pattern.flats_mm),
        zones_mm=tuple(zone.allowance.allowance_mm for zone in pattern.zones),
        turns_deg=tuple(zone.turn_deg if zone.toward else -zone.turn_deg for zone in pattern.zones),
        radii_mm=tuple(zone.inside_radius_mm for zone in pattern.zones),
        thickness_mm=pattern.thickness_mm,
        zones_of=tuple(tuple(own) for own in zones.values()),
    )


@dataclass(frozen=True)
class Swing:
    """An air bend by plane geometry: a circle under the nose, tangent to both wings, and they to the shoulders.

    Half turn a: the circle's centre stands ((r + t + rd) - V/2 sin a)/cos a - rd over the die's top.
    """

    opening_mm: float
    shoulder_mm: float
    thickness_mm: float
    radius_mm: float
    zone_mm: float
    half_deg: float

    def centre_mm(self, half_deg: float) -> float:
        """Height of the circle's centre."""
        a = math.radians(half_deg)
        outer = self.radius_mm + self.thickness_mm + self.shoulder_mm
        return (outer - self.opening_mm / 2 * math.sin(a)) / math.cos(a) - self.shoulder_mm

    def nose_mm(self, half_deg: float) -> float:
        """Height of the nose: it touches the inside of the arc from above."""
        return self.centre_mm(half_deg) - max(self.radius_mm, 0.0)

    def edge(self, half_deg: float) -> complex:
        """Where the wing in front begins: past the arc, and past what of the zone is still flat."""
        a, middle = math.radians(half_deg), self.radius_mm + self.thickness_mm / 2
        flat = self.zone_mm / 2 * (1 - half_deg / self.half_deg)
        end = complex(middle * math.sin(a), self.centre_mm(half_deg) - middle * math.cos(a))
        return end + flat * complex(math.cos(a), math.sin(a))
