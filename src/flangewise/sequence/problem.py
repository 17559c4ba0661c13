"""The question the search answers, as plain numbers: section, operations, tools offered, prices.

No part, no shop, no table is known here; whoever asks turns them into this.
"""

import math
from typing import Literal

from flangewise.clearance import Outline, ToolStack
from flangewise.geometry import Chain
from flangewise.records import dataclass, field, replace
from flangewise.sequence.seconds import HitTime
from flangewise.sequence.watch import UNLIMITED, Watch

Datum = Literal["start", "end", "flange"]
HitKind = Literal["swing", "press", "offset"]


@dataclass(frozen=True)
class Hit:
    """One stroke of an operation with one tool stack.

    `swing`: an air bend to `loaded_turn_deg` (size only, over-bend included) with the inside radius
    `formed_radius_mm`. `press`: a pre-bent hem flattened between the plates of the stack.
    `offset`: two opposite zones formed at once by an offset pair (`stack.levels_mm`). `time`: how long it takes (None:
    no time is reckoned for the stroke). `zone_mm`: developed width of the zone on the blank that these tools make
    (None: the section's own), `leg_moved_mm`: how much longer than here the flats beside it then are.
    """

    stack: ToolStack
    loaded_turn_deg: float
    formed_radius_mm: float
    kind: HitKind = "swing"
    time: HitTime | None = None
    zone_mm: float | None = None
    leg_moved_mm: float = 0.0


@dataclass(frozen=True)
class ToolOption:
    """Tools that can do an operation: one hit, or the hits that follow each other with nothing between.

    `cost` is what choosing them costs by itself, a wish in seconds (a second-best die, a turned punch).
    """

    hits: tuple[Hit, ...]
    cost: float = 0.0

    @property
    def entry(self) -> ToolStack:
        """The stack that must be in the machine when the operation begins."""
        return self.hits[0].stack

    @property
    def exit(self) -> ToolStack:
        """The stack that is in the machine when it ends."""
        return self.hits[-1].stack


@dataclass(frozen=True)
class Operation:
    """What is done in one go: a bend, a hem (two hits), an offset (two zones, one hit).

    `zones` are zone indices of the chain from 0, neighbours, in order along it.
    Raises ValueError when no tools are offered.
    """

    label: str
    zones: tuple[int, ...]
    options: tuple[ToolOption, ...]

    def __post_init__(self) -> None:
        if not self.zones or not self.options:
            raise ValueError(f"operation {self.label}: no zone or no tools")


@dataclass(frozen=True)
class Asked:
    """How the setter wants one operation done; None leaves it to the search.

    `datum`: the raw start or end edge, which then lies behind, or the formed face at bend zone `flange_zone`. Where
    gauging is not looked at, a datum says no more than which end lies behind.
    """

    marked_up: bool | None = None
    datum: Datum | None = None
    flange_zone: int | None = None

    def allows(self, first_zone: int, *, marked_up: bool, start_behind: bool) -> bool:
        """Whether an operation that begins at a zone may be done so; a face that is touched lies behind."""
        if self.datum is None:
            return self.marked_up in (None, marked_up)
        before = self.flange_zone is not None and self.flange_zone < first_zone
        behind = before if self.datum == "flange" else self.datum == "start"
        return self.marked_up in (None, marked_up) and behind == start_behind


@dataclass(frozen=True)
class Costs:
    """Prices in seconds a part (in a toy, points). Data, never code.

    `base`: what every plan costs, whatever its order. `share`: factor on the seconds of strokes, allowance included.
    `hit`: each hit besides its stroke. `turn_over_bed`: turn over about the bed axis, which swaps the end behind.
    `turn_over_front_back`: turn over about the axis front to back, the same end stays behind. `turn_in_plane`: the
    other end goes behind, same face up. `tilt_onto_face`: a panel is tilted to lie on another of its faces. `rehandle`:
    taking the part out and putting it in again, once between two hits wherever anything is moved. `station_change`:
    going to other tools; `tool_change`: besides, for each of punch and die that is put in for it. `stop_change`: stops
    go from a raw edge to a formed face or back without any turn. `gauge_flange`, `gauge_inclined`, `gauge_past_bends`:
    wishes against gauging on a formed face, on an edge of a face that is not level, on an edge with formed bends
    between. `gauge_unwanted`: a datum that is not among the preferred ones of the bend. `side_exit`: sliding the part
    off along the bed; `tilt`: taking it out, or bringing it in, tilted, which is never less (None: not looked for).
    `mark`: a wish against laying the good face on the die where either could lie there. `stands_beside`: whether two
    stations may stand beside each other, so that a plan can come back to tools which still stand.
    """

    base: float = 0.0
    share: float = 1.0
    hit: float = 1.0
    turn_over_bed: float = 10.0
    turn_over_front_back: float = 14.0
    turn_in_plane: float = 4.0
    tilt_onto_face: float = 10.0
    rehandle: float = 0.0
    station_change: float = 0.0
    tool_change: float = 60.0
    stop_change: float = 0.5
    gauge_flange: float = 1.0
    gauge_inclined: float = 3.0
    gauge_past_bends: float = 1.0
    gauge_unwanted: float = 5.0
    side_exit: float = 20.0
    mark: float = 0.0
    tilt: float | None = None
    stands_beside: bool = False

    def __post_init__(self) -> None:
        """Prices are finite and not negative: the proof of least rests on it."""
        if not all(math.isfinite(value) and value >= 0 for value in vars(self).values() if value is not None):
            raise ValueError("prices must be finite and not negative")
        if self.tilt is not None and self.tilt < self.side_exit:
            raise ValueError("tilting a part out takes no less than sliding it off along the bed")


