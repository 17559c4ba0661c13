"""What a bend asks of its tools, the tools there are to choose from, and one punch on one die, judged for one bend."""

from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import Literal

from flangewise.bend import AirBend, BendSetup, Learned, Swift
from flangewise.findings import Finding, place, refused
from flangewise.geometry import Outline
from flangewise.part import WantedBend
from flangewise.records import altered, dataclass, field
from flangewise.shop import Die, Grain, Machine, Material, Punch, Segment, Shop
from flangewise.words import Phrase


@dataclass(frozen=True)
class Ideal:
    """A nose in place of a punch, an opening in place of a die (None: the shop's own), of no angle, load or body."""

    nose_radius_mm: float | None = None
    opening_mm: float | None = None
    shoulder_radius_mm: float = 0.0


@dataclass(frozen=True)
class BendWish(WantedBend):
    """A bend as it is asked of the tools: what is wanted of it, its number 0 where it is of no part, and what is known.

    `legs_mm` are the outside legs beside it, `length_mm` is along the bend, each None where not known. `bed_offset_mm`
    is how far from the middle of the bed it is bent. `rule` and `k_factor` make the least leg's deduction.
    `every_die`: also of dies that are not worth a try as long as others do.
    """

    gap_mm: float = 0.0
    legs_mm: tuple[float | None, float | None] = (None, None)
    length_mm: float | None = None
    bed_offset_mm: float = 0.0
    ideal: Ideal = Ideal()
    rule: str = "din-6935"
    every_die: bool = False

    @property
    def where(self) -> Phrase | None:
        """The bend as a finding names it; None for a bend without a number."""
        return place("bend", self.number) if self.number else None


@dataclass(frozen=True)
class Stock:
    """What is bent; `grain` along is parallel to the bend line, the bad way; the last two are as in `Learned`."""

    material: Material
    thickness_mm: float
    grain: Grain = "any"
    friction: float | None = None
    springback_log: float = 0.0
    depth_offset_mm: float = 0.0


@dataclass(frozen=True)
class Tooling:
    """The tools to choose from and the machine they go into; without a machine its limits are not checked.

    Tools may be `end_short_mm` shorter than the bend in all.
    """

    punches: tuple[Punch, ...] = field(repr=False)
    dies: tuple[Die, ...] = field(repr=False)
    machine: Machine | None = None
    overbend_margin_deg: float = 1.0
    concentrated_share: float = 0.6
    end_short_mm: float = 0.0

    def __hash__(self) -> int:
        # Looked up by few figures, quicker than by all.
        return hash((len(self.punches), len(self.dies), self.machine))

    @classmethod
    def of(cls, shop: Shop, machine: Machine | None) -> "Tooling":
        """All the tools of a shop, with its margins."""
        return cls(
            punches=tuple(shop.punches.values()),
            dies=tuple(shop.dies.values()),
            machine=machine,
            overbend_margin_deg=shop.defaults.overbend_margin_deg,
            concentrated_share=shop.defaults.concentrated_share,
            end_short_mm=shop.defaults.end_short_mm,
        )


PairKind = Literal["bend", "flatten", "offset"]


@dataclass(frozen=True)
class Pair:
    """A punch and a die as numbers, before anything is bent with them.

    `punch` or `die` is None for an ideal tool. Radii and opening are None for a flattener and for offset tools.
    """

    punch: Punch | None
    die: Die | None
    kind: PairKind
    nose_radius_mm: float | None = None
    opening_mm: float | None = None
    shoulder_radius_mm: float | None = None

    @property
    def punch_name(self) -> str | None:
        """The punch's name in the shop; None for an ideal nose."""
        return self.punch.name if self.punch is not None else None

    @property
    def die_name(self) -> str | None:
        """The die's name in the shop; None for an ideal opening."""
        return self.die.name if self.die is not None else None

    @cached_property
    def name(self) -> str:
        """Both names, unique for the pair."""
        return f"{self.punch_name or 'ideal nose'} on {self.die_name or 'ideal opening'}"

    @property
    def named_opening_mm(self) -> float | None:
        """What is stamped on the die; an ideal opening is its own name."""
        return self.die.named_opening_mm if self.die is not None else self.opening_mm

    @property
    def punch_segments(self) -> Sequence[Segment]:
        """The segments the punch is held in."""
        return self.punch.segments if self.punch is not None else ()

    @property
    def die_segments(self) -> Sequence[Segment]:
        """The segments the die is held in."""
        return self.die.segments if self.die is not None else ()

    @property
    def shut_height_mm(self) -> float:
        """Punch and die one on the other; 0 for ideal tools."""
        return sum(tool.height_mm for tool in (self.punch, self.die) if tool is not None)


