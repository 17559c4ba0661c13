"""What is set up: the piece, what bends it, each stroke with its pair; tolerances are drawn, or else ISO 2768-1 m."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal

from flangewise.bend import angle_tolerance_deg, linear_tolerance_mm
from flangewise.findings import place
from flangewise.part import Part, WantedBend
from flangewise.punch_die import Mounting, PunchDie, Station
from flangewise.records import dataclass
from flangewise.sequence import Step
from flangewise.shop import Handler, Machine
from flangewise.words import Phrase

if TYPE_CHECKING:
    from flangewise.panel_order import PanelStep

HitKind = Literal["bend", "pre-bend", "flatten", "offset"]


@dataclass(frozen=True)
class Workpiece:
    """A part as it is handled, `tolerance_mm` the half width of its sheet's delivery (None: no scatter is told).

    `zone_bends` is the bend number of each zone of the section; left out, one zone a bend.
    """

    length_mm: float
    thickness_mm: float
    mass_kg: float = 0.0
    tolerance_mm: float | None = None
    zone_bends: tuple[int, ...] = ()

    def bend_of(self, zone: int | None) -> int | None:
        """The number of the bend that a zone of the section belongs to; None for no zone."""
        if zone is None:
            return None
        return self.zone_bends[zone] if self.zone_bends else zone + 1


@dataclass(frozen=True)
class WorkCentre:
    """What bends the part: `gap_mm` between stations, tools up to `short_mm` short, `quantity` parts a set-up."""

    machine: Machine
    handler: Handler
    gap_mm: float = 20.0
    quantity: int = 1
    short_mm: float = 0.0

    @property
    def shift_s(self) -> float:
        """Seconds a part to bring it to another station on the bed, besides taking it out and putting it in."""
        return (1 + self.handler.allowance_share) * self.handler.shift_s

    @property
    def anew_s(self) -> float:
        """Seconds to put a part down and fetch it again."""
        return self.handler.place_s + self.handler.pick_s + self.handler.square_s

    @property
    def anew_allowed_s(self) -> float:
        """The same with the handler's allowance."""
        return (1 + self.handler.allowance_share) * self.anew_s

    def has_room_beside(self, length_mm: float) -> bool:
        """Whether two stations for a part so long stand beside each other."""
        return 2 * length_mm + self.gap_mm <= self.machine.bed_length_mm

    def change_s(self, put_in: int, *, beside: bool) -> float:
        """The least a part that going to tools costs of which so many do not stand there, stations beside or not."""
        anew_s = self.anew_allowed_s + put_in * self.mount_s
        return min(self.shift_s + 2 * self.mount_s, anew_s) if beside else anew_s

    @property
    def mount_s(self) -> float:
        """A part's share of putting one punch or die into the machine."""
        return self.machine.mount_s / self.quantity


@dataclass(frozen=True)
class Work:
    """The piece, what bends it, and where the tools stand."""

    piece: Workpiece
    centre: WorkCentre
    stations: tuple[Station, ...]

    @property
    def machine(self) -> Machine:
        """The machine that bends it."""
        return self.centre.machine

    @property
    def handler(self) -> Handler:
        """Whoever tends the machine."""
        return self.centre.handler

    def station_of(self, mounting: Mounting) -> Station:
        """Where a pair stands."""
        return next(station for station in self.stations if station.carries(mounting))


@dataclass(frozen=True)
class PlannedHit:
    """One stroke: number in the plan, step, bend, pair, and what its angle is allowed (None: not looked at).

    `bends` are all that it makes, where it makes more than one.
    """

    number: int
    step: Step | PanelStep
    bend: WantedBend
    mounting: Mounting
    tolerance_deg: float | None = None
    is_second: bool = False
    bends: tuple[int, ...] = ()

    @property
    def of_section(self) -> Step:
        """The step of a section's order. Raises TypeError for a panel's."""
        if not isinstance(self.step, Step):
            raise TypeError("a step of a panel is none of a section")
        return self.step

    @property
    def pair(self) -> PunchDie:
        """The pair, whichever way round."""
        return self.mounting.pair

    @property
    def place(self) -> Phrase:
        """The step of the plan, as a finding names it."""
        return place("step", self.number)

    @property
    def kind(self) -> HitKind:
        """What the stroke does."""
        return "pre-bend" if self.pair.kind == "hem" else self.pair.kind

    @property
    def finished_turn_deg(self) -> float:
        """What the stroke leaves: of a pre-bend its own turn, else the bend's."""
        own = self.pair.turn_deg
        return own if self.kind == "pre-bend" and own is not None else self.bend.turn_deg


def planned_hits(part: Part, taken: Iterable[tuple[Step, Mounting]]) -> tuple[PlannedHit, ...]:
    """The strokes of an order, each with its bend of the part and its own pair: a hem is made in two."""
    bends = {bend.number: bend for bend in part.section.bends}
    strokes = ((step, bends[int(step.label)], nth, hit) for step, taken_by in taken for nth, hit in taken_by.numbered)
    return tuple(
        PlannedHit(number, step, bend, mounting, angle_tolerance(part, bend), is_second=nth > 0)
        for number, (step, bend, nth, mounting) in enumerate(strokes, start=1)
    )


def angle_tolerance(part: Part, bend: WantedBend) -> float | None:
    """What a bend's angle is allowed, plus and minus, in degrees; ISO 2768-1 m goes by the shorter leg."""
    if bend.kind != "bend":
        return None
    wanted = bend.tolerance_deg if bend.tolerance_deg is not None else part.tolerances.angle_deg
    legs = part.outside_legs_mm
    return wanted if wanted is not None else angle_tolerance_deg(min(legs[bend.number - 1], legs[bend.number]))


def leg_tolerances_mm(part: Part) -> tuple[float | None, ...]:
    """What each leg is allowed, plus and minus, for the size as drawn."""
    return part.tolerances.legs_mm or tuple(linear_tolerance_mm(leg) for leg in part.section.legs_mm)