@dataclass(frozen=True)
class HoldRule:
    """How the part must lie before each hit, and what is wished for.

    `kg_per_mm` is the sheet's mass for one mm of developed length. `least_mm` in front of the die's centre plane;
    `most_behind_nm` the moment that may tip it off the die's back edge. `behind_wish_s`: the whole weight behind, less
    in proportion; `small_wish_s`: a part too small for a hand (None: there is no hand).
    """

    kg_per_mm: float
    least_mm: float
    most_behind_nm: float
    behind_wish_s: float = 0.0
    small_wish_s: float | None = None


@dataclass(frozen=True)
class StopTravel:
    """How the stops move to the next place while the part is handled: drawing it to the next stop takes `next_stop_s`,
    going to other tools takes `shift_s` more."""

    speed_mm_per_s: float
    acceleration_mm_per_s2: float
    next_stop_s: float
    shift_s: float


@dataclass(frozen=True)
class Backgauge:
    """Reach of the backgauge and shape of its finger.

    `x_min_mm`, `x_max_mm`: travel of the stop face behind the die's centre plane; `r_min_mm`, `r_max_mm`:
    travel of the finger's lower edge against the die top. `finger_mm`: outline with the stop face's lower
    edge at the origin. `contact_mm`: least flat height of a formed face to be gauged on.
    `level_deg`: up to this slope a raw edge can be gauged; `square_deg`: how far from square a formed face may be.
    """

    x_min_mm: float
    x_max_mm: float
    r_min_mm: float
    r_max_mm: float
    finger_mm: Outline
    contact_mm: float = 5.0
    level_deg: float = 70.0
    square_deg: float = 20.0


@dataclass(frozen=True)
class SearchLimits:
    """How much the search may use before it answers with a gap: sets of done bends per layer, tables, time."""

    sets_per_layer: int = 400_000
    repairs: int = 400
    watch: Watch = UNLIMITED


@dataclass(frozen=True)
class Slack:
    """How far a section may be, with tools that make another blank, from where it is thought to be.

    `shape_mm`: any point of what lies beyond an operation, or of its own corner. `flat_mm`, `formed_mm`: what lies
    beyond it, while it is flat and once it is formed; `corner_mm`: its corner, `is_square` where its turns are right
    angles: between faces that are all level or upright no corner lies further out than the face beyond it.
    `beside_mm`: the ends of the flats beside it from its middle, flat. `longer_mm`, `shorter_mm`: by how much more or
    less sheet the part is long for it.
    """

    shape_mm: float
    flat_mm: float
    formed_mm: float
    corner_mm: float
    beside_mm: float
    longer_mm: float = 0.0
    shorter_mm: float = 0.0
    is_square: bool = False


@dataclass(frozen=True)
class SectionProblem:
    """A section to be bent.

    `operations` stand in the order of their zones and cover each zone once. `gauge` None: gauging is not looked at.
    `order`: operation indices in a wanted order, to be checked and priced. `preferred`: for each operation the datums
    wanted for it (words "start", "end", "flange"; empty: all alike). `hold` None: how the part lies is not looked at.
    `stop_travel` None: the stops' way takes no time. `asked`: how the setter wants each operation done, kept by every
    plan (empty: all is free). `marked_face_good`: which face must not be scratched (None: neither). `slack`: for each
    operation, how far the part may be from here on the blanks of other tools, for a bound that holds on all of them
    (empty: this blank is the only one). `tell_blockers` False leaves out what blocks an infeasible section: many
    offered tools make it a long list. Raises ValueError when operations and zones do not fit.
    """

    chain: Chain
    operations: tuple[Operation, ...]
    costs: Costs = field(default_factory=Costs)
    gauge: Backgauge | None = None
    hold: HoldRule | None = None
    stop_travel: StopTravel | None = None
    order: tuple[int, ...] | None = None
    check_self: bool = True
    check_exits: bool = False
    side_exit_allowed: bool = False
    marked_face_good: bool | None = None
    tell_blockers: bool = True
    preferred: tuple[tuple[str, ...], ...] = ()
    asked: tuple[Asked, ...] = ()
    slack: tuple[Slack, ...] = ()
    limits: SearchLimits = field(default_factory=SearchLimits)

    def __post_init__(self) -> None:
        zones = [zone for operation in self.operations for zone in operation.zones]
        if zones != list(range(self.chain.bends)):
            raise ValueError("operations must cover the zones of the chain once, in order")
        if self.order is not None and sorted(self.order) != list(range(len(self.operations))):
            raise ValueError("an order names every operation once")
        if self.preferred and len(self.preferred) != len(self.operations):
            raise ValueError("preferred datums are given for every operation or for none")
        if self.asked and len(self.asked) != len(self.operations):
            raise ValueError("what is asked is given for every operation or for none")


def first_bend_up(problem: SectionProblem) -> SectionProblem:
    """The problem with its first bend toward the marked face: itself, or its mirror image.

    There every bend goes the other way, and every face is asked for the other one.
    """
    if all(turn >= 0 for turn in problem.chain.turns_deg[:1]):
        return problem
    asked = tuple(
        each if each.marked_up is None else replace(each, marked_up=not each.marked_up) for each in problem.asked
    )
    good = None if problem.marked_face_good is None else not problem.marked_face_good
    return replace(problem, chain=problem.chain.mirrored(), asked=asked, marked_face_good=good)
