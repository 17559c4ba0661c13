"""The tools along the bed as the operator sees them: left end left, segments, and the part's place at each station."""

from collections.abc import Iterator, Sequence
from functools import partial

from flangewise.drawing import (
    ABOVE,
    BELOW,
    BOLD,
    CHAIN,
    LEFT,
    MEDIUM,
    RIGHT,
    SCALES as ROUND_SCALES,
    Box,
    Dimension,
    Drawing,
    Item,
    Label,
    Line,
    Ruler,
    hatch,
    linear,
    ruler,
    zigzag,
)
from flangewise.punch_die import SegmentUse, Station
from flangewise.sheet.data import SheetData
from flangewise.sheet.label_room import with_room_for_labels
from flangewise.sheet.wording import Wording

WORD_MM = 3.2
SIDE_MM = 6.0
PUNCH_MM, DIE_MM, BED_MM, GAP_MM = 6.0, 5.0, 2.5, 4.0
"""Heights on paper of punch, die, bed and the gap between punch and die: not to scale."""
TOP_MM = 6.0


def bed_picture(sheet: SheetData, wording: Wording, *, width_mm: float = 178.0, height_mm: float = 34.0) -> Drawing:
    """All stations on one bed. Lengths are to scale, broken where nothing stands; heights are not."""
    return with_room_for_labels(partial(_build, sheet, wording, width_mm, height_mm))


def _build(
    sheet: SheetData, wording: Wording, width_mm: float, height_mm: float, growth_mm: float
) -> tuple[Drawing, list[Label]]:
    bed_mm, part_mm = sheet.machine.bed_length_mm, sheet.pattern.along_bends_mm
    places_mm = sorted({round(step.part_from_mm, 2) for step in sheet.setup.steps})
    drawing = Drawing(width_mm, height_mm + growth_mm, described=wording.word("alt.bed"))
    stations = [station for each in sheet.mountings for station in sheet.stations_of(each)]
    taken = [(at_mm, at_mm + part_mm) for at_mm in places_mm]
    along = _along(stations, taken, bed_mm=bed_mm, room_mm=width_mm - 2 * SIDE_MM)
    top = TOP_MM + growth_mm / 2
    drawing = drawing.adding(_bed(along, top, bed_mm))
    spot = (SIDE_MM, top + PUNCH_MM + GAP_MM)
    labels = [Label((wording.word("picture.left-end"),), spot, WORD_MM, led=False, prefer=(BELOW, RIGHT))]
    labels.append(_centre_label(along, top, bed_mm, wording))
    for number, station in enumerate(stations, start=1):
        drawing = drawing.adding(_tool_blocks(station, along, top))
        drawing = drawing.adding(_span(station, along, top).lines)
        labels += _names(number, station, along, top, wording, alone=len(stations) == 1)
        labels += _places(station, along, top, wording, alone=len(stations) == 1)
    drawing = drawing.adding(_part_places(taken, along, top))
    return drawing, labels


def _along(
    stations: Sequence[Station], taken: Sequence[tuple[float, float]], *, bed_mm: float, room_mm: float
) -> Ruler:
    """The whole bed if its stations then are broad enough, else the largest scale at which they all show whole."""
    keep = [(station.from_mm - 5, station.to_mm + 5) for station in stations]
    keep += [(start - 5, end + 5) for start, end in taken]
    taken_mm = max((station.to_mm - station.from_mm for station in stations), default=bed_mm)
    whole = next(scale for scale in reversed(ROUND_SCALES) if scale * bed_mm <= room_mm or scale == ROUND_SCALES[0])
    for scale in (scale for scale in reversed(ROUND_SCALES) if whole < scale and scale * taken_mm <= room_mm * 0.5):
        found = ruler(bed_mm, room_mm, scale=scale, keep=keep)
        if found is not None:
            return found
    fitted = ruler(bed_mm, bed_mm * whole, scale=whole)
    assert fitted is not None
    return fitted


def _x(along: Ruler, at_mm: float) -> float:
    return SIDE_MM + along.paper_mm(at_mm)


