"""Points, outlines, folds and frames as plain numbers in mm and degrees.

Takes numbers, never a part or a shop. Gives outlines with arcs and what is read off them.
Relies on numpy only.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from flangewise.geometry.outline import (
    Arc,
    NoseOfPunch,
    Outline,
    Point,
    Points,
    VeeOfDie,
    arc_at,
    nose_of_punch,
    vee_of_die,
)

if TYPE_CHECKING:
    from flangewise.geometry.chain import (
        Chain,
        Path,
        done_angles,
        section_path,
        sharp_chain,
        wing_path,
        zone_points,
    )
    from flangewise.geometry.fold import Fold, Hinge, fold_tree, hinge_motion
    from flangewise.geometry.frame import Frame, Rotation, SpacePoints, Vector, shift, turn_about_along, turn_about_up

# Loaded when first asked for: what only reads tools off their outlines needs none of it, and must start quickly.
_LATE = {
    "chain": {"Chain", "Path", "done_angles", "section_path", "sharp_chain", "wing_path", "zone_points"},
    "fold": {"Fold", "Hinge", "fold_tree", "hinge_motion"},
    "frame": {"Frame", "Rotation", "SpacePoints", "Vector", "shift", "turn_about_along", "turn_about_up"},
}

__all__ = [
    "Arc",
    "Chain",
    "Fold",
    "Frame",
    "Hinge",
    "NoseOfPunch",
    "Outline",
    "Path",
    "Point",
    "Points",
    "Rotation",
    "SpacePoints",
    "Vector",
    "VeeOfDie",
    "arc_at",
    "done_angles",
    "fold_tree",
    "hinge_motion",
    "nose_of_punch",
    "section_path",
    "sharp_chain",
    "shift",
    "turn_about_along",
    "turn_about_up",
    "vee_of_die",
    "wing_path",
    "zone_points",
]


def __getattr__(name: str) -> object:
    """A name of a module that is loaded late; AttributeError for one the room does not have."""
    for module, given in _LATE.items():
        if name in given:
            return getattr(import_module(f".{module}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
