"""Distances for the layout of a robot's cell, reckoned from what was entered: formula, edition and inputs with each.

Nothing here has a value of its own but what a standard's formula itself fixes. Where an input was not entered the
distance is not computed, and what is missing is told. No distance is a verdict.

Sources: ISO 13855:2010 6.3 and ISO 13855:2024 clause 5 (separation for a person who walks in, parallel to the floor),
ISO/TS 15066:2016 5.5.4 as Marvel and Norcross, NIST, write it out (speed and separation); all from excerpts, part from
memory: the standard itself is to be read. Two zones: kinematics.
"""

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from flangewise.records import dataclass, replace
from flangewise.shop import Cell
from flangewise.units import trimmed

# The walking speed of the formula, fixed by it.
WALKING_MM_PER_S = 1600.0
# C = 1200 - 0.4 H, at least 850, for a field at most 1000 over the floor; ISO 13855:2010, 6.3.
REACH_MM, REACH_A_HEIGHT, LEAST_REACH_MM, HIGHEST_FIELD_MM = 1200.0, 0.4, 850.0, 1000.0
# The lowest field for a resolution d: 15 (d - 50); ISO 13855:2010, 6.3.
LOWEST_FIELD_A_MM, LOWEST_FIELD_FROM_MM = 15.0, 50.0

# A field higher than this may be crawled under; from memory.
CRAWLED_UNDER_MM = 300.0

BY_2010, BY_2024 = "ISO 13855:2010, 6.3", "ISO 13855:2024, 5"
BY_SPEED = "ISO/TS 15066:2016, 5.5.4; ISO 10218-2:2025"
BY_WAY = "kinematics"

Entered = float | str | bool | None
Inputs = tuple[tuple[str, Entered], ...]


@dataclass(frozen=True)
class Distance:
    """One distance: its name, formula, source, the inputs by name, and the result; None where an input is missing.

    `terms`: what the letters of the formula come to.
    """

    code: str
    formula: str
    source: str
    inputs: Inputs
    distance_mm: float | None
    missing: tuple[str, ...] = ()
    terms: tuple[tuple[str, float], ...] = ()

    @property
    def told_terms(self) -> str:
        """What the letters of the formula come to."""
        return entered((bare(name), value) for name, value in self.terms)

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "inputs": dict(self.inputs), "terms": dict(self.terms), "missing": list(self.missing)}


def entered(values: Iterable[tuple[str, Entered]]) -> str:
    """Values with their names as a row of the shop has them; those that were not entered are left out."""
    return ", ".join(f"{name} {_written(value)}" for name, value in values if value is not None)


def _written(value: Entered) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return trimmed(value, 3) if isinstance(value, (int, float)) else str(value)


class _Formula(NamedTuple):
    """What a distance is called, how it is reckoned, and after what."""

    code: str
    formula: str
    source: str


def intrusion_mm(field_height_mm: float) -> float | None:
    """How far a person reaches over a field so high: 1200 - 0.4 H, at least 850; None over 1000, where none is given.

    >>> intrusion_mm(200.0), intrusion_mm(875.0), intrusion_mm(1200.0)
    (1120.0, 850.0, None)
    """
    if field_height_mm > HIGHEST_FIELD_MM:
        return None
    return max(LEAST_REACH_MM, REACH_MM - REACH_A_HEIGHT * field_height_mm)


def lowest_field_mm(resolution_mm: float) -> float:
    """How low a field of that resolution may lie: 15 (d - 50), not under the floor.

    >>> lowest_field_mm(70.0), lowest_field_mm(63.0)
    (300.0, 195.0)
    """
    return max(0.0, LOWEST_FIELD_A_MM * (resolution_mm - LOWEST_FIELD_FROM_MM))


def walking_in_mm(overall_s: float, *, intrusion_mm: float, supplement_mm: float = 0.0) -> float:
    """S = K T + C + Z with K = 1600 mm/s; of the 2024 edition C is D_DS.

    >>> walking_in_mm(0.5, intrusion_mm=1120.0)
    1920.0
    """
    return WALKING_MM_PER_S * overall_s + intrusion_mm + supplement_mm


@dataclass(frozen=True)
class Approach:
    """Person and robot toward each other: speed of the robot, reaction and stopping times, what is added.

    `evenly`: the robot slows down evenly, so that it goes half as far as at its speed while it stops.
    """

    speed_mm_per_s: float
    reaction_s: float
    stop_time_s: float
    evenly: bool
    intrusion_mm: float
    person_place_mm: float
    robot_place_mm: float

    @property
    def distance_mm(self) -> float:
        """Sp = v_h (T_r + T_s) + v_r T_r + S_s + C + Z_d + Z_r; S_s = v_r T_s, or half of it where it stops evenly."""
        person_mm = WALKING_MM_PER_S * (self.reaction_s + self.stop_time_s)
        robot_mm = self.speed_mm_per_s * self.reaction_s
        stopping_mm = self.speed_mm_per_s * self.stop_time_s * (0.5 if self.evenly else 1.0)
        return person_mm + robot_mm + stopping_mm + self.intrusion_mm + self.person_place_mm + self.robot_place_mm


