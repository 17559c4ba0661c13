"""A blank folded up in space, bend by bend or whole."""

from __future__ import annotations

from collections.abc import Collection

from flangewise.pattern import BendZone, FlatPattern

from .fold import Fold, Hinge, fold_tree
from .frame import Frame


def hinges(pattern: FlatPattern) -> tuple[Hinge, ...]:
    """The bend zones of a blank as hinges between its faces, in their order."""
    return tuple(_hinge(zone) for zone in pattern.zones)


def _hinge(zone: BendZone) -> Hinge:
    left_mm, line_mm = zone.line_mm[0]
    return Hinge(
        face_from=zone.face_from,
        face_to=zone.face_to,
        edge_mm=(left_mm, line_mm - zone.allowance.allowance_mm / 2),
        axis_deg=0.0,
        width_mm=zone.allowance.allowance_mm,
        turn_deg=zone.signed_turn_deg,
        radius_mm=zone.inside_radius_mm,
    )


def folded(
    pattern: FlatPattern, *, done: Collection[int] | None = None, root: int = 1, stand: Frame | None = None
) -> Fold:
    """The blank with the bends in `done` bent (all of them, if left out), face `root` where `stand` puts it."""
    turns_deg = [zone.signed_turn_deg if done is None or zone.bend in done else 0.0 for zone in pattern.zones]
    return fold_tree(hinges(pattern), turns_deg, thickness_mm=pattern.thickness_mm, root=root, stand=stand)
