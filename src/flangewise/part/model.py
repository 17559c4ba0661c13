"""The part file: its keys, the kind of value of each, and the part that they make. Lengths in mm, angles in degrees."""

from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetPydanticSchema,
    WithJsonSchema,
    model_validator,
)

from flangewise.bend import Sizes, outside_more_mm
from flangewise.part import kinds
from flangewise.part.bends import Bend, WantedBend
from flangewise.part.packing import Packing, Programs
from flangewise.records import dataclass, field
from flangewise.shop import Grain, unfit

MOST_LEGS = 101
MOST_HOLES = 1000
MOST_NOTES = 50
MEASURED_MM = (0.05, 50.0)
"""What a sheet can be measured to be thick."""

Units = Literal["mm", "inch"]
GoodFace = Literal["marked", "other", "none"]
Burr = Literal["marked", "other", "unknown"]
Film = Literal["marked", "other", "both", "none"]


@dataclass(frozen=True)
class WantedHole:
    """A hole in a leg: seen with the marked face up and the start edge toward you, `along_mm` from the left and
    `across_mm` from the leg's edge nearer the start, to its centre; round (`diameter_mm`) or rectangular
    (`size_mm`: along the bend lines, across them)."""

    number: int
    leg: int
    along_mm: float
    across_mm: float
    diameter_mm: float | None = None
    size_mm: tuple[float, float] | None = None


class HoleFile(kinds.Keys):
    """A hole: the leg it lies in, the place of its centre, and its diameter or its size along and across."""

    leg: kinds.LegNumber
    at: Annotated[list[kinds.Position], Field(min_length=2, max_length=2)]
    diameter: kinds.Length | None = None
    size: Annotated[list[kinds.Length], Field(min_length=2, max_length=2)] | None = None

    @model_validator(mode="after")
    def _check(self) -> "HoleFile":
        if (self.diameter is None) == (self.size is None):
            told = "has neither diameter nor size" if self.size is None else "has both diameter and size"
            raise unfit(told, "give a round hole its diameter, a rectangular one its size: [along, across]")
        return self

    def wanted(self, number: int) -> WantedHole:
        """The entry as the hole of that number."""
        size_mm = None if self.size is None else (self.size[0], self.size[1])
        return WantedHole(number, self.leg, self.at[0], self.at[1], diameter_mm=self.diameter, size_mm=size_mm)


def numbered(entries: list[Any]) -> tuple[Any, ...]:
    """The entries of a list as what they are wanted to be, numbered from 1."""
    return tuple(entry.wanted(number) for number, entry in enumerate(entries, start=1))


def _as_tuple(entries: Iterable[Any] = ()) -> tuple[Any, ...]:
    """`tuple` itself tells its arguments as a text, which takes the checker longer to read than all else of a part."""
    return tuple(entries)


def listed(
    item: Any, most: int, *, least: int | None = None, then: Callable[[list[Any]], Any] = _as_tuple
) -> GetPydanticSchema:
    """A list of the file, checked whole before its length counts, made a tuple."""
    kind = Annotated[list[item], Field(min_length=least, max_length=most), AfterValidator(then)]
    return GetPydanticSchema(lambda _, handler: handler.generate_schema(kind))


