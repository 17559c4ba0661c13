"""Everything that is printed on a sheet, as plain frozen data: mm, degrees, kN; words as phrases not yet said.

The sheet computes none of it. None stands for a value that cannot be computed, and is printed as such.
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from flangewise.findings import Finding
from flangewise.sequence import Hold
from flangewise.setup import Correction
from flangewise.words import Phrase

Point: TypeAlias = tuple[float, float]
Outline: TypeAlias = tuple[Point, ...]
"""A closed outline (across, up) in mm: across toward the operator, up from the die's top; arcs drawn out in chords."""
Face: TypeAlias = Literal["up", "down"]
Side: TypeAlias = Literal["operator", "backgauge"]


@dataclass(frozen=True)
class Job:
    """Head of the sheet. Empty text or None is printed as an empty box or left out; never guessed."""

    part: str
    title: str = ""
    revision: str = ""
    drawing: str = ""
    job: str = ""
    due: str = ""
    quantity: int | None = None
    spares: int | None = None
    machine: str = ""
    handler: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class MaterialCheck:
    """What the stock must be, and what the numbers were computed with."""

    name: str
    thickness_mm: float
    thickness_tolerance_mm: float | None
    tensile_mpa: float
    yield_mpa: float
    source: str
    family: Literal["steel", "galvanized", "stainless", "nonferrous"] = "steel"
    grain: Literal["along", "across", "any"] = "any"
    good_face: Literal["marked", "other", "none"] = "none"
    burr: Literal["marked", "other", "unknown"] = "unknown"
    film: Literal["marked", "other", "both", "none"] = "none"
    measured_thickness_mm: float | None = None


@dataclass(frozen=True)
class Hole:
    """A hole on the blank, by the centre (along, developed): round, or rectangular with its size (along, developed)."""

    number: int
    leg: int
    centre_mm: Point
    diameter_mm: float | None = None
    size_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class BendLine:
    """A bend line on the blank: its label ("3a" of an offset), place and zone from the start edge, and its direction.

    `bend` is the bend's number; `turn_deg` the angle turned through; `toward` whether toward the marked face.
    """

    label: str
    bend: int
    line_mm: float
    zone_mm: tuple[float, float]
    turn_deg: float
    toward: bool
    inside_radius_mm: float
    allowance_mm: float
    deduction_mm: float
    allowance_from: Phrase


@dataclass(frozen=True)
class Blank:
    """The flat blank: (along the bend lines from the left, developed from the start edge), marked face up."""

    along_mm: float
    developed_mm: float
    mass_kg: float
    holes: tuple[Hole, ...]
    lines: tuple[BendLine, ...]

    @property
    def diagonal_mm(self) -> float:
        """Corner to corner, for the check of squareness."""
        return float((self.along_mm**2 + self.developed_mm**2) ** 0.5)


@dataclass(frozen=True)
class FlatPose:
    """Where one flat leg stands: the stretch of the blank it is, and its two ends on the sheet's middle surface."""

    leg: int
    from_mm: float
    to_mm: float
    start_mm: Point
    end_mm: Point


@dataclass(frozen=True)
class Pose:
    """The part's section at one moment, in machine coordinates: its outline, and its legs from the start edge on."""

    outline_mm: Outline
    flats: tuple[FlatPose, ...]


@dataclass(frozen=True)
class Body:
    """A tool or machine body seen from the left end, where it stands in this picture."""

    name: Literal["punch", "die", "ram", "bed", "finger"]
    outline_mm: Outline


@dataclass(frozen=True)
class Station:
    """One tool station on the bed, from the bed's left end: a place taken and the segments, left to right."""

    from_mm: float
    to_mm: float
    punch_segments_mm: tuple[float, ...]
    die_segments_mm: tuple[float, ...]
    set_up: int = 1
    """Which set-up of the bed it belongs to: stations of one number stand there together."""


