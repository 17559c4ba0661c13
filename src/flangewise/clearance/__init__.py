"""Do sheet and tools meet, through a whole stroke, and by how much.

Takes bodies and chains as plain numbers. Gives regions no wing may enter, distances, overlaps, and the
way in and out of the tools. Relies on geometry; the only room with shapely beside the replay.
"""

from flangewise.clearance.bodies import Body, Outline, ToolStack
from flangewise.clearance.exits import GRID_MM, Movables, WayOut, least_lift_mm, movables, way_out
from flangewise.clearance.folding import Meeting, pieces_meet, wings_meet
from flangewise.clearance.pressed import LIFT_MM, Slide, slid_region
from flangewise.clearance.slabs import SpaceFace, fits, forbidden_stretches, free_stretches
from flangewise.clearance.stops import finger_obstacles
from flangewise.clearance.stroke import Stroke
from flangewise.clearance.swept import BULGE_MM, CONTACT_MM, Region, grow_mm, swept_region

__all__ = [
    "BULGE_MM",
    "CONTACT_MM",
    "GRID_MM",
    "LIFT_MM",
    "Body",
    "Meeting",
    "Movables",
    "Outline",
    "Region",
    "Slide",
    "SpaceFace",
    "Stroke",
    "ToolStack",
    "WayOut",
    "finger_obstacles",
    "fits",
    "forbidden_stretches",
    "free_stretches",
    "grow_mm",
    "least_lift_mm",
    "movables",
    "pieces_meet",
    "slid_region",
    "swept_region",
    "way_out",
    "wings_meet",
]
