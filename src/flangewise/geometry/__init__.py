"""Points, outlines, folds and frames as plain numbers in mm and degrees.

Takes numbers, never a part or a shop. Gives outlines with arcs and what is read off them.
Relies on numpy only.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .outline import (
    Arc as Arc,
    NoseOfPunch as NoseOfPunch,
    Outline as Outline,
    Point as Point,
    Points as Points,
    VeeOfDie as VeeOfDie,
    arc_at as arc_at,
    nose_of_punch as nose_of_punch,
    vee_of_die as vee_of_die,
)

if TYPE_CHECKING:
    from .chain import (
        Chain as Chain,
        Path as Path,
        done_angles as done_angles,
        section_path as section_path,
        sharp_chain as sharp_chain,
        wing_path as wing_path,
        zone_points as zone_points,
    )
    from .fold import Fold as Fold, Hinge as Hinge, fold_tree as fold_tree, hinge_motion as hinge_motion
    from .frame import (
        Frame as Frame,
        Rotation as Rotation,
        SpacePoints as SpacePoints,
        Vector as Vector,
        shift as shift,
        turn_about_along as turn_about_along,
        turn_about_up as turn_about_up,
    )

# Loaded when first asked for: what only reads tools off their outlines needs none of it, and must start quickly.
__getattr__ = late(__name__, "chain", "fold", "frame")
