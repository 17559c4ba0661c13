"""The blank: faces, bend zones and holes on the flat sheet, and its DXF.

Takes a Part and the inside radius of each bend; gives a FlatPattern, and the bytes of its DXF.
"""

from .dxf import dxf_bytes as dxf_bytes
from .flat_pattern import BendZone as BendZone, FlatFace as FlatFace, FlatHole as FlatHole, FlatPattern as FlatPattern
from .misload import QUARTER as QUARTER, Misload as Misload, misloads as misloads
from .section import NoBlank as NoBlank, lay_out as lay_out
