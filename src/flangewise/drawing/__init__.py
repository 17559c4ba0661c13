"""Pictures as SVG: lines of three weights, hatches, dimensions, text measured and put where there is room.

Takes: points in mm of paper, words already said. Gives: a frozen `Drawing`, and its text by `svg`. Relies on: letter
widths of DejaVu Sans that come with the package. Words are never made here.
"""

from .chart import Curve as Curve, Limit as Limit, chart as chart
from .clip import clipped as clipped, crossings_mm as crossings_mm, cut_to as cut_to, hatch as hatch
from .dimension import Dimension as Dimension, crossed as crossed, linear as linear
from .ink import Ink as Ink, bounds as bounds, clean as clean
from .items import (
    BOLD as BOLD,
    CHAIN as CHAIN,
    DASHED as DASHED,
    MEDIUM as MEDIUM,
    THIN as THIN,
    Box as Box,
    Drawing as Drawing,
    Fill as Fill,
    Item as Item,
    Line as Line,
    Pen as Pen,
    Text as Text,
    between as between,
    moved as moved,
    text_width_mm as text_width_mm,
)
from .label_room import Built as Built, with_room_for_labels as with_room_for_labels, within as within
from .marks import (
    arc_points as arc_points,
    arrow as arrow,
    datum as datum,
    head as head,
    towards as towards,
    zigzag as zigzag,
)
from .place import ABOVE as ABOVE, BELOW as BELOW, LEFT as LEFT, RIGHT as RIGHT, Label as Label, place as place
from .space import ISOMETRIC as ISOMETRIC, Eye as Eye, SpaceBody as SpaceBody, seen as seen, seen_box_mm as seen_box_mm
from .svg import path_data as path_data, svg as svg
from .view import (
    SCALES as SCALES,
    Ruler as Ruler,
    entry_mm as entry_mm,
    ridges as ridges,
    ruler as ruler,
    scale_for as scale_for,
    seen_runs as seen_runs,
    unbroken as unbroken,
)