@dataclass(frozen=True)
class Model:
    """What the bend model was asked with, for whoever asks it further: a stroke, a speed, a scatter."""

    setup: BendSetup
    swift: Swift
    learned: Learned


@dataclass(frozen=True)
class PunchDie:
    """A pair offered for one bend: what it does to the sheet, what speaks against it, and its rank.

    `air` is the model's answer, `turn_deg` what the hit finishes at. Numbers are None where no model answers:
    flatteners and offset tools have forces and a depth only. `least_leg_mm` carries the margin below which a leg may
    slip, `hard_leg_mm` is where it falls into the opening. `formed_radius_mm` makes the blank. `then` is the
    second hit of a hem.
    """

    tools: Pair
    kind: Literal["bend", "hem", "flatten", "offset"]
    air: AirBend | None = None
    model: Model | None = field(default=None, repr=False)
    turn_deg: float | None = None
    formed_radius_mm: float | None = None
    loaded_turn_deg: float | None = None
    depth_mm: float | None = None
    deg_per_mm: float | None = None
    limit_force_kn_per_m: float | None = None
    force_from: str | None = None
    least_leg_mm: float | None = None
    hard_leg_mm: float | None = None
    findings: tuple[Finding, ...] = ()
    cost: float = 0.0
    then: "PunchDie | None" = None

    def __hash__(self) -> int:
        # Looked up by few figures, quicker than by all.
        return hash((self.tools.name, self.turn_deg, self.depth_mm))

    @cached_property
    def refused(self) -> bool:
        """Whether something forbids the pair, in its own hit or the one that follows."""
        return refused(self.findings) or (self.then is not None and self.then.refused)

    def force_kn(self, length_mm: float | None) -> float | None:
        """The limit force over a length; None without one."""
        per_m = self.limit_force_kn_per_m
        return None if per_m is None or length_mm is None else per_m * length_mm / 1000

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """Findings of this hit and of the one that follows."""
        return (*self.findings, *(self.then.all_findings if self.then is not None else ()))

    def at(self, where: Phrase) -> "PunchDie":
        """The same offer for a bend in its place: its findings are told there, but those of the tools themselves."""
        if not self.findings and self.then is None:
            return self
        findings = tuple(each if each.where is not None else altered(each, where=where) for each in self.findings)
        return altered(self, findings=findings, then=None if self.then is None else self.then.at(where))

    @cached_property
    def untold(self) -> "PunchDie":
        """The same offer for any bend, with no findings, so one for all that are offered the same."""
        then = None if self.then is None else self.then.untold
        return self if not self.findings and then is self.then else altered(self, findings=(), then=then)

    @property
    def has_two_ways(self) -> bool:
        """Whether it makes a difference to set the punch turned."""
        punch = self.tools.punch
        if punch is None:
            return False
        return self.kind == "offset" or _is_one_sided(punch)

    @property
    def is_set_back(self) -> bool:
        """Whether the punch has a neck, which lowers what it carries; of bending tools only."""
        return self.tools.opening_mm is not None and self.has_two_ways

    @property
    def radius_from(self) -> Literal["die", "punch"] | None:
        """What set the formed radius: the opening, or the nose where the sheet lies round it."""
        if self.formed_radius_mm is None:
            return None
        return "punch" if self.air is not None and self.air.wrapped else "die"


@lru_cache(maxsize=512)
def _is_one_sided(punch: Punch) -> bool:
    return _corners(punch.outline_mm) != _corners(punch.outline_turned)


def _corners(outline: Outline) -> frozenset[tuple[float, float]]:
    return frozenset((round(across, 6) + 0.0, round(up, 6) + 0.0) for across, up in outline.points_mm)


@dataclass(frozen=True)
class Mounting:
    """A pair as it is put in: its punch the usual way round, or turned; an offset pair is turned as a pair."""

    pair: PunchDie
    turned: bool = False

    @property
    def name(self) -> str:
        """Unique for the pair and the way it is put in."""
        return f"{self.pair.tools.name}{' turned' if self.turned else ''}"

    @property
    def untold(self) -> "Mounting":
        """The same with no findings."""
        return self if self.pair.untold is self.pair else Mounting(self.pair.untold, self.turned)

    @property
    def numbered(self) -> tuple[tuple[int, "Mounting"], ...]:
        """The hits that make the bend, numbered from 0: the pair's own, and of a hem the flattening after it."""
        then = self.pair.then
        return ((0, self),) if then is None else ((0, self), (1, Mounting(then)))
