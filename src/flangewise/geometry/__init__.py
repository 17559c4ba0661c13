"""Points, outlines with arcs, and chains, as plain numbers in mm and degrees; never a part or a shop."""

from typing import TYPE_CHECKING

from flangewise.late import late

from .outline import (
    NoseOfPunch as NoseOfPunch,
    Outline as Outline,
    Point as Point,
    Points as Points,
    VeeOfDie as VeeOfDie,
    nose_of_punch as nose_of_punch,
    vee_of_die as vee_of_die,
)
from .ring import (
    Edge as Edge,
    area_mm2 as area_mm2,
    crossing as crossing,
    edges_of as edges_of,
    inner_angle_deg as inner_angle_deg,
)

if TYPE_CHECKING:
    from .arc_ring import (
        Vertex as Vertex,
        area_with_arcs_mm2 as area_with_arcs_mm2,
        drawn_out as drawn_out,
        tidied as tidied,
    )
    from .chain import (
        Chain as Chain,
        Path as Path,
        arc_chords as arc_chords,
        done_angles as done_angles,
        section_path as section_path,
        wing_path as wing_path,
        zone_points as zone_points,
    )
    from .facet import EdgeKind as EdgeKind, Facet as Facet, bar as bar
    from .fold import Fold as Fold, Hinge as Hinge, fold_tree as fold_tree, hinge_motion as hinge_motion
    from .frame import (
        Frame as Frame,
        Rotation as Rotation,
        SpacePoints as SpacePoints,
        Vector as Vector,
        as_frame as as_frame,
        shift as shift,
        turn_about_along as turn_about_along,
    )
    from .plate import Plate as Plate, depth_mm as depth_mm, plate_of as plate_of

# Loaded when first asked for: what only reads tools off their outlines needs none of it, and must start quickly.
__getattr__ = late(__name__, "chain", "fold", "frame", "arc_ring", "plate", "facet")
