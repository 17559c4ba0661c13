"""Do sheet and tools meet, through a whole stroke, and by how much.

Takes bodies and chains as plain numbers. Gives regions no wing may enter, distances, overlaps, and the
way in and out of the tools. Relies on geometry; the only room with shapely beside the replay.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .apart import (
    lines_apart_mm as lines_apart_mm,
    point_from_line_mm as point_from_line_mm,
    through_stroke_mm as through_stroke_mm,
)
from .bodies import Body as Body, Outline as Outline, ToolStack as ToolStack, outline_of as outline_of
from .choices import Bits as Bits, InEachWay as InEachWay, shrunk_machine as shrunk_machine
from .exits import (
    CHORD_MM as CHORD_MM,
    GRID_MM as GRID_MM,
    Movables as Movables,
    WayOut as WayOut,
    least_lift_mm as least_lift_mm,
    movables as movables,
    pulls_out as pulls_out,
    tallest_gap_mm as tallest_gap_mm,
    way_out as way_out,
)
from .folding import Meeting as Meeting, pieces_meet as pieces_meet, wings_meet as wings_meet
from .pressed import LIFT_MM as LIFT_MM, Slide as Slide, slid_region as slid_region
from .region import (
    BULGE_MM as BULGE_MM,
    MACHINE as MACHINE,
    Forbidden as Forbidden,
    Geometries as Geometries,
    Region as Region,
    Shrunk as Shrunk,
    lines_of as lines_of,
)
from .stops import bodies_met as bodies_met, finger_obstacles as finger_obstacles
from .stroke import Stroke as Stroke
from .swept import (
    CONTACT_MM as CONTACT_MM,
    grow_mm as grow_mm,
    lies_within as lies_within,
    swept_region as swept_region,
    swung_alone as swung_alone,
)
from .tilted import Place as Place, TiltedWay as TiltedWay, Tilting as Tilting

if TYPE_CHECKING:
    from .apart_in_space import Prism as Prism, least_apart_mm as least_apart_mm, prisms as prisms
    from .leaving import StandingTool as StandingTool, WayOutOfRow as WayOutOfRow, way_out_of_row as way_out_of_row
    from .meeting import (
        SpaceMeeting as SpaceMeeting,
        at_rest as at_rest,
        slid_into as slid_into,
        solids_meet as solids_meet,
    )
    from .nested import is_clear as is_clear, moved as moved, shared_mm2 as shared_mm2
    from .pressed_row import pressed_regions as pressed_regions
    from .solids import Solid as Solid, Solids as Solids, convex_rings as convex_rings, shadows as shadows
    from .stretches import (
        FATAL as FATAL,
        Runs as Runs,
        Stretches as Stretches,
        ToolRegions as ToolRegions,
        foot_of as foot_of,
        half_mm as half_mm,
        joined as joined,
        together as together,
        tool_regions as tool_regions,
    )
    from .turning import Turned as Turned, turned_out as turned_out

# Loaded when first asked for: sections need none of it.
__getattr__ = late(
    __name__, "solids", "stretches", "meeting", "leaving", "turning", "pressed_row", "apart_in_space", "nested"
)
