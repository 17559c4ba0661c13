"""A blank folded up in space, bend by bend or whole."""

from __future__ import annotations

import math
from collections.abc import Collection

from flangewise.geometry import Fold, Frame, Hinge, Rotation, fold_tree
from flangewise.pattern.flat_pattern import BendZone, Blank


def hinges(pattern: Blank) -> tuple[Hinge, ...]:
    """The bend zones of a blank as hinges between its faces, in their order."""
    return tuple(hinge_of(zone) for zone in pattern.zones)


def hinge_of(zone: BendZone) -> Hinge:
    """A bend zone as a hinge: what is bent lies to the left of the line, seen from its first end to its second."""
    (x, y), (to_x, to_y) = zone.line_mm
    axis_rad, half_mm = math.atan2(to_y - y, to_x - x), zone.allowance.allowance_mm / 2
    return Hinge(
        face_from=zone.face_from,
        face_to=zone.face_to,
        edge_mm=(x + half_mm * math.sin(axis_rad), y - half_mm * math.cos(axis_rad)),
        axis_deg=math.degrees(axis_rad),
        width_mm=zone.allowance.allowance_mm,
        turn_deg=zone.signed_turn_deg,
        radius_mm=zone.inside_radius_mm,
    )


def folded(pattern: Blank, *, done: Collection[int] | None = None, root: int = 1, stand: Frame | None = None) -> Fold:
    """The blank with the bends in `done` bent (all of them, if left out), face `root` where `stand` puts it."""
    turns_deg = [zone.signed_turn_deg if done is None or zone.bend in done else 0.0 for zone in pattern.zones]
    return fold_tree(hinges(pattern), turns_deg, thickness_mm=pattern.thickness_mm, root=root, stand=stand)


def base_turned(pattern: Blank, face: int, *, done: Collection[int]) -> Rotation:
    """How the base is turned, from how it lies on the blank, with the bends `done` bent and a face left lying there."""
    over = {zone.face_to: zone for zone in pattern.zones}
    way, at = [], face
    while at in over:
        way.append(over[at])
        at = over[at].face_from
    turns_deg = [zone.signed_turn_deg if zone.bend in done else 0.0 for zone in way]
    fold = fold_tree([hinge_of(zone) for zone in way], turns_deg, thickness_mm=pattern.thickness_mm, root=face)
    return fold.frames[1].rotation
