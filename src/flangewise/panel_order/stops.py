"""Where stops touch a panel before a hit: straight edges along the bed and formed flanges, behind, furthest out.

The sheet lies flat on the die. A finger is a box as wide and high as it is, coming from behind. Whether a place is
within the fingers' travel along the bed hangs on where the part stands and is not known here.

Source: derived here; the insets and the least length are common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from flangewise.geometry import SpacePoints
from flangewise.panel_order.gauging import Fingers, PanelGauging
from flangewise.panel_order.side import SideTouch
from flangewise.panel_order.touching import AtHeight, Contact, Touchable, solids_of

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit

# From the end of an edge to a finger's side where there is room, and the least length of edge that is touched.
INSET_MM, LEAST_EDGE_MM = 5.0, 10.0
HEIGHTS, RISE_STEPS = 9, 240
RETRACT_MM = 0.05


def stops(hit: SpaceHit, done: frozenset[int]) -> tuple[PanelGauging, ...]:
    """All that stops may touch, best first: the least wishes, one edge before two, fingers far apart, near the die.

    How far fingers retract is not looked at (`retract_mm`).
    """
    if hit.fingers is None:
        return ()
    found: dict[tuple[float, tuple[float, ...]], tuple[bool, PanelGauging]] = {}
    at_height = AtHeight(hit, done)
    for plate in at_height.plates:
        for r_mm in _heights(hit.fingers, plate, hit.shapes.blank.thickness_mm):
            contact = at_height.contact(plate, r_mm)
            gauged = [] if contact is None else list(_fingers(hit, contact, r_mm, at_height))
            for parted, each in gauged:
                found.setdefault((round(each.x_mm, 2), each.z_mm), (parted, each))
            if gauged:
                break
    ranked = sorted(found.values(), key=lambda each: _rank(*each))
    return tuple(each for _, each in ranked)


def _rank(parted: bool, gauged: PanelGauging) -> tuple[float, bool, float, float]:
    return round(gauged.wish_s, 6), parted, round(gauged.z_mm[0] - gauged.z_mm[-1], 3), gauged.x_mm


def _heights(fingers: Fingers, plate: Touchable, thickness_mm: float) -> list[float]:
    """Heights of the finger's lower edge above the die top to be tried, the contact in the middle of its face first."""
    gauge, low, high = fingers.gauge, plate.low_mm, plate.high_mm
    if plate.on == "flange":
        depth = min(gauge.contact_mm, high - low) / 2
        low, high = low + depth, high - depth
    least, most = max(gauge.r_min_mm, low - fingers.face_mm), min(gauge.r_max_mm, high)
    if least > most:
        return []
    wished = float(np.clip((low + high) / 2 - fingers.face_mm / 2, least, most))
    # On the die's top there is room where there is none beside it.
    level = [0.0] if least <= 0.0 <= most else []
    every = dict.fromkeys([wished, *level, *np.linspace(least, most, HEIGHTS).tolist()])
    return sorted(every, key=lambda r: abs(r - wished))


def _fingers(hit: SpaceHit, contact: Contact, r_mm: float, at_height: AtHeight) -> Iterator[tuple[bool, PanelGauging]]:
    """Two fingers as far apart as may be, else one; whether they touch two edges. At least one is on the plate."""
    fingers = hit.fingers
    assert fingers is not None
    half_mm = fingers.width_mm / 2
    for at, parted in _chosen(fingers, contact, half_mm):
        if any(contact.own_mm[0] <= place <= contact.own_mm[1] for place in at):
            side = at_height.side if len(at) == 1 else None
            yield parted, _gauging(hit, contact, r_mm, at, side)


def _chosen(fingers: Fingers, contact: Contact, half_mm: float) -> Iterator[tuple[tuple[float, ...], bool]]:
    single: tuple[float, ...] = ()
    for inset_mm in (half_mm + INSET_MM, half_mm, 0.0):
        places = _places(contact, inset_mm, half_mm)
        if not places:
            continue
        first, last = places[0][0], places[-1][1]
        if fingers.count > 1 and last - first >= fingers.least_spacing_mm:
            yield (first, last), not any(low <= first and last <= high for low, high in contact.edges_mm)
            return
        widest = max(places, key=lambda place: place[1] - place[0])
        single = single or ((widest[0] + widest[1]) / 2,)
    if single:
        yield single, False


