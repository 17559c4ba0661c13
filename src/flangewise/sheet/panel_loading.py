"""A hit of a panel as the operator sees it from above: the part at the stops, the row over its bend line, the hands.

Backgauge at the top, operator at the bottom. What is bent already stands; the load mark stays in its corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from flangewise import drawing as draw
from flangewise.geometry import SpacePoints, fold_tree
from flangewise.part import BASE_FACE
from flangewise.pattern import PanelBlank, hinge_of, load_mark_mm
from flangewise.sheet.hit_view import fingers_of, holding, stand_of, standing_part
from flangewise.sheet.marks import bend_mark, ringed
from flangewise.sheet.panel_data import PanelHit
from flangewise.sheet.space_picture import Spot, in_space
from flangewise.sheet.wording import Wording
from flangewise.shop import Machine

ABOVE = draw.Eye(around_deg=0.0, above_deg=90.0)
WORD_MM, BAND_MM = 2.8, 3.4
"""The words BACKGAUGE and OPERATOR, and the strips at head and foot for them."""
HAND_MM = 6.0
"""Room below the part for the hands."""
ROW_MM = 1.7
"""Half the width of the band on paper that stands for the row over the bend line."""
LEVEL_MM = 0.01
MARK_MM = 2.8
"""How large the load mark is at least, on paper."""


def operator_picture(
    blank: PanelBlank, step: PanelHit, machine: Machine, wording: Wording, *, width_mm: float, height_mm: float
) -> draw.Drawing:
    """How the part lies for one hit, seen from above, in a room of that size."""
    ordered, keyed = step.ordered, step.keyed
    facets = standing_part(blank, keyed, ordered, bent=False)
    bodies = [draw.SpaceBody(facets), *fingers_of(keyed, machine)]
    described = wording.word("alt.operator", step=str(keyed.step), face=wording.word(f"face-{keyed.marked_face}"))
    room_mm = height_mm - 2 * BAND_MM - HAND_MM
    drawing, spot = in_space(
        bodies, width_mm=width_mm, height_mm=room_mm, described=described, eye=ABOVE, down_mm=BAND_MM
    )
    drawing = drawing.adding([*_lines(blank, step, spot), *_row(step, spot)])
    words = (
        draw.Text((width_mm / 2, WORD_MM), wording.word("backgauge"), WORD_MM, True, "middle"),
        draw.Text((width_mm / 2, height_mm - 0.6), wording.word("operator"), WORD_MM, True, "middle"),
    )
    drawing = draw.Drawing(width_mm, height_mm, (*drawing.items, *words), described)
    return holding(drawing, facets, keyed, step.held, spot, wording)


def _lines(blank: PanelBlank, step: PanelHit, spot: Spot) -> Iterator[draw.Item]:
    """Lines still to be bent on faces that lie level, dashed; and the load mark where its face is seen."""
    ordered = step.ordered
    stand = stand_of(ordered, blank.thickness_mm)
    turns_deg = [zone.signed_turn_deg if zone.bend in ordered.done else 0.0 for zone in blank.zones]
    fold = fold_tree(
        tuple(map(hinge_of, blank.zones)),
        turns_deg,
        thickness_mm=blank.thickness_mm,
        root=ordered.operation.parents[0],
        stand=stand,
    )
    half_mm = blank.thickness_mm / 2
    for zone in blank.zones:
        if zone.bend in ordered.done or zone.bend in step.keyed.bends:
            continue
        for run in zone.runs_mm:
            ends = [spot(each) for each in fold.folded_mm(zone.face_from, list(run), up_mm=half_mm)]
            yield draw.Line(tuple(ends), draw.DASHED)
    corners = fold.folded_mm(BASE_FACE, list(load_mark_mm(blank)), up_mm=half_mm)
    if _turned_up(corners):
        at, *ends = (spot(each) for each in corners)
        larger = max(1.0, MARK_MM / math.dist(at, ends[0]))
        yield draw.Line((at, *(draw.between(at, end, larger) for end in ends)), None, closed=True, fill="black")


def _turned_up(corners: SpacePoints) -> bool:
    """Whether a triangle lies level with its marked side up."""
    (x, y, z), (ax, ay, az), (bx, by, bz) = (tuple(map(float, corner)) for corner in corners)
    level = max(abs(az - z), abs(bz - z)) < LEVEL_MM
    return level and (ax - x) * (by - y) - (ay - y) * (bx - x) > 0.0


def _row(step: PanelHit, spot: Spot) -> Iterator[draw.Item]:
    """The bend line heavy, the punch row over it segment by segment, the letters of the bends in a ring beside it."""
    ordered = step.ordered
    ends = [spot((mm, 0.0, 0.0)) for mm in (ordered.punch.from_mm, ordered.punch.to_mm)]
    (left, level), (right, _) = ends
    for from_mm, to_mm in ordered.punch.segments_mm:
        (begin, _), (end, _) = spot((from_mm, 0.0, 0.0)), spot((to_mm, 0.0, 0.0))
        yield draw.Line(draw.Box(begin, level - ROW_MM, end, level + ROW_MM).corners_mm, draw.THIN, closed=True)
    for low, high in runs_on_bed_mm(step):
        yield draw.Line((spot((low, 0.0, 0.0)), spot((high, 0.0, 0.0))), draw.BOLD)
    letters = " ".join(map(bend_mark, step.keyed.bends))
    yield from ringed(letters, ((left + right) / 2, level), size_mm=3.0)


def runs_on_bed_mm(step: PanelHit) -> tuple[tuple[float, float], ...]:
    """The bends of a hit along the bed, from the left end of the leftmost."""
    operation = step.ordered.operation
    if step.ordered.marked_up != step.ordered.parent_behind:
        return operation.runs_mm
    long_mm = operation.length_mm
    return tuple((long_mm - high, long_mm - low) for low, high in reversed(operation.runs_mm))
