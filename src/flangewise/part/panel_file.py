"""The keys of `panel:` in a part file, the kind of value of each, and the panel that they make."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, WithJsonSchema, model_validator

from flangewise.bend import Sizes
from flangewise.geometry import Point
from flangewise.part import fields, kinds
from flangewise.part.bends import Bend
from flangewise.part.model import MOST_HOLES, WantedHole
from flangewise.part.panel import BASE, SIDES, Corner, CornerKind, CornerRelief, Panel, Slot, WantedFlange
from flangewise.shop import unfit

MOST_CORNERS = 100
MOST_FLANGES = 100
MOST_MITRE_DEG = 80.0
ALL = "all"
# What hangs on a flange stands among its keys, under the edges it hangs on.
_FLANGE_EDGE = re.compile(r"(?:tip|left|right|edge [1-9][0-9]?)\Z")
_HUNG = "hung"

Coordinate = Annotated[
    float,
    PlainValidator(fields.length("a coordinate", -fields.LONGEST_MM, fields.LONGEST_MM)),
    WithJsonSchema(kinds.LENGTH_SCHEMA),
]
_MITRE = fields.constrained(f"a mitre is from -{MOST_MITRE_DEG:g} to {MOST_MITRE_DEG:g}° from square")
Mitre = Annotated[float, Field(strict=True, ge=-MOST_MITRE_DEG, le=MOST_MITRE_DEG, allow_inf_nan=False), _MITRE]
Gap = Annotated[
    float, PlainValidator(fields.length("a gap", 0.0, fields.LARGEST_TOLERANCE_MM)), WithJsonSchema(kinds.LENGTH_SCHEMA)
]


def edges_named(key: str) -> tuple[str, ...]:
    """The edges that a key names: one, or several with commas."""
    return tuple(name.strip() for name in key.split(","))


def _pair(value: Any) -> Any:
    return value if isinstance(value, list) else [value, value]


def _one_or_two(item: Any) -> Any:
    two = Annotated[list[item], Field(min_length=2, max_length=2), BeforeValidator(_pair)]
    return Annotated[two, WithJsonSchema({"description": "one figure for both ends, or [left, right]"})]


def _listed(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


def _place(value: list[float]) -> list[float]:
    return value if len(value) == 3 else [*value, 0.0]


Place = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
_Corner = Annotated[list[Coordinate], Field(min_length=2, max_length=3), AfterValidator(_place)]


class BaseFile(kinds.Keys):
    """The base: its two sizes, or its outline counterclockwise, a third number rounding a corner."""

    size: Annotated[list[kinds.Length], Field(min_length=2, max_length=2)] | None = None
    outline: Annotated[list[_Corner], Field(min_length=3, max_length=MOST_CORNERS)] | None = None
    names: Annotated[list[kinds.Text], Field(max_length=MOST_CORNERS)] | None = None

    @model_validator(mode="after")
    def _check(self) -> "BaseFile":
        if self.size is None and self.outline is None:
            raise unfit("has no outline", "write [along, across] or {outline: [[x, y], ...]}")
        if self.names is not None and len(self.names) != len(self.outline or ()):
            raise unfit(f"names {len(self.names)} edges", f"the outline has {len(self.outline or ())}", key="names")
        return self

    def ring(self) -> tuple[tuple[Point, ...], tuple[float, ...], tuple[str, ...]]:
        """Corners, rounding radii, names of the edges."""
        if self.size is not None:
            along, across = self.size
            return ((0.0, 0.0), (along, 0.0), (along, across), (0.0, across)), (0.0,) * 4, SIDES
        outline = self.outline or []
        names = self.names or [f"edge {at}" for at in range(1, len(outline) + 1)]
        return tuple((x, y) for x, y, _ in outline), tuple(r for *_, r in outline), tuple(names)


def _base(value: Any) -> Any:
    if isinstance(value, list):
        return {"size": value}
    if isinstance(value, dict) and "size" in value:
        raise unfit("is no key of this place", "write base: [along, across]", key="size")
    return value


class SlotFile(kinds.Keys):
    """The relief at an end of a bend beside sheet: how wide, and how far past the tangent line."""

    width: kinds.Length | None = None
    past: kinds.Position = 0.5


class CornerReliefFile(kinds.Keys):
    """What is cut at a corner that two bends reach."""

    round: kinds.Length | None = None
    square: kinds.Length | None = None

    @model_validator(mode="after")
    def _check(self) -> "CornerReliefFile":
        if (self.round is None) == (self.square is None):
            raise unfit("is round or square", "write round, {round: 5} or {square: 4}")
        return self

    def wanted(self) -> CornerRelief:
        """The relief as it is wanted."""
        return CornerRelief("square", self.square) if self.round is None else CornerRelief("round", self.round)


def _relief(value: Any) -> Any:
    if isinstance(value, (dict, CornerReliefFile)) or value in ("round", "none"):
        return value
    raise unfit(f"{fields.shown(value)} is no relief", "write none, round, {round: 5} or {square: 4}")


_ReliefWord = Literal["round", "none"]
_Ends = Literal["square", "mitre"]


class CornerFile(kinds.Keys):
    """How the two flanges at a corner end."""

    kind: Annotated[CornerKind, *kinds.choice(CornerKind)] = "open"
    gap: Gap = 0.5
    over: Annotated[list[kinds.Text], BeforeValidator(_listed)] | None = None
    relief: Annotated[CornerReliefFile | _ReliefWord, BeforeValidator(_relief)] = "none"

    @model_validator(mode="after")
    def _check(self) -> "CornerFile":
        if self.kind == "lapped" and not self.over:
            raise unfit("lapped does not say which flange lies over", "write over: near, or over: [near, far]")
        return self

    def wanted(self) -> Corner:
        """The corner as it is wanted."""
        over = tuple(name for each in self.over or () for name in edges_named(each))
        relief = self.relief.wanted() if isinstance(self.relief, CornerReliefFile) else CornerRelief(self.relief)
        return Corner(self.kind, self.gap, over, relief)


def _corner(value: Any) -> Any:
    return {"kind": value} if isinstance(value, str) else value


_OneCorner = Annotated[CornerFile, BeforeValidator(_corner)]
CORNER_KEYS = frozenset(CornerFile.model_fields)


def _corners(value: Any) -> Any:
    """One kind for every corner, or a mapping of corners: both as a mapping of corners."""
    one = isinstance(value, str) or (isinstance(value, dict) and CORNER_KEYS & value.keys())
    return {"each": value} if one else value


class FlangeFile(kinds.Keys):
    """A flange: its height or shape, its bend, where on its edge it stands, how it ends, and what hangs on it."""

    height: kinds.Length | None = None
    shape: Annotated[list[Place], Field(min_length=3, max_length=MOST_CORNERS)] | None = None
    bend: Bend
    inset: _one_or_two(kinds.Position) | None = None  # type: ignore[valid-type]
    start: Annotated[kinds.Position | None, Field(alias="from")] = None
    to: kinds.Length | None = None
    mitre: _one_or_two(Mitre) | None = None  # type: ignore[valid-type]
    ends: Annotated[_Ends, *kinds.choice(_Ends)] = "square"
    gap: Gap = 0.5
    relief: SlotFile = SlotFile()
    name: Annotated[str, PlainValidator(fields.part_name), WithJsonSchema({"type": "string"})] | None = None
    hung: "dict[str, Flanges]" = Field(default_factory=dict)

    @model_validator(mode="before")
    @classmethod
    def _gather(cls, value: Any) -> Any:
        if not isinstance(value, dict):
            return value
        for key in (_HUNG, "flanges", "flange"):
            if key in value:
                raise unfit("is no key of this place", "what hangs on a flange is named tip, left or right", key=key)
        hung = {key: each for key, each in value.items() if is_edge_key(key)}
        return {**{key: each for key, each in value.items() if key not in hung}, **({_HUNG: hung} if hung else {})}

    @model_validator(mode="after")
    def _check(self) -> "FlangeFile":
        if (self.height is None) == (self.shape is None):
            told = "has neither height nor shape" if self.shape is None else "has both height and shape"
            raise unfit(told, "give one of them")
        if self.bend.offset is not None and self.ends == "mitre":
            raise unfit(
                "mitre does not go with an offset, which turns both ways", "write `mitre:` in degrees", key="ends"
            )
        if self.bend.gauge is not None:
            raise unfit("a panel's bend is not gauged by name", "leave `gauge` out", key="bend")
        if self.inset is not None and (self.start is not None or self.to is not None):
            raise unfit("inset stands beside from or to", "keep one of them", key="inset")
        if self.ends == "mitre" and self.mitre is not None:
            raise unfit("ends: mitre stands beside a mitre in degrees", "keep one of them", key="mitre")
        if self.shape is not None:
            _check_shape(self)
        return self

    def wanted(self, *, face: str, on: str, edge: str, number: int) -> WantedFlange:
        """The flange as it is wanted, without what hangs on it."""
        left, right = self.inset or (0.0, 0.0)
        shape = tuple((u, v) for u, v in self.shape or ())
        start, end = (shape[0][0], shape[-1][0]) if shape else (self.start or left, self.to)
        mitre = self.mitre or (0.0, 0.0)
        return WantedFlange(
            bend=self.bend.wanted(number),
            face=self.name or face,
            on=on,
            edge=edge,
            height_mm=self.height,
            shape_mm=shape,
            from_mm=start,
            to_mm=end,
            inset_mm=right,
            mitre_deg=(mitre[0], mitre[1]),
            mitred=self.ends == "mitre",
            gap_mm=self.gap,
            slot=Slot(self.relief.width, self.relief.past),
        )


def is_edge_key(key: str) -> bool:
    """Whether a key of a flange names edges of it, on which others hang."""
    return all(_FLANGE_EDGE.match(name) for name in edges_named(key))


def _check_shape(flange: FlangeFile) -> None:
    shape = flange.shape or []
    if any(getattr(flange, key) is not None for key in ("inset", "start", "to", "mitre")):
        raise unfit("a shape has its own ends", "leave inset, from, to and mitre out", key="shape")
    if shape[0][1] or shape[-1][1]:
        raise unfit("does not begin and end on the mould line", "give its first and last point v = 0", key="shape")
    if shape[0][0] >= shape[-1][0]:
        raise unfit("runs from right to left", "go from the left foot round to the right foot", key="shape")


Flanges = Annotated[list[FlangeFile], Field(min_length=1, max_length=MOST_FLANGES), BeforeValidator(_listed)]
FlangeFile.model_rebuild()


class PanelHoleFile(kinds.Keys):
    """A hole: the face it lies in, the place of its centre, and its diameter or its size along and across."""

    face: kinds.Text = BASE
    at: Place
    diameter: kinds.Length | None = None
    size: Annotated[list[kinds.Length], Field(min_length=2, max_length=2)] | None = None

    @model_validator(mode="after")
    def _check(self) -> "PanelHoleFile":
        if (self.diameter is None) == (self.size is None):
            told = "has neither diameter nor size" if self.size is None else "has both diameter and size"
            raise unfit(told, "give a round hole its diameter, a rectangular one its size: [along, across]")
        return self

    def wanted(self, number: int, face: int) -> WantedHole:
        """The hole of that number in the face of that number."""
        size_mm = None if self.size is None else (self.size[0], self.size[1])
        return WantedHole(number, face, self.at[0], self.at[1], diameter_mm=self.diameter, size_mm=size_mm)


class PanelFile(kinds.Keys):
    """A base face with flanges on its edges, flanges on flanges, holes in any face."""

    base: Annotated[BaseFile, BeforeValidator(_base)]
    flanges: Annotated[dict[str, Flanges], Field(min_length=1, max_length=MOST_FLANGES)]
    corners: Annotated[dict[str, _OneCorner], BeforeValidator(_corners)] = Field(default_factory=dict)
    radius: kinds.Radius | None = None
    sizes: Annotated[Sizes, *kinds.choice(Sizes)] = "outside"
    holes: Annotated[list[PanelHoleFile], Field(max_length=MOST_HOLES)] = Field(default_factory=list)

    def wanted(self) -> Panel:
        """The panel: flanges numbered in the order of the file, each before what hangs on it."""
        ring, radii, edges = self.base.ring()
        flanges = tuple(_hung(self.flanges, BASE, edges, iter(range(1, MOST_FLANGES * MOST_FLANGES))))
        numbers = {flange.face: flange.number for each in flanges for flange in each.whole()} | {BASE: 1}
        return Panel(
            ring_mm=ring,
            radii_mm=radii,
            edges=edges,
            flanges=flanges,
            corners=tuple((name, corner.wanted()) for name, corner in self.corners.items() if name != "each"),
            every_corner=self.corners["each"].wanted() if "each" in self.corners else Corner(),
            radius_mm=self.radius,
            sizes=self.sizes,
            holes=tuple(
                hole.wanted(number, numbers[hole.face])
                for number, hole in enumerate(self.holes, start=1)
                if hole.face in numbers
            ),
        )


def spread(flanges: Mapping[str, Any], edges: Sequence[str]) -> Iterator[tuple[str, str, Any]]:
    """Each key with the edges it stands for, in the order written: those it names, or all that no other names."""
    named = {name for key in flanges for name in edges_named(key)}
    for key, value in flanges.items():
        for edge in [each for each in edges if each not in named] if key == ALL else edges_named(key):
            yield key, edge, value


def face_names(on: str, edge: str, own: Sequence[str | None]) -> list[str]:
    """The names of the faces on one edge: their own, or their path from the base, numbered where they are several."""
    path = edge if on == BASE else f"{on}.{edge}"
    paths = [path] if len(own) == 1 else [f"{path}.{at}" for at in range(1, len(own) + 1)]
    return [name or path for name, path in zip(own, paths, strict=True)]


def _hung(
    flanges: Mapping[str, list[FlangeFile]], on: str, edges: Sequence[str], numbers: Iterator[int]
) -> Iterator[WantedFlange]:
    """The flanges on one face with all that hangs on them."""
    for _, edge, tabs in spread(flanges, edges):
        names = face_names(on, edge, [tab.name for tab in tabs])
        for name, tab in zip(names, tabs, strict=True):
            flange = tab.wanted(face=name, on=on, edge=edge, number=next(numbers))
            yield replace(flange, flanges=tuple(_hung(tab.hung, name, flange.edges, numbers)))