def _places(contact: Contact, inset_mm: float, half_mm: float) -> list[tuple[float, float]]:
    """Where the middle of a finger may stand: along edges, so far from their ends, clear of what stands further out."""
    found = []
    for low, high in contact.edges_mm:
        if high - low < LEAST_EDGE_MM:
            continue
        at, end = low + inset_mm, high - inset_mm
        for start, stop in contact.banned_mm:
            if stop + half_mm <= at or start - half_mm >= end:
                continue
            if start - half_mm > at:
                found.append((at, start - half_mm))
            at = max(at, stop + half_mm)
        if end >= at:
            found.append((at, end))
    return found


def _gauging(
    hit: SpaceHit, contact: Contact, r_mm: float, at: tuple[float, ...], side: SideTouch | None
) -> PanelGauging:
    fingers, plate = hit.fingers, contact.plate
    assert fingers is not None
    bent = bin(plate.state).count("1")
    past = bent > (1 if plate.on == "flange" else 0)
    wishes = (
        ("gauging", fingers.formed_wish_s if plate.on == "flange" else 0.0),
        ("gauging", fingers.sloped_wish_s if plate.slope_deg else 0.0),
        ("gauging", fingers.past_bend_wish_s if past else 0.0),
        ("one-finger", fingers.one_finger_wish_s if len(at) == 1 and side is None else 0.0),
        ("side-stop", fingers.side.wish_s if fingers.side is not None and side is not None else 0.0),
    )
    x_mm = contact.out_mm + hit.behind.half_zone_mm
    return PanelGauging(
        on=plate.on,
        face=plate.face,
        face_name=hit.shapes.names[plate.face],
        x_mm=x_mm,
        r_mm=r_mm,
        height_mm=r_mm + fingers.face_mm / 2,
        z_mm=tuple(place + hit.shift_mm for place in at),
        retract_mm=0.0,
        past_bends=past,
        slope_deg=plate.slope_deg,
        side=side,
        wishes_s=tuple((name, price) for name, price in wishes if price),
    )


def retract_mm(hit: SpaceHit, done: frozenset[int], gauged: PanelGauging) -> float:
    """How far the wing behind pushes into the fingers while it rises, of what is in their width of the bed."""
    fingers, half_mm = hit.fingers, hit.shapes.blank.thickness_mm / 2
    assert fingers is not None
    x_mm, r_mm, at_mm = gauged.x_mm, gauged.r_mm, [z_mm - hit.shift_mm for z_mm in gauged.z_mm]
    halves = np.linspace(0.0, hit.stroke.half_turn_deg, RISE_STEPS + 1)
    edge_mm = float(hit.stroke.edge_mm(halves)[:, 0].max())
    worst = x_mm
    for solid in solids_of(hit.behind, done, half_mm):
        corners = solid.corners_mm
        low, high = float(corners[:, 0].min()), float(corners[:, 0].max())
        beside = any(low < place + fingers.width_mm / 2 and high > place - fingers.width_mm / 2 for place in at_mm)
        # No point comes further than it is from the wing's own edge, and that one from the middle.
        if not beside or float(np.hypot(corners[:, 1], corners[:, 2]).max()) + edge_mm <= x_mm + RETRACT_MM:
            continue
        laid = hit.stroke.laid_mm(corners[:, 1:], halves)
        one, other = np.triu_indices(len(corners), k=1)
        worst = max(worst, _furthest_mm(laid[:, one], laid[:, other], r_mm, r_mm + fingers.high_mm))
    return worst - x_mm if worst - x_mm > RETRACT_MM else 0.0


def _furthest_mm(firsts: SpacePoints, lasts: SpacePoints, low_mm: float, high_mm: float) -> float:
    """How far out lines (moments, lines, 2) reach between two heights, at most; minus infinity for not at all."""
    rise = lasts[..., 1] - firsts[..., 1]
    level = np.abs(rise) < 1e-12
    shares = np.stack([(height - firsts[..., 1]) / np.where(level, 1.0, rise) for height in (low_mm, high_mm)])
    inside = (firsts[..., 1] >= low_mm) & (firsts[..., 1] <= high_mm)
    start = np.where(level, 0.0, np.maximum(shares.min(axis=0), 0.0))
    end = np.where(level, 1.0, np.minimum(shares.max(axis=0), 1.0))
    run = lasts[..., 0] - firsts[..., 0]
    far = np.maximum(firsts[..., 0] + start * run, firsts[..., 0] + end * run)
    return float(np.where(np.where(level, inside, start <= end), far, -np.inf).max())
