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

if TYPE_CHECKING:
    from .chain import (
        Chain as Chain,
        Path as Path,
        done_angles as done_angles,
        section_path as section_path,
        wing_path as wing_path,
        zone_points as zone_points,
    )

# Loaded when first asked for: what only reads tools off their outlines needs none of it, and must start quickly.
__getattr__ = late(__name__, "chain")
