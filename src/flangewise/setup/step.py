"""What the setter keys in, hit by hit, as frozen data; and the same as the contract writes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Literal

from flangewise.bend import Spread
from flangewise.findings import Finding
from flangewise.punch_die import PunchDie, Station
from flangewise.sequence import Hold, Step
from flangewise.words import Phrase, say

HitKind = Literal["bend", "pre-bend", "flatten", "offset"]
Outline = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Chosen:
    """One step of the order with the tools taken for it, one pair a hit.

    `swing_mm` is the farthest the part reaches from the bend line, for the speed of the rising leg;
    `tolerance_deg` what the drawing allows the angle, plus and minus, None where that is not looked at.
    """

    step: Step
    bends: tuple[int, ...]
    pairs: tuple[PunchDie, ...]
    turned: bool
    finished_turn_deg: float
    swing_mm: float
    tolerance_deg: float | None = None


@dataclass(frozen=True)
class Move:
    """What to do with the part, or with the tools, before a hit; `axis` for a turn-over only."""

    move: str
    axis: str | None
    words: Phrase


@dataclass(frozen=True)
class Stops:
    """Where the stops stand: depth from the die's centre plane, height over the die's top, places along the bed.

    `x_mm` and `r_mm` are None for a hit made without stops. `retract_mm` is how far they go back after the pinch.
    """

    x_mm: float | None
    r_mm: float | None
    z_mm: tuple[float, ...]
    retract_mm: float


@dataclass(frozen=True)
class Correction:
    """What a change of X does at one hit: the leg that comes out with it, as the drawing sizes it, and the others.

    `x_per_mm` is what to add to X for each mm that the leg is too long; `legs_per_mm` what every leg grows by for one
    more on X. The leg can be read after step `read_after`, when its other end is bent and a hem at it flattened.
    `plus_minus_mm` is what the leg is allowed, None where nothing says so.
    """

    leg: int
    nominal_mm: float
    plus_minus_mm: float | None
    x_per_mm: float
    legs_per_mm: tuple[float, ...]
    read_after: int

    @property
    def also(self) -> tuple[tuple[int, float], ...]:
        """The other legs that one more on X changes, and by how much."""
        return tuple((leg, rate) for leg, rate in enumerate(self.legs_per_mm, start=1) if rate and leg != self.leg)

    def as_json(self) -> dict[str, Any]:
        """The correction as a script reads it."""
        return {**vars(self), "legs_per_mm": list(self.legs_per_mm)}


@dataclass(frozen=True)
class SetupStep:
    """One hit. Angles to bend to and finished are included ones; heights are over the die's top.

    None stands for what no model answers: an angle and a depth rate for hems and offsets, a clearance that was not
    measured. `spread_deg` is the expected half width of the angle (95 %) at first, `spread_measured_deg` with the
    thickness measured and `spread_corrected_deg` after one correction; `spread_cause` is what most of it comes from, as
    the catalogue names it, and `tolerance_deg` what the part allows. `correction` is None for a hit made without stops
    and for the flattening of a hem, which corrects nothing.
    """

    step: int
    bends: tuple[int, ...]
    hit: HitKind
    marked_face: Literal["up", "down"]
    gauged_on: Literal["start", "end", "flange"] | None
    gauged_bend: int | None
    moves: tuple[Move, ...]
    pair: PunchDie
    punch: str
    punch_turned: bool
    die: str
    stations: tuple[Station, ...]
    part_from_mm: float
    stops: Stops
    force_kn: float | None
    depth_mm: float | None
    bend_to_deg: float | None
    finished_deg: float
    open_height_mm: float
    open_height_reason: Phrase
    slow_from_mm: float
    ram_speed_mm_per_s: float
    tip_speed_mm_per_s: float | None
    crowning_mm: float | None
    mean_opening_mm: float | None
    clearance_mm: float | None
    seconds_s: float
    deg_per_mm: float | None
    spread_deg: float | None
    spread_measured_deg: float | None
    spread_corrected_deg: float | None
    hold: Hold | None
    wishes_s: tuple[tuple[str, float], ...]
    before_mm: Outline
    after_mm: Outline
    spread_cause: str | None = None
    tolerance_deg: float | None = None
    correction: Correction | None = None

    def with_spread(self, spread: Spread | None) -> SetupStep:
        """The step with its expected scatter; None leaves it untold."""
        if spread is None:
            return self
        return replace(
            self,
            spread_deg=spread.first_piece_deg,
            spread_measured_deg=spread.thickness_measured_deg,
            spread_corrected_deg=spread.after_one_deg,
            spread_cause=spread.cause,
        )

    @property
    def mm_per_deg(self) -> float | None:
        """Depth for one degree of the finished angle."""
        return 1 / self.deg_per_mm if self.deg_per_mm else None

    def as_json(self, lang: str = "en") -> dict[str, Any]:
        """The step with the contract's keys, and what else a script may want after them."""
        return {
            "step": self.step,
            "bends": list(self.bends),
            "marked_face": self.marked_face,
            "gauged_on": {"on": self.gauged_on, "bend": self.gauged_bend},
            "moves": [{"move": m.move, "axis": m.axis, "words": say(m.words, lang)} for m in self.moves],
            "punch": self.punch,
            "punch_turned": self.punch_turned,
            "die": self.die,
            "stations": [station_json(station) for station in self.stations],
            "stops": {
                "x_mm": self.stops.x_mm,
                "r_mm": self.stops.r_mm,
                "z_mm": list(self.stops.z_mm),
                "retract_mm": self.stops.retract_mm,
            },
            "force_kn": self.force_kn,
            "depth_mm": self.depth_mm,
            "bend_to_deg": self.bend_to_deg,
            "finished_deg": self.finished_deg,
            "open_height_mm": self.open_height_mm,
            "open_height_reason": say(self.open_height_reason, lang),
            "slow_from_mm": self.slow_from_mm,
            "ram_speed_mm_per_s": self.ram_speed_mm_per_s,
            "crowning_mm": self.crowning_mm,
            "clearance_mm": self.clearance_mm,
            "seconds": self.seconds_s,
            "hold": hold_json(self.hold),
            **self._more(),
        }

    def _more(self) -> dict[str, Any]:
        return {
            "hit": self.hit,
            "deg_per_mm": self.deg_per_mm,
            "mm_per_deg": self.mm_per_deg,
            "spread_deg": self.spread_deg,
            "spread_measured_deg": self.spread_measured_deg,
            "spread_corrected_deg": self.spread_corrected_deg,
            "spread_cause": self.spread_cause,
            "tolerance_deg": self.tolerance_deg,
            "tip_speed_mm_per_s": self.tip_speed_mm_per_s,
            "mean_opening_mm": self.mean_opening_mm,
            "correction": None if self.correction is None else self.correction.as_json(),
        }