def _bed(along: Ruler, top: float, bed_mm: float) -> Iterator[Item]:
    """The bed below, in its pieces, and the middle of the machine."""
    high = top + PUNCH_MM + GAP_MM + DIE_MM
    for piece in along.pieces:
        left, right = SIDE_MM + piece.paper_mm, SIDE_MM + piece.paper_mm + (piece.to_mm - piece.from_mm) * along.scale
        yield Line(((left, high), (right, high)), MEDIUM)
        yield Line(((left, high + BED_MM), (right, high + BED_MM)), MEDIUM)
    for start, end in along.breaks_mm():
        yield from (
            zigzag((SIDE_MM + x, high - 2), (SIDE_MM + x, high + BED_MM + 2), tooth_mm=1.0) for x in (start, end)
        )
    for edge in (0.0, bed_mm):
        yield Line(((_x(along, edge), high), (_x(along, edge), high + BED_MM)), MEDIUM)
    middle = _x(along, bed_mm / 2)
    yield Line(((middle, top - 3.0), (middle, high + BED_MM + 3.0)), CHAIN)


def _centre_label(along: Ruler, top: float, bed_mm: float, wording: Wording) -> Label:
    low = top + PUNCH_MM + GAP_MM + DIE_MM + BED_MM + 5.0
    words = wording.word("picture.centre", at=wording.length(bed_mm / 2, 1.0))
    return Label((words,), (_x(along, bed_mm / 2), low), WORD_MM, prefer=(BELOW, RIGHT, LEFT), led=False)


def _tool_blocks(station: Station, along: Ruler, top: float) -> Iterator[Item]:
    """Punch segments above, die segments below, each segment a box; hatched as in the step pictures."""
    rows = (
        (station.segments, top, PUNCH_MM, -45.0),
        (station.die_segments, top + PUNCH_MM + GAP_MM, DIE_MM, 45.0),
    )
    for segments, upper, high, angle_deg in rows:
        long_mm = sum(segment.length_mm for segment in segments)
        at_mm = station.centre_mm - long_mm / 2
        left, right = _x(along, at_mm), _x(along, at_mm + long_mm)
        if right - left > 0.5:
            yield from hatch(Box(left, upper, right, upper + high).corners_mm, pitch_mm=2.4, angle_deg=angle_deg)
        for length_mm in (segment.length_mm for segment in segments):
            box = Box(_x(along, at_mm), upper, _x(along, at_mm + length_mm), upper + high)
            yield Line(box.corners_mm, MEDIUM, closed=True)
            at_mm += length_mm


def _span(station: Station, along: Ruler, top: float) -> Dimension:
    """From where to where the station stands."""
    low = top + PUNCH_MM + GAP_MM + DIE_MM + BED_MM
    left, right = _x(along, station.from_mm), _x(along, station.to_mm)
    return linear((left, low), (right, low), off_mm=-4.0, words="")


def _places(station: Station, along: Ruler, top: float, wording: Wording, *, alone: bool) -> Iterator[Label]:
    """The ends of the station, from the bed's left end: at each end, or in one where another may stand close by."""
    low = top + PUNCH_MM + GAP_MM + DIE_MM + BED_MM + 5.0
    left, right = _x(along, station.from_mm), _x(along, station.to_mm)
    first, last = wording.length(station.from_mm, 1.0), wording.length(station.to_mm, 1.0)
    if alone:
        yield Label((first,), (left, low), WORD_MM, True, (BELOW, LEFT))
        yield Label((last,), (right, low), WORD_MM, True, (BELOW, RIGHT))
    else:
        die = wording.word("picture.die-row", segments=segments_text(station.die_segments, wording))
        yield Label((f"{first} – {last}", die), ((left + right) / 2, low), WORD_MM, True, (BELOW,))


def _names(
    number: int, station: Station, along: Ruler, top: float, wording: Wording, *, alone: bool
) -> Iterator[Label]:
    middle = (_x(along, station.from_mm) + _x(along, station.to_mm)) / 2
    punch = wording.word("picture.punch-row", station=number, segments=segments_text(station.segments, wording))
    die = wording.word("picture.die-row", segments=segments_text(station.die_segments, wording))
    yield Label((punch,), (middle, top - 0.3), WORD_MM, True, (ABOVE, RIGHT, LEFT))
    right = _x(along, station.to_mm)
    if alone:
        yield Label((die,), (right, top + PUNCH_MM + GAP_MM + DIE_MM / 2), WORD_MM, False, (RIGHT, LEFT, BELOW))


def segments_text(segments: Sequence[SegmentUse], wording: Wording) -> str:
    """The segments of a tool, left to right, in whole mm."""
    return " + ".join(wording.length(segment.length_mm, 1.0) for segment in segments)


def _part_places(taken: Sequence[tuple[float, float]], along: Ruler, top: float) -> Iterator[Item]:
    """A bold line between punch and die where the part lies, once for each place."""
    level = top + PUNCH_MM + GAP_MM / 2
    for start_mm, end_mm in taken:
        yield Line(((_x(along, start_mm), level), (_x(along, end_mm), level)), BOLD)
