"""The blank: faces, bend zones and holes on the flat sheet, and its DXF.

Takes a Part and the inside radius of each bend. Gives a FlatPattern, and the bytes of its DXF.
Relies on bend for allowances, on geometry for folding it up again, on part and the shop's layer names.
"""

from flangewise.pattern.dxf import dxf_bytes
from flangewise.pattern.flat_pattern import BendZone, FlatFace, FlatHole, FlatPattern
from flangewise.pattern.folded import folded, hinges
from flangewise.pattern.misload import QUARTER, Misload, misloads
from flangewise.pattern.section import NoBlank, lay_out

__all__ = [
    "QUARTER",
    "BendZone",
    "FlatFace",
    "FlatHole",
    "FlatPattern",
    "Misload",
    "NoBlank",
    "dxf_bytes",
    "folded",
    "hinges",
    "lay_out",
    "misloads",
]