def hold_json(hold: Hold | None) -> dict[str, Any] | None:
    """How the part is held, with the contract's keys; to which side it tips after them."""
    if hold is None:
        return None
    return {
        "front_mm": hold.front_mm,
        "front_kg": hold.front_kg,
        "behind_kg": hold.behind_kg,
        "moment_nm": hold.moment_nm,
        "by": hold.by,
        "tips": hold.tips,
        "kept": hold.breach == 0,
    }


def station_json(station: Station) -> dict[str, Any]:
    """A station with the contract's keys for its punch, and the die's segments after them."""
    return {
        "from_mm": station.from_mm,
        "to_mm": station.to_mm,
        "segments": [segment.text for segment in station.segments],
        "die_from_mm": station.die_from_mm,
        "die_to_mm": station.die_to_mm,
        "die_segments": [segment.text for segment in station.die_segments],
        "set_up": station.set_up,
    }


@dataclass(frozen=True)
class Setup:
    """All hits of a part, the stations on the bed, what is counted, and what the user must know.

    `set_up_s` are the seconds of the set-up, shared over `quantity` parts, `loose_s` the price of legs whose
    tolerance the gauging does not hold. `regrips` is None where a robot holds the
    part: its grips are not looked at here.
    """

    steps: tuple[SetupStep, ...]
    stations: tuple[Station, ...]
    turn_overs: int
    turns: int
    regrips: int | None
    tool_changes: int
    cycle_s: float
    set_up_s: float
    quantity: int
    loose_s: float
    findings: tuple[Finding, ...]

    @property
    def wishes_s(self) -> tuple[tuple[str, float], ...]:
        """What the plan costs for wishes that take no time, by name, in seconds a part."""
        found: dict[str, float] = {}
        loose = (("tolerance", self.loose_s),) if self.loose_s else ()
        for name, seconds in chain(chain.from_iterable(step.wishes_s for step in self.steps), loose):
            found[name] = found.get(name, 0.0) + seconds
        return tuple(found.items())

    @property
    def cost_s(self) -> float:
        """What a part costs: its cycle, its share of the set-up, and the wishes."""
        return self.cycle_s + self.set_up_s / self.quantity + sum(seconds for _, seconds in self.wishes_s)

    def totals_json(self) -> dict[str, Any]:
        """The totals with the contract's keys."""
        return {
            "turn_overs": self.turn_overs,
            "turns": self.turns,
            "regrips": self.regrips,
            "tool_changes": self.tool_changes,
            "cycle_s": self.cycle_s,
            "set_up_s": self.set_up_s,
            "quantity": self.quantity,
            "wishes": [{"wish": name, "seconds": seconds} for name, seconds in self.wishes_s],
        }
