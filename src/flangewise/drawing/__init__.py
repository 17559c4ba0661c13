"""Pictures as SVG: lines of three weights, hatches, dimensions, text measured and put where there is room.

Takes: points in mm of paper, words already said. Gives: a frozen `Drawing`, and its text by `svg`. Relies on: letter
widths of DejaVu Sans that come with the package. Words are never made here.
"""

from flangewise.drawing.chart import Curve, Limit, chart
from flangewise.drawing.clip import clipped, cut_to
from flangewise.drawing.dimension import Dimension, lettered, linear
from flangewise.drawing.hatch import hatch
from flangewise.drawing.ink import Ink, bounds, clean
from flangewise.drawing.items import Box, Drawing, Item, Line, Text
from flangewise.drawing.marks import arc_points, arrow, circle, datum, head, zigzag
from flangewise.drawing.metrics import text_width_mm
from flangewise.drawing.pens import BOLD, BOLD_DASHED, CHAIN, DASHED, MEDIUM, THIN, Pen, Point
from flangewise.drawing.place import ABOVE, BELOW, LEFT, RIGHT, Label, place
from flangewise.drawing.sight import entry_mm, ridges, seen_runs
from flangewise.drawing.svg import svg
from flangewise.drawing.view import SCALES, Piece, Ruler, ruler, scale_for

__all__ = [
    "ABOVE",
    "BELOW",
    "BOLD",
    "BOLD_DASHED",
    "CHAIN",
    "DASHED",
    "LEFT",
    "MEDIUM",
    "RIGHT",
    "SCALES",
    "THIN",
    "Box",
    "Curve",
    "Dimension",
    "Drawing",
    "Ink",
    "Item",
    "Label",
    "Limit",
    "Line",
    "Pen",
    "Piece",
    "Point",
    "Ruler",
    "Text",
    "arc_points",
    "arrow",
    "bounds",
    "chart",
    "circle",
    "clean",
    "clipped",
    "cut_to",
    "datum",
    "entry_mm",
    "hatch",
    "head",
    "lettered",
    "linear",
    "place",
    "ridges",
    "ruler",
    "scale_for",
    "seen_runs",
    "svg",
    "text_width_mm",
    "zigzag",
]
