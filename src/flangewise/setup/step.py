"""What the setter keys in, hit by hit, as frozen data; and the same as the contract writes it."""

from itertools import chain
from typing import Any, Literal

from flangewise.bend import FULL_FOLD_DEG, Spread
from flangewise.clearance import TiltedWay
from flangewise.findings import Finding
from flangewise.part import Face
from flangewise.punch_die import PunchDie, Station, segment_texts
from flangewise.records import dataclass
from flangewise.sequence import Datum, Hold
from flangewise.setup.ram import Crowned, OpenHeight, RamSpeed
from flangewise.setup.work import HitKind, PlannedHit
from flangewise.words import Phrase, say


@dataclass(frozen=True)
class Instruction:
    """What to do with the part, or with the tools, before a hit; `axis` for a turn-over only.

    `way`: the places of a way out, or in, that is tilted (empty for all else); the one in is read backward.
    """

    move: str
    axis: str | None
    words: Phrase
    way: TiltedWay = ()

    def as_json(self) -> dict[str, Any]:
        """The move with the contract's keys; the way after them where there is one."""
        places = {"way": [[each.across_mm, each.up_mm, each.tilt_deg] for each in self.way]} if self.way else {}
        return {"move": self.move, "axis": self.axis, "words": say(self.words), **places}


@dataclass(frozen=True)
class Stops:
    """Where the stops stand: X and R over the die's top (None: no stops), along the bed, and how far they retract."""

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
class RamSettings:
    """What the ram is set to; the angle under load is an included one, None without a model. `bow`: the crowning."""

    depth_mm: float | None
    bend_to_deg: float | None
    opening: OpenHeight
    slow_from_mm: float
    speed: RamSpeed
    bow: Crowned


@dataclass(frozen=True)
class SetupStep:
    """One hit with what is keyed in for it. Angles are included ones; heights are over the die's top.

    None stands for what no model answers or nothing measured. `gauged_bend` is the bend of the flange on the stops.
    `correction` is None for a hit made without stops and for the flattening of a hem, which corrects nothing.
    `gripped`: where a robot's gripper holds the part, None where it does not.
    """

    planned: PlannedHit
    moves: tuple[Instruction, ...]
    station: Station
    part_from_mm: float
    gauged_bend: int | None
    stops: Stops
    ram: RamSettings
    force_kn: float | None
    seconds_s: float
    spread: Spread | None
    correction: Correction | None = None
    gripped: Phrase | None = None

    @property
    def step(self) -> int:
        """The hit's number in the plan."""
        return self.planned.number

    @property
    def bends(self) -> tuple[int, ...]:
        """The bends it makes, as the contract lists them."""
        return self.planned.bends or (self.planned.bend.number,)

    @property
    def hit(self) -> HitKind:
        """What the stroke does."""
        return self.planned.kind

    @property
    def pair(self) -> PunchDie:
        """The pair that makes it."""
        return self.planned.pair

    @property
    def hold(self) -> Hold | None:
        """How the part lies before it."""
        return self.planned.step.hold

    @property
    def gauged_on(self) -> Datum | Literal["edge"] | None:
        """What the stops touch; None for a hit made without stops."""
        gauged = self.planned.step.gauged
        return None if gauged is None else gauged.on

    @property
    def marked_face(self) -> Face:
        """How the marked face lies."""
        return "up" if self.planned.step.marked_up else "down"

    @property
    def finished_deg(self) -> float:
        """The angle the hit leaves."""
        return FULL_FOLD_DEG - self.planned.finished_turn_deg

    @property
    def wishes_s(self) -> tuple[tuple[str, float], ...]:
        """What the hit costs for wishes, by name, in seconds."""
        return () if self.planned.is_second else self.planned.step.wishes_s

    @property
    def deg_per_mm(self) -> float | None:
        """What a millimetre of depth changes the finished angle by."""
        return self.pair.deg_per_mm

    @property
    def mm_per_deg(self) -> float | None:
        """Depth for one degree of the finished angle."""
        return 1 / self.deg_per_mm if self.deg_per_mm else None

    def as_json(self) -> dict[str, Any]:
        """The step with the contract's keys, and what else a script may want after them."""
        ram, spread, tools = self.ram, self.spread, self.pair.tools
        return {
            "step": self.step,
            "bends": list(self.bends),
            "marked_face": self.marked_face,
            "gauged_on": {"on": self.gauged_on, "bend": self.gauged_bend},
            "moves": [move.as_json() for move in self.moves],
            "punch": tools.punch_name or "",
            "punch_turned": self.planned.mounting.turned,
            "die": tools.die_name or "",
            "stations": [station_json(self.station)],
            "stops": {**vars(self.stops), "z_mm": list(self.stops.z_mm)},
            "force_kn": self.force_kn,
            "depth_mm": ram.depth_mm,
            "bend_to_deg": ram.bend_to_deg,
            "finished_deg": self.finished_deg,
            "open_height_mm": ram.opening.open_height_mm,
            "open_height_reason": say(ram.opening.reason),
            "slow_from_mm": ram.slow_from_mm,
            "ram_speed_mm_per_s": ram.speed.ram_speed_mm_per_s,
            "crowning_mm": ram.bow.crowning_mm,
            "clearance_mm": self.planned.step.clearance_mm,
            "seconds": self.seconds_s,
            "hold": hold_json(self.hold),
            "hit": self.hit,
            "deg_per_mm": self.deg_per_mm,
            "mm_per_deg": self.mm_per_deg,
            "spread_deg": None if spread is None else spread.first_piece_deg,
            "spread_measured_deg": None if spread is None else spread.thickness_measured_deg,
            "spread_corrected_deg": None if spread is None else spread.after_one_deg,
            "spread_cause": None if spread is None else spread.cause,
            "tolerance_deg": self.planned.tolerance_deg,
            "tip_speed_mm_per_s": ram.speed.tip_speed_mm_per_s,
            "mean_opening_mm": ram.bow.mean_opening_mm,
            "correction": None if self.correction is None else self.correction.as_json(),
        }


