"""The blank: faces, bend zones and holes on the flat sheet, and its DXF.

Takes a Part and the inside radius of each bend; gives a FlatPattern, and the bytes of its DXF.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .dxf import dxf_bytes as dxf_bytes
from .flat_pattern import (
    BendZone as BendZone,
    Blank as Blank,
    DrawnPanelBlank as DrawnPanelBlank,
    FinishedSize as FinishedSize,
    FlatFace as FlatFace,
    FlatHole as FlatHole,
    FlatPattern as FlatPattern,
    NoBlank as NoBlank,
    OffsetZone as OffsetZone,
    PanelBlank as PanelBlank,
)
from .mark import load_mark_mm as load_mark_mm
from .misload import QUARTER as QUARTER, Misload as Misload, misloads as misloads
from .section import lay_out as lay_out
from .taken import taken_by as taken_by

if TYPE_CHECKING:
    from .drawn import lay_out_drawn as lay_out_drawn
    from .folded import base_turned as base_turned, hinge_of as hinge_of
    from .panel import lay_out_panel as lay_out_panel
    from .solid import bar_facets as bar_facets, part_facets as part_facets

# Loaded when first asked for: a section needs neither the walk nor what checks it.
__getattr__ = late(
    __name__,
    "panel",
    drawn=("lay_out_drawn",),
    folded=("base_turned", "hinge_of"),
    solid=("bar_facets", "part_facets"),
)