@dataclass(frozen=True)
class Tools:
    """A punch and die pair as it is to be built, and what it may carry."""

    punch: str
    die: str
    punch_turned: bool
    nose_radius_mm: float | None
    punch_included_deg: float | None
    punch_height_mm: float
    punch_load_kn_per_m: float
    named_opening_mm: float | None
    opening_mm: float | None
    shoulder_radius_mm: float | None
    die_included_deg: float | None
    die_height_mm: float
    die_load_kn_per_m: float
    stations: tuple[Station, ...]
    neck: bool = False
    """Whether the punch is set back (a neck), which lowers what it carries."""

    @property
    def shut_height_mm(self) -> float:
        """Ram seat to bed seat when the nose touches the die's top: what touch-off is compared with."""
        return self.punch_height_mm + self.die_height_mm


@dataclass(frozen=True)
class Step:
    """One hit: how the part comes in, what the setter keys in, what it gives.

    `bends` are the labels formed; `done` those formed before. `start_at` says where the part's start edge looks.
    `tools` is the place of the pair in the sheet's list. `spread_deg` is the expected half width of the angle before
    any correction, `spread_measured_deg` with the thickness measured. `x_mm` and `r_mm` are None for a hit made without
    stops. `correction` is what a change of X does to the legs.
    """

    number: int
    bends: tuple[str, ...]
    hit: Literal["bend", "pre-bend", "flatten", "offset"]
    toward: bool
    turn_deg: float
    marked_face: Face
    start_at: Side
    done: tuple[str, ...]
    gauged_on: Phrase
    moves: tuple[Phrase, ...]
    new_load: bool
    tools: int
    station: int
    part_from_mm: float
    before: Pose
    after: Pose
    bodies: tuple[Body, ...]
    x_mm: float | None
    r_mm: float | None
    z_mm: tuple[float, ...]
    retract_mm: float
    depth_mm: float | None
    bend_to_deg: float | None
    finished_deg: float
    open_height_mm: float
    open_height_reason: Phrase
    slow_from_mm: float
    ram_speed_mm_per_s: float
    crowning_mm: float | None
    force_kn: float | None
    clearance_mm: float | None = None
    seconds_s: float | None = None
    deg_per_mm: float | None = None
    spread_deg: float | None = None
    spread_measured_deg: float | None = None
    correction: Correction | None = None
    hold: Hold | None = None
    trapped_behind: bool = False
    """Whether a formed flange stands between the ram or the stops and the bend."""

    @property
    def rear_mm(self) -> float:
        """The rearmost place that is drawn: the stop, or the part's own edge where it is bent without stops."""
        return -self.x_mm if self.x_mm is not None else min(across for across, _ in self.before.outline_mm)


@dataclass(frozen=True)
class Load:
    """One limit in the line of limits: what carries it, the load and what it may be; the share of it used."""

    body: Phrase
    load: float
    most: float
    unit: Literal["kn", "kn_per_m"]
    step: int

    @property
    def share(self) -> float:
        """Load over limit: 1 is all of it."""
        return self.load / self.most


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
    places: int = 3
    expected: float | None = None
    leg: int | None = None


@dataclass(frozen=True)
class Finish:
    """The finished part for the small picture: section outline at the end, and sizes to write on it.

    The section is seen from the left end of the blank (marked face up, start edge toward the operator), then turned in
    its plane as one likes: never mirrored, or the holes would come out on the wrong side.

    `sizes` are the legs as the drawing sizes them, None where it has no size, `angles` the finished included angles,
    both in order of the section.
    """

    pose: Pose
    sizes_mm: tuple[float | None, ...]
    sized_inside: bool
    angles_deg: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Resolution:
    """The smallest step the machine can be set to: nothing is printed finer."""

    stop_mm: float = 0.01
    depth_mm: float = 0.01
    angle_deg: float = 0.1
    opening_mm: float = 1.0
    speed_mm_per_s: float = 0.1


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


@dataclass(frozen=True)
class SheetData:
    """One sheet, whole."""

    job: Job
    material: MaterialCheck
    blank: Blank
    tools: tuple[Tools, ...]
    steps: tuple[Step, ...]
    loads: tuple[Load, ...]
    measures: tuple[Measure, ...]
    finish: Finish
    findings: tuple[Finding, ...]
    resolution: Resolution
    bed_length_mm: float
    handler_kind: Literal["operator", "robot"]
    high_tensile: bool = False
    cycle_s: float | None = None
    first_piece: tuple[Phrase, ...] = ()
    """What to expect of the first piece and what brings it closer, where its angles scatter more than is allowed."""
    attachments: tuple[Attachment, ...] = ()
