"""What the drawing shows on the layers that count: pieces of contour, strokes of bend lines, texts.

Block references are taken apart; what stands on layer 0 in a block is on the layer of its reference, as the DXF
reference has it. One path reader takes every kind of line; curves are drawn out to FLAT_MM.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any, Literal

from ezdxf.path import Path as DrawnPath, make_path

from flangewise.drawn.blank import Undrawn
from flangewise.drawn.file import MOST_ENTITIES
from flangewise.drawn.told import TimeBox, at, shown
from flangewise.findings import Finding, note, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass, field
from flangewise.shop import LayerNames

FLAT_MM = 0.01
# Off the plane by more than this is not flat.
OFF_PLANE_MM = 0.01
# No sheet for a press brake is longer; what lies further out would only be drawn out into countless points.
FARTHEST_MM = 20_000.0
# An arc is first taken as so many curves of third degree: 22.5 degrees each is off by r / 15 000 000 at most.
CURVES_AN_ARC = 16
# A spline that is no curve of third degree as it stands is taken as curves through points of it, halved so often.
SPLINE_LEVEL = 6
MOST_SPLINE_POINTS = 2_000
MOST_POINTS = 1_000_000
DEEPEST_BLOCK = 16
LINE_KINDS = {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "ELLIPSE", "SPLINE"}
TEXT_KINDS = {"TEXT", "MTEXT", "ATTRIB"}
# Flags of a polyline whose vertices are not where the curve goes: fitted splines and meshes.
NOT_ITS_VERTICES = 4 | 16 | 64
SAME_MM = 1e-6
# Names of layers left out that are told; of very many the first.
MOST_NAMES = 8

LayerKind = Literal["cut", "toward", "away"]
Points = tuple[Point, ...]


@dataclass(frozen=True)
class DrawnText:
    """A text on a layer of bend lines: where it stands and what it says."""

    at_mm: Point
    text: str
    toward: bool


@dataclass
class Shown:
    """What was found on the layers: contour pieces, strokes of bends by layer, texts; and what must be told."""

    cut: list[Points] = field(default_factory=list)
    strokes: list[tuple[Points, bool]] = field(default_factory=list)
    texts: list[DrawnText] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    points: int = 0


def shown_by(document: Any, unit_mm: float, layers: LayerNames, box: TimeBox) -> Shown:
    """All that the model space shows on the layers for cuts and bends. Raises Undrawn, OverTime as the room does."""
    kinds: dict[str, LayerKind] = {
        layers.cut.casefold(): "cut",
        layers.bend_toward.casefold(): "toward",
        layers.bend_away.casefold(): "away",
    }
    found, others, outside = Shown(), Counter[str](), Counter[str]()
    for entity, layer in _taken_apart(document, outside, box):
        kind = kinds.get(layer.casefold())
        if kind is None:
            others[shown(layer)] += 1
        else:
            _take(found, entity, kind, unit_mm)
    if others:
        found.findings.append(note("drawn-layers-left", count=others.total(), layers=_names(others)))
    if outside:
        found.findings.append(note("drawn-references-left", count=outside.total(), names=_names(outside)))
    return found


def _names(counted: Counter[str]) -> str:
    names = [f"{name} ({count})" for name, count in sorted(counted.items())]
    return ", ".join([*names[:MOST_NAMES], *(["..."] if len(names) > MOST_NAMES else [])])


def _taken_apart(document: Any, outside: Counter[str], box: TimeBox) -> Iterator[tuple[Any, str]]:
    """Each entity with its layer, block references taken apart; one to another file is counted, not followed."""
    count = 0
    waiting: list[tuple[Iterator[Any], str | None]] = [(iter(document.modelspace()), None)]
    while waiting:
        entity = next(waiting[-1][0], None)
        if entity is None:
            waiting.pop()
            continue
        count += 1
        box.look()
        if count > MOST_ENTITIES:
            raise Undrawn([refuse("drawn-many", most=MOST_ENTITIES)])
        above = waiting[-1][1]
        layer = _layer(entity)
        layer = above if above is not None and layer == "0" else layer
        if entity.dxftype() != "INSERT":
            yield entity, layer
            continue
        for attribute in entity.attribs:
            yield attribute, _layer(attribute)
        if len(waiting) > DEEPEST_BLOCK:
            raise Undrawn([refuse("drawn-nested", most=DEEPEST_BLOCK)])
        block = entity.block()
        if block is None or block.block is None or block.block.is_xref or block.block.is_xref_overlay:
            outside[shown(str(entity.dxf.get("name", "")))] += 1
        else:
            waiting.append((_of_block(entity), layer))


def _layer(entity: Any) -> str:
    """Its layer; 0, that of all which name none, for what has no place for one."""
    return str(entity.dxf.layer) if entity.dxf.hasattr("layer") else "0"


def _of_block(reference: Any) -> Iterator[Any]:
    """What a block reference shows, each of a grid of them; what cannot be moved to its place comes as it is."""
    skipped: list[Any] = []
    for each in reference.multi_insert() if reference.mcount > 1 else (reference,):
        yield from each.virtual_entities(skipped_entity_callback=lambda entity, _: skipped.append(entity))
    yield from (_Unmoved(entity) for entity in skipped)


@dataclass(frozen=True)
class _Unmoved:
    """An entity of a block that has no form at the place of its reference: known by kind and layer alone."""

    entity: Any

    @property
    def dxf(self) -> Any:
        return self.entity.dxf

    def dxftype(self) -> str:
        return f"{self.entity.dxftype()}"


def _take(found: Shown, entity: Any, kind: LayerKind, unit_mm: float) -> None:
    name = shown(entity.dxftype())
    if isinstance(entity, _Unmoved):
        found.findings.append(refuse("drawn-unmoved", kind=name))
        return
    if name in TEXT_KINDS and kind != "cut":
        _take_text(found, entity, kind, unit_mm)
        return
    if name not in LINE_KINDS or (name == "POLYLINE" and entity.dxf.get("flags", 0) & NOT_ITS_VERTICES):
        place_mm = _somewhere(entity, unit_mm)
        where = None if place_mm is None else at(place_mm)
        found.findings.append(refuse("drawn-kind", where, kind=name, layer=shown(_layer(entity))))
        return
    try:
        pieces = list(_pieces(entity, name, unit_mm, found))
    except Undrawn:
        raise
    except Exception:
        # As with the whole file: what the library cannot make a line of is told as that, whatever it stumbled over.
        found.findings.append(refuse("drawn-entity-unread", kind=name))
        return
    if kind == "cut":
        found.cut.extend(piece for points in pieces for piece in points)
    else:
        # A bend line is a whole stroke: whether it is straight is judged of all its pieces together.
        strokes = [tuple(point for piece in points for point in piece) for points in pieces]
        found.strokes.extend((stroke, kind == "toward") for stroke in strokes if stroke)


def _take_text(found: Shown, entity: Any, kind: LayerKind, unit_mm: float) -> None:
    try:
        # A text of one line stands where its alignment says, in its own plane; one of many lines where it is put in.
        many = entity.dxftype() == "MTEXT"
        point = entity.dxf.insert if many else entity.ocs().to_wcs(entity.get_placement()[1])
        text = " ".join(str(entity.plain_text()).split())
    except Exception:
        found.findings.append(refuse("drawn-entity-unread", kind=shown(entity.dxftype())))
        return
    if text:
        found.texts.append(DrawnText((float(point.x) * unit_mm, float(point.y) * unit_mm), text, kind == "toward"))


def _somewhere(entity: Any, unit_mm: float) -> Point | None:
    """A point of an entity that is no line: where it is put in."""
    for name in ("insert", "location", "center", "start", "vtx0", "defpoint"):
        if entity.dxf.hasattr(name):
            point = entity.dxf.get(name)
            return float(point[0]) * unit_mm, float(point[1]) * unit_mm
    return None


def _pieces(entity: Any, name: str, unit_mm: float, found: Shown) -> Iterator[list[Points]]:
    """The pieces of each line that an entity draws: straight ones one by one, curves that follow each other as one.

    Nothing of an entity that lies off the plane or too far out; both are told once.
    """
    if name == "SPLINE" and max(len(entity.control_points), len(entity.fit_points)) > MOST_SPLINE_POINTS:
        found.findings.append(refuse("drawn-spline-long", most=MOST_SPLINE_POINTS))
        return
    for path in make_path(entity, segments=CURVES_AN_ARC, level=SPLINE_LEVEL).sub_paths():
        known = [(point.x * unit_mm, point.y * unit_mm, point.z * unit_mm) for point in path.control_vertices()]
        if not known:
            continue
        if not all(abs(number) <= FARTHEST_MM for point in known for number in point[:2]):
            found.findings.append(refuse("drawn-far", kind=name, most_mm=FARTHEST_MM))
            return
        off = [point for point in known if not abs(point[2]) <= OFF_PLANE_MM]
        if off:
            worst = max(off, key=lambda point: abs(point[2]))
            found.findings.append(refuse("drawn-off-plane", at(worst), kind=name, off_mm=abs(worst[2])))
            return
        pieces = [piece for piece in _flattened(path, unit_mm) if len(piece) > 1]
        found.points += sum(len(piece) for piece in pieces)
        if found.points > MOST_POINTS:
            raise Undrawn([refuse("drawn-many-points", most=MOST_POINTS)])
        yield pieces


def _flattened(path: DrawnPath, unit_mm: float) -> Iterator[Points]:
    curve: DrawnPath | None = None
    begins = path.start
    command: Any
    for command in path:
        if command.type.name == "LINE_TO":
            if curve is not None:
                yield _points(curve, unit_mm)
                curve = None
            straight = DrawnPath(begins)
            straight.line_to(command.end)
            yield _points(straight, unit_mm)
        else:
            curve = curve or DrawnPath(begins)
            if command.type.name == "CURVE3_TO":
                curve.curve3_to(command.end, command.ctrl)
            else:
                curve.curve4_to(command.end, command.ctrl1, command.ctrl2)
        begins = command.end
    if curve is not None:
        yield _points(curve, unit_mm)


def _points(path: DrawnPath, unit_mm: float) -> Points:
    """The points of a path on the plane, in mm; neighbours that are one point count once."""
    points: list[Point] = []
    for point in path.flattening(FLAT_MM / unit_mm, segments=2):
        x_mm, y_mm = point.x * unit_mm, point.y * unit_mm
        if not points or abs(x_mm - points[-1][0]) > SAME_MM or abs(y_mm - points[-1][1]) > SAME_MM:
            points.append((x_mm, y_mm))
    return tuple(points)