def hold_json(hold: Hold | None) -> dict[str, Any] | None:
    """How the part is held, with the contract's keys; to which side it tips after them."""
    keys = ("front_mm", "front_kg", "behind_kg", "moment_nm", "by", "tips")
    return None if hold is None else {**{key: getattr(hold, key) for key in keys}, "kept": hold.breach == 0}


def station_json(station: Station) -> dict[str, Any]:
    """A station with the contract's keys for its punch, and the die's segments after them."""
    return {
        "from_mm": station.from_mm,
        "to_mm": station.to_mm,
        "segments": list(segment_texts(station.segments)),
        "die_from_mm": station.die_from_mm,
        "die_to_mm": station.die_to_mm,
        "die_segments": list(segment_texts(station.die_segments)),
        "set_up": station.set_up,
    }


@dataclass(frozen=True)
class Setup:
    """All hits of a part, the stations on the bed, what is counted, and what the user must know.

    `set_up_s` is shared over `quantity` parts, `loose_s` the price of legs whose tolerance the gauging does not hold.
    `regrips` is None where a robot holds the part: its grips are not looked at here.
    """

    steps: tuple[SetupStep, ...]
    stations: tuple[Station, ...]
    regrips: int | None
    cycle_s: float
    set_up_s: float
    quantity: int
    loose_s: float
    findings: tuple[Finding, ...]

    def count(self, move: str) -> int:
        """How often a move is made for a part."""
        return sum(each.move == move for step in self.steps for each in step.moves)

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
            "turn_overs": self.count("turn-over"),
            "turns": self.count("turn-in-plane"),
            "regrips": self.regrips,
            "tool_changes": self.count("tool-change"),
            "cycle_s": self.cycle_s,
            "set_up_s": self.set_up_s,
            "quantity": self.quantity,
            "wishes": [{"wish": name, "seconds": seconds} for name, seconds in self.wishes_s],
        }
