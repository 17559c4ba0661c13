"""The blank as DXF (R2010), in mm: what is cut, where it is bent, which corner and face it is loaded by.

Contours are closed and alone on their layer, bend lines never on it; layers differ by name and line type, all in one
neutral colour. The datum corner (start edge, left) is the origin and the marked face looks at the viewer. The same
blank gives the same bytes: handles count from the start, dates and identifiers of the file are fixed.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from flangewise.pattern.flat_pattern import Blank, DrawnPanelBlank, PanelBlank
from flangewise.pattern.mark import load_mark_mm, room_for_mark
from flangewise.shop import LayerNames

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

NEUTRAL_COLOUR = 7
MILLIMETRES = 4
METRIC = 1
# Line types as lengths in mm: dashes, and dashes with a dot between them (whole length first, gaps negative).
DASHED_MM = (9.0, 6.0, -3.0)
DASH_DOT_MM = (13.0, 8.0, -2.0, 1.0, -2.0)
NAME_SHARE = 0.6
# A letter is about as wide as this share of its height; enough to keep a name on its face.
LETTER_WIDTH_SHARE = 1.0


def dxf_bytes(pattern: Blank, layers: LayerNames | None = None) -> bytes:
    """The blank's DXF as a file's bytes; `layers` are the shop's layer names."""
    names = layers or LayerNames()
    library = _library()
    with _fixed_identity(library.options):
        document: Drawing = library.new("R2010")
        document.units = MILLIMETRES
        document.header["$MEASUREMENT"] = METRIC
        _add_layers(document, names)
        space = document.modelspace()
        _cut(space, pattern, names.cut)
        _bend_lines(space, pattern, names)
        _load_mark(space, pattern, names.mark)
        # The library tells its kinds of object in the order of a set, which each process has its own of.
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        text = io.StringIO()
        document.write(text)
    return document.encode(text.getvalue())


def _library() -> Any:
    """ezdxf, loaded when a DXF is wanted: it takes longer to load than all the rest of a blank."""
    import ezdxf

    return ezdxf


@contextmanager
def _fixed_identity(options: Any) -> Iterator[None]:
    """The library writes the time and new identifiers into each file, unless told so; its setting is put back."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add_layers(document: Drawing, names: LayerNames) -> None:
    document.linetypes.add("BEND_TOWARD", DASHED_MM, description="toward the marked face __ __ __")
    document.linetypes.add("BEND_AWAY", DASH_DOT_MM, description="away from the marked face __ . __ . __")
    for name, linetype in (
        (names.cut, "CONTINUOUS"),
        (names.bend_toward, "BEND_TOWARD"),
        (names.bend_away, "BEND_AWAY"),
        (names.mark, "CONTINUOUS"),
    ):
        document.layers.add(name, color=NEUTRAL_COLOUR, linetype=linetype)


def _cut(space: Modelspace, pattern: Blank, layer: str) -> None:
    if isinstance(pattern, PanelBlank):
        points = [(*point, bulge) for point, bulge in zip(pattern.outline_mm, pattern.bulges, strict=True)]
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
    else:
        space.add_lwpolyline(pattern.outline_mm, close=True, dxfattribs={"layer": layer})
    for hole in pattern.holes:
        if hole.diameter_mm is not None:
            space.add_circle(hole.centre_mm, hole.diameter_mm / 2, dxfattribs={"layer": layer})
        else:
            space.add_lwpolyline(hole.corners_mm, close=True, dxfattribs={"layer": layer})


def _bend_lines(space: Modelspace, pattern: Blank, names: LayerNames) -> None:
    drawn = pattern.lines_mm if isinstance(pattern, DrawnPanelBlank) else [zone.line_mm for zone in pattern.zones]
    for zone, line in zip(pattern.zones, drawn, strict=True):
        layer = names.bend_toward if zone.toward else names.bend_away
        space.add_line(*line, dxfattribs={"layer": layer})


def _load_mark(space: Modelspace, pattern: Blank, layer: str) -> None:
    """A triangle that fills the datum corner's side of the first face, and the part's name beside it."""
    (x_mm, y_mm), length_mm, _ = room_for_mark(pattern)
    placed = load_mark_mm(pattern)
    space.add_lwpolyline(placed, close=True, dxfattribs={"layer": layer})
    size_mm = placed[1][0] - placed[0][0]
    inset_mm = size_mm / 4
    left_mm = 2 * inset_mm + size_mm
    fits_mm = (length_mm - left_mm - inset_mm) / (len(pattern.part) * LETTER_WIDTH_SHARE)
    height_mm = min(NAME_SHARE * size_mm, fits_mm)
    at_mm = (x_mm + left_mm, y_mm + inset_mm)
    space.add_text(pattern.part, height=height_mm, dxfattribs={"layer": layer, "insert": at_mm})