def _for_each(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


@dataclass(frozen=True)
class Section:
    """A constant cross-section."""

    # Legs joined by one bend fewer; `length_mm` is along the bend lines.
    __pydantic_config__ = kinds.STRICT

    length_mm: Annotated[kinds.Length, Field(alias="length")]
    legs_mm: Annotated[tuple[float, ...], Field(alias="legs"), listed(kinds.Length, MOST_LEGS, least=2)]
    bends: Annotated[tuple[WantedBend, ...], listed(Bend, MOST_LEGS - 1, least=1, then=numbered)]
    radius_mm: Annotated[kinds.Radius | None, Field(alias="radius")] = None
    sizes: Annotated[Sizes, *kinds.choice(Sizes)] = "outside"
    holes: Annotated[tuple[WantedHole, ...], listed(HoleFile, MOST_HOLES, then=numbered)] = field(
        default_factory=_as_tuple
    )


@dataclass(frozen=True)
class DrawingTolerances:
    """What the drawing allows, plus and minus: one figure for all legs, or one each."""

    # None where it says nothing and ISO 2768-1 m holds.
    __pydantic_config__ = kinds.STRICT

    angle_deg: Annotated[kinds.AngleTolerance | None, Field(alias="angle")] = None
    legs_mm: Annotated[
        Annotated[
            tuple[float, ...],
            listed(kinds.LengthTolerance, MOST_LEGS, least=1),
            BeforeValidator(_for_each),
            WithJsonSchema({"anyOf": [kinds.LENGTH_SCHEMA, {"type": "array", "items": kinds.LENGTH_SCHEMA}]}),
        ]
        | None,
        Field(alias="legs"),
    ] = None


@dataclass(frozen=True)
class Sheet:
    """What a part is made of."""

    __pydantic_config__ = kinds.STRICT

    name: Annotated[kinds.PartName, Field(alias="part")]
    material: kinds.Text
    thickness_mm: Annotated[kinds.Thickness, Field(alias="thickness")]


@dataclass(frozen=True)
class OfSection(Sheet):
    """A sheet that is bent to a section."""

    section: Section


@dataclass(frozen=True)
class Card:
    """The job card of a part, and how it is to be made."""

    title: kinds.Text = ""
    revision: kinds.Text = ""
    drawing: kinds.Text = ""
    job: kinds.Text = ""
    due: kinds.Day = ""
    quantity: kinds.Count | None = None
    spares: kinds.CountOrNone | None = None
    units: Annotated[str, *kinds.choice(Units)] = "mm"
    machines: Annotated[kinds.Machines, Field(alias="machine")] = field(default_factory=_as_tuple)
    handler: kinds.Text | None = None
    grain: Annotated[Grain, *kinds.choice(Grain)] = "any"
    good_face: Annotated[GoodFace, *kinds.choice(GoodFace)] = "none"
    burr: Annotated[Burr, *kinds.choice(Burr)] = "unknown"
    film: Annotated[Film, *kinds.choice(Film)] = "none"
    tolerances: DrawingTolerances = field(default_factory=DrawingTolerances)
    order: Annotated[tuple[int, ...], listed(kinds.BendNumber, MOST_LEGS - 1, least=1)] | None = None
    notes: Annotated[
        tuple[str, ...],
        listed(kinds.Note, MOST_NOTES),
        BeforeValidator(_for_each),
        WithJsonSchema(
            {"anyOf": [kinds.TEXT_SCHEMA, {"type": "array", "items": kinds.TEXT_SCHEMA, "maxItems": MOST_NOTES}]}
        ),
    ] = field(default_factory=_as_tuple)
    programs: Programs = field(default_factory=Programs)
    packing: Packing | None = None

    @property
    def job_card(self) -> dict[str, str | int | None]:
        """What the sheet's head says of the job, by the keys of the part file; empty text or None where nothing is."""
        return {key: getattr(self, key) for key in JOB_CARD}


@dataclass(frozen=True)
class PartFile(Card, OfSection):
    """A part file with a section."""


@dataclass(frozen=True)
class Part(PartFile):
    """A part file found usable. `machine` is the one named; several, or any, stand in `machines` instead.

    `gauge` is the gauge number where the file gave the thickness as one. `of_family`: its file holds other sizes too.
    """

    file: str = ""
    machine: str | None = None
    measured_thickness_mm: float | None = None
    gauge: int | None = None
    of_family: bool = False

    @property
    def outside_legs_mm(self) -> tuple[float, ...]:
        """The legs as outside sizes, whatever the part sizes them to.

        An inside size ends at the inner mould line, t tan(turn/2) short of the outer one; above 90 degrees, where both
        are tangent planes square to the leg, it is t short.
        """
        t, sizes = self.thickness_mm, self.section.sizes
        more_mm = (outside_more_mm(t, turn_deg=bend.turn_deg, sizes=sizes) / 2 for bend in self.section.bends)
        ends_mm = pairwise((0.0, *more_mm, 0.0))
        return tuple(leg + before + after for leg, (before, after) in zip(self.section.legs_mm, ends_mm, strict=True))


# What a part's job card says, in the order it is told: head of the sheet and of the plan's JSON follow from it.
JOB_CARD = ("title", "revision", "drawing", "job", "quantity", "spares", "due")
# The texts among the values: they stay as they are written, so that 00123 keeps its zeros.
TEXT_KEYS = frozenset(
    {"part", "material", "title", "revision", "drawing", "job", "due", "machine", "handler", "notes", "punch", "die"}
    | {"name", "names", "over", "file", "brake", "robot", "box"}
)