def slow_zone_mm(
    stop_zone_mm: float, full_mm: float, *, sensor_s: float, slow_down_s: float, margin_mm: float
) -> float:
    """Where the slow zone begins: the way a person walks until the robot is slow, before the stop zone.

    Never nearer than the distance at full speed, or full speed would go on too close.

    >>> round(slow_zone_mm(1622, 2000, sensor_s=0.1, slow_down_s=0.4, margin_mm=0), 1)
    2422.0
    """
    walked_mm = WALKING_MM_PER_S * (sensor_s + slow_down_s)
    return max(stop_zone_mm + walked_mm + margin_mm, full_mm)


class _Given:
    """What was entered, by its key; what was asked for and is not there is remembered."""

    def __init__(self, cell: Cell | None) -> None:
        blocks = () if cell is None else (cell.stopping, cell.watched, cell.entering, cell)
        self._values = {key: value for block in blocks for key, value in vars(block).items()}
        self.asked: dict[str, float | str | bool | None] = {}

    def number(self, key: str) -> float:
        """A number, 0 where it is missing: what comes of it is then not told."""
        value = self.said(key)
        return float(value) if isinstance(value, (int, float)) else 0.0

    def said(self, key: str) -> float | str | bool | None:
        """A value as it was entered."""
        self.asked[key] = self._values.get(key)
        return self.asked[key]

    def missing(self) -> tuple[str, ...]:
        return tuple(bare(key) for key, value in self.asked.items() if value is None)


def bare(key: str) -> str:
    """A key without the unit at its end, as it is told: stop_time_s is stop_time."""
    for ending in ("_mm_per_s", "_mm", "_min", "_s", "_kg"):
        if key.endswith(ending):
            return key.removesuffix(ending)
    return key


def distances(cell: Cell | None) -> tuple[Distance, ...]:
    """All distances of a cell, each computed as far as its own inputs were entered."""
    slow, full = _approach(cell, "slow_"), _approach(cell, "")
    stop = _stop_zone(cell, slow, full)
    return (
        _walking_2010(cell),
        _walking_2024(cell),
        full,
        slow,
        stop,
        _slow_zone(cell, stop, full),
        _at_box(cell, stop),
    )


def _told(
    given: _Given, formula: _Formula, distance_mm: float | None, also: tuple[str, ...] = (), **terms: float
) -> Distance:
    missing = tuple(dict.fromkeys((*given.missing(), *also)))
    found = Distance(*formula, tuple(given.asked.items()), None, missing)
    return found if missing else replace(found, distance_mm=distance_mm, terms=tuple(terms.items()))


def _overall_s(given: _Given, *, stop: str = "stop_time_s") -> float:
    """Sensor, control and stop together; and where the base is mobile, until the fields have switched."""
    return _reaction_s(given) + given.number(stop)


def _reaction_s(given: _Given) -> float:
    reaction_s = given.number("sensor_s") + given.number("control_s")
    return reaction_s + (given.number("field_switch_s") if given.said("mobile") else 0.0)


def _reach(given: _Given) -> tuple[float, tuple[str, ...]]:
    """C for the field's height; over 1000 the formula has none, which is told as what is missing."""
    found_mm = intrusion_mm(given.number("field_height_mm"))
    return (0.0, ("field_height to 1000",)) if found_mm is None else (found_mm, ())


def _walking_2010(cell: Cell | None) -> Distance:
    given = _Given(cell)
    overall_s, (reach_mm, over) = _overall_s(given), _reach(given)
    height_mm, supplement_mm = given.number("field_height_mm"), given.number("supplement_mm")
    distance_mm = walking_in_mm(overall_s, intrusion_mm=reach_mm, supplement_mm=supplement_mm)
    formula = _Formula("walking-2010", "S = 1600 T + max(850, 1200 - 0.4 H) + Z", BY_2010)
    return _told(given, formula, distance_mm, over, T_s=overall_s, H_mm=height_mm, Z_mm=supplement_mm)


def _walking_2024(cell: Cell | None) -> Distance:
    given = _Given(cell)
    overall_s, reach_mm = _overall_s(given), given.number("reach_over_mm")
    supplement_mm = given.number("supplement_mm")
    distance_mm = walking_in_mm(overall_s, intrusion_mm=reach_mm, supplement_mm=supplement_mm)
    formula = _Formula("walking-2024", "S = 1600 T + D_DS + Z", BY_2024)
    return _told(given, formula, distance_mm, T_s=overall_s, D_DS_mm=reach_mm, Z_mm=supplement_mm)


