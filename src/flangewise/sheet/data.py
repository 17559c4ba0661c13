"""Everything that is printed on a sheet: the part, its blank and its set-up as they were worked out.

The sheet computes none of it. None stands for a value that cannot be computed, and is printed as such.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, Protocol, TypeAlias

from flangewise.clearance import Body, Outline
from flangewise.findings import Finding
from flangewise.part import Part
from flangewise.pattern import BendZone, FlatFace, FlatPattern
from flangewise.punch_die import Mounting, Station
from flangewise.records import dataclass
from flangewise.sequence import StrokeMoment
from flangewise.setup import Load, Setup, SetupStep
from flangewise.shop import Handler, Machine, Material
from flangewise.words import Phrase

if TYPE_CHECKING:
    from flangewise.part import PanelPart

if TYPE_CHECKING:
    from flangewise.handling import CellPlan, GripKind

Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True)
class Flat:
    """Where a face of the blank stands: the ends of its middle, (across, up) in mm, the one nearer the start first."""

    face: FlatFace
    start_mm: Point
    end_mm: Point


@dataclass(frozen=True)
class Profile:
    """The part's section at one moment: its closed outline, arcs drawn out in chords, and its flats in order."""

    outline_mm: Outline
    flats: tuple[Flat, ...]


@dataclass(frozen=True)
class Gripped:
    """Where a robot's gripper holds in a frame: over an edge, on a face, or at the part's end along the bed.

    `flat` counts from 0 at the start, `at_mm` from its end nearer the start; `from_datum_mm` the same across the flat
    blank from the datum corner. `over_end`: the edge is the end edge; `upper`: the face is the one that is up.
    """

    kind: GripKind
    flat: int
    at_mm: float
    from_datum_mm: float
    over_end: bool
    upper: bool


@dataclass(frozen=True)
class SheetStep:
    """One hit: what the setter keys in, and what its pictures show.

    `zones` are formed by it, `done` are the labels of those formed before, `start_at` says where the part's start edge
    looks. `bodies` stand as at the bottom of the stroke, seen from the left end; `moves` are what is done before it.
    `moments` are those of the way down and the stroke, for a page that shows them; left out where none does. `gripped`:
    where a gripper holds it, None where none does.
    """

    keyed: SetupStep
    zones: tuple[BendZone, ...]
    done: tuple[str, ...]
    start_at: Literal["operator", "backgauge"]
    before: Profile
    after: Profile
    bodies: tuple[Body, ...]
    moves: tuple[Phrase, ...] = ()
    new_load: bool = True
    moments: tuple[StrokeMoment, ...] = ()
    gripped: Gripped | None = None

    @property
    def after_mm(self) -> Outline:
        """The part's outline at the bottom of the stroke."""
        return self.after.outline_mm

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the bend lines it forms."""
        return tuple(zone.label for zone in self.zones)

    @property
    def mounting(self) -> Mounting:
        """The pair as it is put in."""
        return self.keyed.planned.mounting

    @property
    def rear_mm(self) -> float:
        """The rearmost place that is drawn: the stop, or the part's own edge where it is bent without stops."""
        x_mm = self.keyed.stops.x_mm
        return -x_mm if x_mm is not None else min(across for across, _ in self.before.outline_mm)


class AnyStep(Protocol):
    """What the words of a hit are made from, of a section or of a panel."""

    @property
    def keyed(self) -> SetupStep:
        """What the setter keys in."""

    @property
    def zones(self) -> tuple[BendZone, ...]:
        """What it forms."""

    @property
    def moves(self) -> tuple[Phrase, ...]:
        """What is done before it."""

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the bend lines it forms."""


@dataclass(frozen=True)
class Measure:
    """A row of the first-piece record: what to measure, the nominal value, what is allowed, with what instrument.

    `expected` is the half width of what the first piece is expected to show: angles before any correction (95 %), legs
    statistically; None where that is not computed. `leg` is the leg's number, None where something else is measured.
    """

    what: Phrase
    nominal: float
    allowed: float | None
    unit: Literal["mm", "deg"]
    instrument: Phrase
    expected: float | None = None
    leg: int | None = None


@dataclass(frozen=True)
class Identity:
    """What this sheet is: hash of all inputs, version, what it replaces, a date only if asked for."""

    plan_hash: str
    version: str
    replaces: str = ""
    date: str = ""


@dataclass(frozen=True)
class Attachment:
    """A file that rides inside the PDF."""

    name: str
    content: bytes
    described: Phrase


@dataclass(frozen=True, kw_only=True)
class Printed:
    """What is printed of any job: the sheet, its set-up, what bends it, limits, what is measured, findings.

    `run`: where a robot tends the machine.
    """

    material: Material
    thickness_tolerance_mm: float | None
    setup: Setup
    machine: Machine
    handler: Handler
    loads: tuple[Load, ...]
    measures: tuple[Measure, ...]
    findings: tuple[Finding, ...]
    attachments: tuple[Attachment, ...] = ()
    run: CellPlan | None = None

    def stations_of(self, mounting: Mounting) -> tuple[Station, ...]:
        """Every station of a pair where it stands."""
        return tuple(station for station in self.setup.stations if station.carries(mounting))


class AnySheet(Protocol):
    """What the words of a sheet are made from, of a section or of a panel.

    `sized` is how a leg or a size is named by its number, `sizes_key` where the catalogue has the sentences with it.
    """

    @property
    def part(self) -> Part | PanelPart:
        """What is wanted."""

    @property
    def steps(self) -> Sequence[AnyStep]:
        """All hits in order."""

    @property
    def machine(self) -> Machine:
        """What it is bent on."""

    @property
    def setup(self) -> Setup:
        """What is keyed in."""

    @property
    def handler(self) -> Handler:
        """Who tends it."""

    @property
    def material(self) -> Material:
        """What it is made of."""

    @property
    def mountings(self) -> tuple[Mounting, ...]:
        """Each pair once, in the order of use."""

    @property
    def measures(self) -> tuple[Measure, ...]:
        """What is measured of the first piece."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What must be known."""

    @property
    def loads(self) -> tuple[Load, ...]:
        """What is loaded most."""

    @property
    def sizes_key(self) -> str:
        """Where the sentences about sizes stand."""

    def sized(self, leg: int) -> str:
        """How a size is named."""

    def asked(self, leg: int) -> str:
        """What a reading of it is given for."""

    def ends_of(self, leg: int) -> frozenset[int]:
        """The bends that end it."""


@dataclass(frozen=True, kw_only=True)
class SheetData(Printed):
    """One sheet, whole.

    `finished` is the section at the end, seen from the left end of the blank (marked face up, start edge toward the
    operator), then turned in its plane: never mirrored, or the holes would come out on the wrong side.
    """

    part: Part
    pattern: FlatPattern
    steps: tuple[SheetStep, ...]
    finished: Profile

    @property
    def mountings(self) -> tuple[Mounting, ...]:
        """Each pair once, in the order of use."""
        return tuple({step.mounting.name: step.mounting for step in self.steps}.values())

    @property
    def sizes_key(self) -> str:
        """A leg goes by its number."""
        return "step"

    def sized(self, leg: int) -> str:
        """A leg's number."""
        return str(leg)

    def asked(self, leg: int) -> str:
        """A leg's number."""
        return str(leg)

    def ends_of(self, leg: int) -> frozenset[int]:
        """The bends at both of its ends."""
        return frozenset((leg - 1, leg))
