"""The tools along the bed as the operator sees them: left end left, segments, and the part's place at each station."""

from collections.abc import Iterator, Sequence

from flangewise import drawing as draw
from flangewise.punch_die import Station
from flangewise.sheet.data import SheetData
from flangewise.sheet.job_words import segments_text
from flangewise.sheet.wording import Wording

WORD_MM = 3.2
SIDE_MM = 6.0
PUNCH_MM, DIE_MM, BED_MM, GAP_MM = 6.0, 5.0, 2.5, 4.0
"""Heights on paper of punch, die, bed and the gap between punch and die: not to scale."""
TOP_MM = 6.0
DIE_AT_MM = PUNCH_MM + GAP_MM
BED_AT_MM = DIE_AT_MM + DIE_MM
FOOT_AT_MM = BED_AT_MM + BED_MM
"""How far below the top of the punches the dies and the bed begin, and the bed ends."""


@draw.within
def bed_picture(
    growth_mm: float, sheet: SheetData, wording: Wording, *, width_mm: float, height_mm: float
) -> draw.Built:
    """All stations on one bed. Lengths are to scale, broken where nothing stands; heights are not."""
    bed_mm, part_mm = sheet.machine.bed_length_mm, sheet.pattern.along_bends_mm
    places_mm = sorted({round(step.part_from_mm, 2) for step in sheet.setup.steps})
    stations = [station for each in sheet.mountings for station in sheet.stations_of(each)]
    taken = [(at_mm, at_mm + part_mm) for at_mm in places_mm]
    along = _along(stations, taken, bed_mm=bed_mm, room_mm=width_mm - 2 * SIDE_MM).begun_at(SIDE_MM)
    top = TOP_MM + growth_mm / 2
    drawing = draw.Drawing(width_mm, height_mm + growth_mm, described=wording.word("alt.bed"))
    drawing = drawing.adding(_bed(along, top, bed_mm))
    end, spot, beside = wording.word("picture.left-end"), (SIDE_MM, top + DIE_AT_MM), (draw.BELOW, draw.RIGHT)
    labels = [draw.Label((end,), spot, WORD_MM, led=False, prefer=beside)]
    middle = wording.word("picture.centre", at=wording.length(bed_mm / 2, 1.0))
    below = (along.paper_mm(bed_mm / 2), top + FOOT_AT_MM + 5.0)
    labels.append(draw.Label((middle,), below, WORD_MM, prefer=(*beside, draw.LEFT), led=False))
    for number, station in enumerate(stations, start=1):
        drawing = drawing.adding(_tool_blocks(station, along, top))
        # From where to where the station stands.
        ends = ((along.paper_mm(at_mm), top + FOOT_AT_MM) for at_mm in (station.from_mm, station.to_mm))
        drawing = drawing.adding(draw.linear(*ends, off_mm=-4.0, words="").lines)
        labels += _station_labels(number, station, along, top, wording, alone=len(stations) == 1)
    # A bold line between punch and die where the part lies, once for each place.
    level = top + PUNCH_MM + GAP_MM / 2
    places = (((along.paper_mm(start), level), (along.paper_mm(end), level)) for start, end in taken)
    return drawing.adding(draw.Line(ends, draw.BOLD) for ends in places), labels


def _along(
    stations: Sequence[Station], taken: Sequence[tuple[float, float]], *, bed_mm: float, room_mm: float
) -> draw.Ruler:
    """The whole bed if its stations then are broad enough, else the largest scale at which they all show whole."""
    stand = [(station.from_mm, station.to_mm) for station in stations]
    keep = [(start - 5, end + 5) for start, end in (*stand, *taken)]
    taken_mm = max((end - start for start, end in stand), default=bed_mm)
    whole = next(scale for scale in reversed(draw.SCALES) if scale * bed_mm <= room_mm or scale == draw.SCALES[0])
    for scale in (scale for scale in reversed(draw.SCALES) if whole < scale and scale * taken_mm <= room_mm * 0.5):
        found = draw.ruler(bed_mm, room_mm, scale=scale, keep=keep)
        if found is not None:
            return found
    return draw.unbroken(bed_mm, whole)


def _bed(along: draw.Ruler, top: float, bed_mm: float) -> Iterator[draw.Item]:
    """The bed below, in its pieces, and the middle of the machine."""
    high, low = top + BED_AT_MM, top + FOOT_AT_MM
    for left, right in along.stretches_mm:
        yield from (draw.Line(((left, level), (right, level)), draw.MEDIUM) for level in (high, low))
    for ends in along.breaks_mm():
        yield from (draw.zigzag((x, high - 2), (x, low + 2), tooth_mm=1.0) for x in ends)
    for edge in (along.paper_mm(0.0), along.paper_mm(bed_mm)):
        yield draw.Line(((edge, high), (edge, low)), draw.MEDIUM)
    middle = along.paper_mm(bed_mm / 2)
    yield draw.Line(((middle, top - 3.0), (middle, low + 3.0)), draw.CHAIN)


def _tool_blocks(station: Station, along: draw.Ruler, top: float) -> Iterator[draw.Item]:
    """Punch segments above, die segments below, each segment a box; hatched as in the step pictures."""
    rows = ((station.segments, top, PUNCH_MM, -45.0), (station.die_segments, top + DIE_AT_MM, DIE_MM, 45.0))
    for segments, upper, high, angle_deg in rows:
        long_mm = sum(segment.length_mm for segment in segments)
        at_mm = station.centre_mm - long_mm / 2
        whole = draw.Box(along.paper_mm(at_mm), upper, along.paper_mm(at_mm + long_mm), upper + high)
        if whole.width_mm > 0.5:
            yield from draw.hatch(whole.corners_mm, pitch_mm=2.4, angle_deg=angle_deg)
        for segment in segments:
            box = draw.Box(along.paper_mm(at_mm), upper, along.paper_mm(at_mm + segment.length_mm), upper + high)
            yield draw.Line(box.corners_mm, draw.MEDIUM, closed=True)
            at_mm += segment.length_mm


def _station_labels(
    number: int, station: Station, along: draw.Ruler, top: float, wording: Wording, *, alone: bool
) -> Iterator[draw.Label]:
    """Its tools, and its ends from the bed's left end: at each end, or in one where another may stand close by."""
    left, right, low = along.paper_mm(station.from_mm), along.paper_mm(station.to_mm), top + FOOT_AT_MM + 5.0
    punch = wording.word("picture.punch-row", station=number, segments=segments_text(station.segments, wording))
    die = wording.word("picture.die-row", segments=segments_text(station.die_segments, wording))
    first, last = wording.length(station.from_mm, 1.0), wording.length(station.to_mm, 1.0)
    yield draw.Label((punch,), ((left + right) / 2, top - 0.3), WORD_MM, True, (draw.ABOVE, draw.RIGHT, draw.LEFT))
    if alone:
        middle, beside = (right, top + DIE_AT_MM + DIE_MM / 2), (draw.RIGHT, draw.LEFT, draw.BELOW)
        yield draw.Label((die,), middle, WORD_MM, False, beside)
        yield draw.Label((first,), (left, low), WORD_MM, True, (draw.BELOW, draw.LEFT))
        yield draw.Label((last,), (right, low), WORD_MM, True, (draw.BELOW, draw.RIGHT))
    else:
        yield draw.Label((f"{first} – {last}", die), ((left + right) / 2, low), WORD_MM, True, (draw.BELOW,))