def _approach(cell: Cell | None, which: str) -> Distance:
    given = _Given(cell)
    reaction_s, (reach_mm, over) = _reaction_s(given), _reach(given)
    found = Approach(
        given.number(f"{which}speed_mm_per_s"),
        reaction_s,
        given.number(f"{which}stop_time_s"),
        given.said("stops") == "evenly",
        reach_mm,
        given.number("person_place_mm"),
        given.number("robot_place_mm"),
    )
    way = "Sp = 1600 (Tr + Ts) + v Tr + v Ts" + (" / 2" if found.evenly else "") + " + C + Zd + Zr"
    formula = _Formula("separation-slow" if which else "separation-full", way, BY_SPEED)
    places = {"Zd_mm": found.person_place_mm, "Zr_mm": found.robot_place_mm}
    terms = {"Tr_s": reaction_s, "Ts_s": found.stop_time_s, "v_mm_per_s": found.speed_mm_per_s, "C_mm": reach_mm}
    return _told(given, formula, found.distance_mm, over, **terms, **places)


def _stop_zone(cell: Cell | None, slow: Distance, full: Distance) -> Distance:
    """The distance at slow speed only where slow speed is monitored by a rated function, else that at full speed."""
    given = _Given(cell)
    taken = slow if given.said("slow_speed_monitored") else full
    also = taken.missing if given.asked["slow_speed_monitored"] is not None else (*slow.missing, *full.missing)
    way = "Sp at slow speed" if taken is slow else "Sp at full speed"
    return _told(given, _Formula("stop-zone", way, taken.source), taken.distance_mm, also)


def _slow_zone(cell: Cell | None, stop: Distance, full: Distance) -> Distance:
    given = _Given(cell)
    stop_mm, full_mm = stop.distance_mm or 0.0, full.distance_mm or 0.0
    sensor_s, slow_s = given.number("sensor_s"), given.number("slow_down_s")
    margin_mm = given.number("between_fields_mm")
    found_mm = slow_zone_mm(stop_mm, full_mm, sensor_s=sensor_s, slow_down_s=slow_s, margin_mm=margin_mm)
    way = "max(S_stop + 1600 (T_sensor + T_slow) + margin, Sp at full speed)"
    terms = {"S_stop_mm": stop_mm, "T_sensor_s": sensor_s, "T_slow_s": slow_s, "margin_mm": margin_mm, "Sp_mm": full_mm}
    return _told(given, _Formula("slow-zone", way, BY_WAY), found_mm, (*stop.missing, *full.missing), **terms)


def _at_box(cell: Cell | None, stop: Distance) -> Distance:
    """What the stop zone asks for at the place of the box, less what was entered: over 0 it lies within the zone."""
    given = _Given(cell)
    stop_mm, box_mm = stop.distance_mm or 0.0, given.number("box_place_mm")
    formula = _Formula("box-change", "S_stop - distance of the box from the swept part", BY_WAY)
    return _told(given, formula, stop_mm - box_mm, stop.missing, S_stop_mm=stop_mm, box_mm=box_mm)


def stated(cell: Cell | None) -> Inputs:
    """What must be said of the cell besides, each as it was entered; None where it was not.

    How the robot starts again after slow and after stop, and whether a person can stand undetected between field and
    arm.
    """
    given = _Given(cell)
    for key in ("restart_from_slow", "restart_from_stop", "undetected_person", "mobile"):
        given.said(key)
    return tuple(given.asked.items())


def questions(cell: Cell | None) -> Iterator[str]:
    """What is to be asked of the risk assessment because of what was entered, by code."""
    given = _Given(cell)
    if given.said("restart_from_stop") == "automatic" and given.said("undetected_person") == "possible":
        yield "restart-unseen"
    height, resolution = given.said("field_height_mm"), given.said("resolution_mm")
    if isinstance(height, float) and isinstance(resolution, float) and height < lowest_field_mm(resolution):
        yield "field-low"
    if isinstance(height, float) and height > CRAWLED_UNDER_MM:
        yield "field-high"
    if given.said("slow_speed_monitored") is False:
        yield "slow-not-monitored"


@dataclass(frozen=True)
class Lost:
    """What people who come in cost: seconds an entry and minutes an hour, an estimate of output and nothing else.

    Lost is r t (1 - k): r entries an hour, t the seconds slow, k slow speed over full speed.
    """

    each_s: float | None
    an_hour_min: float | None
    missing: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "missing": list(self.missing)}


def lost(cell: Cell | None) -> Lost:
    """The time lost to entries, from how often one comes, how long it is slow, and both speeds."""
    given = _Given(cell)
    full, slow = given.number("speed_mm_per_s"), given.number("slow_speed_mm_per_s")
    each_s, every_min = given.number("slow_each_s"), given.number("entry_every_min")
    if given.missing():
        return Lost(None, None, given.missing())
    lost_s = each_s * max(0.0, 1 - slow / full)
    return Lost(lost_s, lost_s / every_min, ())
