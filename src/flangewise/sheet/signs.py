"""Small signs: how the part is moved between two hits, and where depth, X, R and Z are counted from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from flangewise import drawing as draw
from flangewise.sheet.data import Point
from flangewise.sheet.wording import Wording

WIDTH_MM, HEIGHT_MM = 20.0, 11.0
ZERO_WIDTH_MM, ZERO_HEIGHT_MM = 62.0, 23.0
LETTER_MM = 3.2
SMALL, ZERO_SMALL = 0.8, 0.56
"""Signs are laid out in round millimetres and printed at these scales."""


def move_sign(code: str, wording: Wording) -> draw.Drawing:
    """The sign of a move by its code in the catalogue; a plain arrow down to the next hit for one without a sign."""
    drawing = draw.Drawing(WIDTH_MM * SMALL, HEIGHT_MM * SMALL, described=wording.word("alt.move"))
    signs = {
        "move.turn-over-bed": _over_bed,
        "move.turn-over-front": _over_front,
        "move.turn-in-plane": _half_turn,
        "move.tilt-front-up": _tilt,
        "move.tilt-front-down": _tilt_down,
        "move.tilt-right-up": _tilt,
        "move.tilt-left-up": _tilt_left,
        "move.tilt-askew-left": _tilt,
        "move.tilt-askew-right": _tilt,
        "move.to-stop-nearer": _pull,
        "move.to-stop-further": _push,
        "move.shift-left": _shift_left,
        "move.shift-right": _shift_right,
        "move.side-exit": _shift_right,
        "move.tilt-in": _tilt,
        "move.tilt-out": _tilt,
        "move.tilt-out-with-punch": _tilt,
        "move.tool-change": _tools,
        "move.tool-change-turned": _tools,
    }
    return drawing.adding(_smaller(item, SMALL) for item in signs.get(code, _stay)())


def _smaller(item: draw.Item, scale: float) -> draw.Item:
    """A line at a scale; a text keeps its size and only moves."""
    if isinstance(item, draw.Text):
        return replace(item, at_mm=(item.at_mm[0] * scale, item.at_mm[1] * scale))
    return replace(item, points_mm=tuple((x * scale, y * scale) for x, y in item.points_mm))


def _arc(centre: Point, radii: Point, from_deg: float, to_deg: float) -> Iterator[draw.Item]:
    """A piece of an ellipse with an arrow head at its end; angles counterclockwise as seen, 0 to the right."""
    steps = [math.radians(from_deg + (to_deg - from_deg) * step / 24) for step in range(25)]
    spots = tuple((centre[0] + radii[0] * math.cos(a), centre[1] - radii[1] * math.sin(a)) for a in steps)
    yield draw.Line(spots[:-2], draw.MEDIUM)
    yield draw.head(spots[-1], spots[-4])


def _over_bed() -> Iterator[draw.Item]:
    """Seen from the left end: the edge at the front swings up and over to the back; the marked face goes under."""
    yield draw.Line(((3.0, 9.0), (17.0, 9.0)), draw.BOLD)
    yield draw.Line(((10.0, 9.0), (10.0, 10.8)), draw.THIN)
    yield from _arc((10.0, 8.0), (6.5, 6.5), 5.0, 175.0)


def _tilt() -> Iterator[draw.Item]:
    """The part as it lay, and tilted: seen from the left end, where the operator stands to the right, or by him."""
    yield draw.Line(((3.0, 9.0), (13.0, 9.0)), draw.THIN)
    yield draw.Line(((3.0, 9.0), (11.7, 4.0)), draw.BOLD)
    yield from _arc((3.0, 9.0), (13.0, 13.0), 0.0, 32.0)


def _tilt_down() -> Iterator[draw.Item]:
    """Seen from the left end: the front goes down."""
    yield draw.Line(((3.0, 2.5), (13.0, 2.5)), draw.THIN)
    yield draw.Line(((3.0, 2.5), (11.7, 7.5)), draw.BOLD)
    yield from _arc((3.0, 2.5), (13.0, 13.0), 0.0, -32.0)


def _tilt_left() -> Iterator[draw.Item]:
    """Seen by the operator: the left end comes up."""
    yield draw.Line(((17.0, 9.0), (7.0, 9.0)), draw.THIN)
    yield draw.Line(((17.0, 9.0), (8.3, 4.0)), draw.BOLD)
    yield from _arc((17.0, 9.0), (13.0, 13.0), 180.0, 148.0)


def _over_front() -> Iterator[draw.Item]:
    """Seen by the operator: the right end swings up and over to the left; the line it turns about lies between."""
    yield draw.Line(((3.0, 7.0), (17.0, 7.0), (15.0, 10.4), (1.0, 10.4)), draw.MEDIUM, closed=True)
    yield draw.Line(((10.6, 6.0), (8.4, 11.0)), draw.CHAIN)
    yield from _arc((10.0, 7.0), (6.5, 5.5), 5.0, 175.0)


def _half_turn() -> Iterator[draw.Item]:
    """Seen from above: round in its plane by two arrows, one each half."""
    yield draw.Line(((6.0, 3.6), (14.0, 3.6), (14.0, 7.4), (6.0, 7.4)), draw.MEDIUM, closed=True)
    yield from _arc((10.0, 5.5), (8.4, 4.6), 20.0, 160.0)
    yield from _arc((10.0, 5.5), (8.4, 4.6), 200.0, 340.0)


def _stop_and_sheet() -> Iterator[draw.Item]:
    yield draw.Line(((1.0, 3.0), (4.0, 3.0), (4.0, 9.0), (1.0, 9.0)), draw.MEDIUM, closed=True)
    yield draw.Line(((6.0, 7.5), (18.0, 7.5)), draw.BOLD)


def _pull() -> Iterator[draw.Item]:
    yield from _stop_and_sheet()
    yield from draw.arrow((7.0, 4.0), (17.0, 4.0), pen=draw.MEDIUM)


def _push() -> Iterator[draw.Item]:
    yield from _stop_and_sheet()
    yield from draw.arrow((17.0, 4.0), (7.0, 4.0), pen=draw.MEDIUM)


def _bed() -> Iterator[draw.Item]:
    yield draw.Line(((1.0, 9.5), (19.0, 9.5)), draw.BOLD)
    yield draw.Line(((2.5, 6.5), (6.5, 6.5), (6.5, 9.0), (2.5, 9.0)), draw.THIN, closed=True)
    yield draw.Line(((13.5, 6.5), (17.5, 6.5), (17.5, 9.0), (13.5, 9.0)), draw.THIN, closed=True)


def _shift_left() -> Iterator[draw.Item]:
    yield from _bed()
    yield from draw.arrow((16.0, 4.0), (4.0, 4.0), pen=draw.MEDIUM)


def _shift_right() -> Iterator[draw.Item]:
    yield from _bed()
    yield from draw.arrow((4.0, 4.0), (16.0, 4.0), pen=draw.MEDIUM)


def _tools() -> Iterator[draw.Item]:
    """A punch over a die, and two arrows: one pair out, the other in."""
    yield draw.Line(((8.5, 0.8), (11.5, 0.8), (11.5, 3.4), (10.0, 5.0), (8.5, 3.4)), draw.MEDIUM, closed=True)
    yield draw.Line(
        ((7.5, 10.4), (7.5, 7.0), (9.0, 7.0), (10.0, 8.4), (11.0, 7.0), (12.5, 7.0), (12.5, 10.4)), draw.MEDIUM
    )
    yield from draw.arrow((6.5, 5.5), (1.0, 5.5), pen=draw.MEDIUM)
    yield from draw.arrow((19.0, 5.5), (13.5, 5.5), pen=draw.MEDIUM)


def _stay() -> Iterator[draw.Item]:
    yield from draw.arrow((10.0, 1.0), (10.0, 10.0), pen=draw.MEDIUM)


def zero_picture(wording: Wording) -> draw.Drawing:
    """Die, nose, sheet and stop from the left end, with the four letters where their numbers are counted from."""
    size = ZERO_WIDTH_MM * ZERO_SMALL, ZERO_HEIGHT_MM * ZERO_SMALL
    drawing = draw.Drawing(*size, described=wording.word("alt.zero"))
    top, centre, stop = 13.0, 40.0, 12.0
    die = ((30.0, 21.0), (30.0, top), (35.5, top), (centre, 19.0), (44.5, top), (50.0, top), (50.0, 21.0))
    punch = ((37.5, 1.0), (37.5, 9.0), (centre, 16.0), (42.5, 9.0), (42.5, 1.0))
    finger = ((1.0, 10.0), (stop, 10.0), (stop, 6.5), (8.0, 4.0), (1.0, 4.0))
    lines: list[draw.Item] = [
        *draw.hatch(die, pitch_mm=2.0, angle_deg=45),
        draw.Line(die, draw.MEDIUM),
        draw.Line(punch, draw.MEDIUM, fill="white"),
        draw.Line(finger, draw.MEDIUM, closed=True),
        draw.Line(((stop - 4.0, top), (60.0, top)), draw.DASHED),
        draw.Line(((centre, 17.0), (centre, 22.8)), draw.CHAIN),
        draw.Line(((stop, 10.0), (stop, 22.8)), draw.THIN),
        *draw.arrow((stop, 21.6), (centre, 21.6), both=True),
        draw.Line(((stop + 3.0, 4.4), (stop + 3.0, 10.0)), draw.THIN),
        *draw.arrow((stop + 3.0, 18.0), (stop + 3.0, top)),
        *draw.arrow((stop + 3.0, 5.0), (stop + 3.0, 10.0)),
        draw.Line(((stop, 10.0), (stop + 4.5, 10.0)), draw.THIN),
        draw.Line(((centre, 16.0), (56.0, 16.0)), draw.THIN),
        *draw.arrow((54.5, 8.6), (54.5, top)),
        *draw.arrow((54.5, 21.0), (54.5, 16.0)),
    ]
    words = (
        draw.Text((21.0, 20.4), "X", LETTER_MM, True, "middle"),
        draw.Text((stop + 6.8, 12.4), "R", LETTER_MM, True, "middle"),
        draw.Text((61.6, 6.6), wording.word("zero-depth"), 2.6, True, "end"),
    )
    return drawing.adding(_smaller(item, ZERO_SMALL) for item in [*lines, *words])
