"""Where stops touch a panel before a hit: straight edges along the bed and formed flanges, behind, furthest out.

The sheet lies flat on the die. A finger is a box as wide and high as it is, coming from behind: at its height the
furthest that anything reaches in its width is what it touches, so what stands further out takes its stretch of the bed
away. An edge that does not run along the bed is no place to touch. Fingers are held clear of the tools as if these
stood along the whole bed, and holes in a flange take their stretch away: both on the careful side. Whether a place is
within the fingers' travel along the bed hangs on where the part stands and is not known here.

Source: derived here; the insets and the least length are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from flangewise.clearance import Runs, Solid, bodies_met, joined
from flangewise.geometry import SpacePoints
from flangewise.panel_order.footprints import SAME_MM, Footprint, footprint
from flangewise.panel_order.wings import Wing
from flangewise.sequence import Backgauge, stop_face_mm

if TYPE_CHECKING:
    from flangewise.panel_order.hit import Hit

On = Literal["edge", "flange"]

# From the end of an edge to a finger's side where there is room, and the least length of edge that is touched.
INSET_MM, LEAST_EDGE_MM = 5.0, 10.0
HEIGHTS, RISE_STEPS = 9, 240
RETRACT_MM = 0.05
LEVEL_DEG = 0.01


@dataclass(frozen=True)
class Fingers:
    """The stops of a machine: reach and shape, how wide a finger is, how near two may come, what is wished of them.

    The wishes are seconds: against stops on a formed face, on an edge with formed bends between it and the die, on an
    edge of a face that is not level, and against a single finger.
    """

    gauge: Backgauge
    count: int
    width_mm: float
    least_spacing_mm: float
    formed_wish_s: float
    past_bend_wish_s: float
    one_finger_wish_s: float
    sloped_wish_s: float = 3.0

    @cached_property
    def high_mm(self) -> float:
        """How high a finger is."""
        return max(up for _, up in self.gauge.finger_mm)

    @cached_property
    def face_mm(self) -> float:
        """How high its stop face is."""
        return stop_face_mm(self.gauge)


@dataclass(frozen=True)
class PanelGauging:
    """What the stops touch before a hit: the straight edge of a face, or a formed flange, behind.

    `x_mm`: stop face from the die's centre plane; `r_mm`: lower edge of the finger above the die's top; `height_mm`: of
    the middle of the stop face; `z_mm`: the middles of the fingers along the bed from the bend line's left end, one or
    two; `retract_mm`: how far they must go back after the pinch; `slope_deg`: of the face whose edge is touched.
    `wishes_s`: what it costs beside the best, each by its name.
    """

    on: On
    face: int
    face_name: str
    x_mm: float
    r_mm: float
    height_mm: float
    z_mm: tuple[float, ...]
    retract_mm: float
    past_bends: bool
    slope_deg: float = 0.0
    wishes_s: tuple[tuple[str, float], ...] = ()

    @property
    def wish_s(self) -> float:
        """All of its wishes."""
        return sum(price for _, price in self.wishes_s)


@dataclass(frozen=True)
class _Touchable:
    """A plate that stops may touch: its face, how, from which to which height above the die's top, past which bends."""

    face: int
    state: int
    at: int
    on: On
    low_mm: float
    high_mm: float
    far_mm: float
    slope_deg: float


@dataclass(frozen=True)
class _Contact:
    """Places of one line along the bed that a finger of one height touches, and those of one plate among them."""

    plate: _Touchable
    out_mm: float
    own_mm: tuple[float, float]
    edges_mm: Runs
    banned_mm: Runs


def stops(hit: Hit, done: frozenset[int]) -> tuple[PanelGauging, ...]:
    """All that stops may touch, best first: the least wishes, one edge before two, fingers far apart, near the die."""
    if hit.fingers is None:
        return ()
    found: dict[tuple[float, tuple[float, ...]], tuple[bool, PanelGauging]] = {}
    at_height = _AtHeight(hit, done)
    for plate in at_height.plates:
        for r_mm in _heights(hit.fingers, plate, hit.shapes.blank.thickness_mm):
            gauged = [
                each
                for contact in at_height.contacts(r_mm)
                if contact.plate == plate
                for each in _fingers(hit, done, contact, r_mm)
            ]
            for parted, each in gauged:
                found.setdefault((round(each.x_mm, 2), each.z_mm), (parted, each))
            if gauged:
                break
    ranked = sorted(found.values(), key=lambda each: _rank(*each))
    return tuple(each for _, each in ranked)


def _rank(parted: bool, gauged: PanelGauging) -> tuple[float, bool, float, float]:
    return round(gauged.wish_s, 6), parted, round(gauged.z_mm[0] - gauged.z_mm[-1], 3), gauged.x_mm


def _heights(fingers: Fingers, plate: _Touchable, thickness_mm: float) -> list[float]:
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


class _AtHeight:
    """The part on the die, asked at one height of the fingers after the other."""

    def __init__(self, hit: Hit, done: frozenset[int]) -> None:
        self.hit, self.done = hit, done
        self.half_mm = hit.shapes.blank.thickness_mm / 2
        self._kept: dict[float, list[_Contact]] = {}

    @cached_property
    def plates(self) -> tuple[_Touchable, ...]:
        """The plates of the wing behind that stops may touch, if nothing stands further out."""
        return tuple(
            plate
            for face, state in self.hit.behind.nodes(self.done)
            for at, solid in enumerate(self.hit.behind.plates(face, state, self.half_mm))
            if (plate := _touchable(self.hit, face, state, at, solid)) is not None
        )

    def contacts(self, r_mm: float) -> list[_Contact]:
        """What fingers so high may touch."""
        if r_mm not in self._kept:
            self._kept[r_mm] = list(self._contacts(r_mm))
        return self._kept[r_mm]

    def _contacts(self, r_mm: float) -> Iterator[_Contact]:
        fingers, behind = self.hit.fingers, self.hit.behind
        assert fingers is not None
        low_mm = r_mm - self.half_mm
        lines: list[tuple[_Touchable, float, tuple[float, float]]] = []
        for plate in self.plates:
            solid = behind.plates(plate.face, plate.state, self.half_mm)[plate.at]
            faced = footprint(solid.corners_mm, low_mm, low_mm + fingers.face_mm)
            # What slopes is touched on its edge, or not at all.
            if faced is None or (plate.on == "edge" and faced.far_mm < plate.far_mm - SAME_MM):
                continue
            edge = faced.far_edge_mm
            if edge[1] - edge[0] > SAME_MM and self._is_reached(faced.far_mm + behind.half_zone_mm, r_mm):
                lines.append((plate, faced.far_mm, edge))
        bodies = list(self._bodies(low_mm, low_mm + fingers.high_mm)) if lines else []
        for plate, out_mm, own in lines:
            alike = [edge for other, far_mm, edge in lines if _alike(other, plate) and abs(far_mm - out_mm) < SAME_MM]
            banned = [run for body in bodies if (run := body.beyond_mm(out_mm + SAME_MM)) is not None]
            if plate.on == "flange":
                banned += [run for other, *_ in lines if _alike(other, plate) for run in self._holes(other)]
            yield _Contact(plate, out_mm, own, joined(alike), joined(banned))

    def _is_reached(self, x_mm: float, r_mm: float) -> bool:
        """Whether a finger may stand there: within its travel, clear of the tools with the punch on the sheet."""
        fingers = self.hit.fingers
        assert fingers is not None
        gauge = fingers.gauge
        if not (gauge.x_min_mm <= x_mm <= gauge.x_max_mm and gauge.r_min_mm <= r_mm <= gauge.r_max_mm):
            return False
        key = round(x_mm, 3), round(r_mm, 3)
        if key not in self.hit.clear_of_tools:
            outline = np.array(gauge.finger_mm) + np.array([-x_mm, r_mm])
            met = bodies_met(outline, self.hit.tools.stack.bodies, nose_mm=2 * self.half_mm)
            self.hit.clear_of_tools[key] = not met
        return self.hit.clear_of_tools[key]

    def _bodies(self, low_mm: float, high_mm: float) -> Iterator[Footprint]:
        """All that stands in a band of heights, of the wing in front too where it reaches back beside its own bend."""
        kept = self.hit.behind.footprints
        for node in self.hit.behind.nodes(self.done):
            key = *node, low_mm, high_mm
            if key not in kept:
                solids = self.hit.behind.solids(*node, self.half_mm)
                every = (footprint(solid.corners_mm, low_mm, high_mm) for solid in solids)
                kept[key] = tuple(found for found in every if found is not None)
            yield from kept[key]
        for corners in self._reaching_back:
            found = footprint(corners, low_mm, high_mm)
            if found is not None:
                yield found

    @cached_property
    def _reaching_back(self) -> list[SpacePoints]:
        """Corners of solids of the wing in front, as the wing behind sees them."""
        hit, over_mm = self.hit, np.array([0.0, -2 * self.hit.behind.half_zone_mm, 0.0])
        return [
            solid.corners_mm * np.array([-1.0, -1.0, 1.0]) + over_mm
            for solid in _solids(hit.front, self.done, self.half_mm)
            if solid.corners_mm[:, 1].min() < over_mm[1]
        ]

    def _holes(self, plate: _Touchable) -> Iterator[tuple[float, float]]:
        """The stretches of the bed that holes of a face take up."""
        frame = self.hit.behind.frame(plate.face, plate.state)
        for hole in self.hit.shapes.blank.holes:
            if hole.face == plate.face:
                (x, y), (half, deep), (dx, dy) = hole.centre_mm, hole.half_size_mm, hole.along
                corners = [
                    (x + i * half * dx - j * deep * dy, y + i * half * dy + j * deep * dx, 0.0)
                    for i in (-1, 1)
                    for j in (-1, 1)
                ]
                along = frame.place(corners)[:, 0]
                yield float(along.min()), float(along.max())


def _solids(wing: Wing, done: frozenset[int], half_mm: float) -> Iterator[Solid]:
    for node in wing.nodes(done):
        yield from wing.solids(*node, half_mm)


def _alike(one: _Touchable, other: _Touchable) -> bool:
    return one.on == other.on and bool(one.state) == bool(other.state)


def _touchable(hit: Hit, face: int, state: int, at: int, solid: Solid) -> _Touchable | None:
    """A plate as a place to touch, by how it stands; None for one that neither lies, slopes a little, nor stands."""
    assert hit.fingers is not None
    gauge, half_mm = hit.fingers.gauge, hit.shapes.blank.thickness_mm / 2
    along, out, up = (abs(float(value)) for value in hit.behind.frame(face, state).normal)
    corners = solid.corners_mm
    far_mm = float(corners[:, 1].max())
    heights = corners[:, 2] + half_mm
    # Seen along the bed; a face that is turned to the bed has no edge along it.
    slope_deg = math.degrees(math.atan2(out, up)) if along < 1e-6 else 90.0
    if 90.0 - slope_deg <= gauge.square_deg and along < 1e-6:
        low_mm, high_mm = float(heights.min()), float(heights.max())
        if high_mm - low_mm < gauge.contact_mm:
            return None
        return _Touchable(face, state, at, "flange", low_mm, high_mm, far_mm, 0.0)
    tilt_deg = math.degrees(math.acos(min(up, 1.0)))
    if tilt_deg > gauge.level_deg:
        return None
    edge = heights[corners[:, 1] > far_mm - SAME_MM]
    middle_mm = float(edge.min() + edge.max()) / 2
    return _Touchable(face, state, at, "edge", middle_mm, middle_mm, far_mm, tilt_deg if tilt_deg > LEVEL_DEG else 0.0)


def _fingers(hit: Hit, done: frozenset[int], contact: _Contact, r_mm: float) -> Iterator[tuple[bool, PanelGauging]]:
    """Two fingers as far apart as may be, else one; whether they touch two edges. At least one is on the plate."""
    fingers = hit.fingers
    assert fingers is not None
    half_mm = fingers.width_mm / 2
    for at, parted in _chosen(fingers, contact, half_mm):
        if any(contact.own_mm[0] <= place <= contact.own_mm[1] for place in at):
            yield parted, _gauging(hit, done, contact, r_mm, at)


def _chosen(fingers: Fingers, contact: _Contact, half_mm: float) -> Iterator[tuple[tuple[float, ...], bool]]:
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


def _places(contact: _Contact, inset_mm: float, half_mm: float) -> list[tuple[float, float]]:
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


def _gauging(hit: Hit, done: frozenset[int], contact: _Contact, r_mm: float, at: tuple[float, ...]) -> PanelGauging:
    fingers, plate = hit.fingers, contact.plate
    assert fingers is not None
    bent = bin(plate.state).count("1")
    past = bent > (1 if plate.on == "flange" else 0)
    wishes = (
        ("gauging", fingers.formed_wish_s if plate.on == "flange" else 0.0),
        ("gauging", fingers.sloped_wish_s if plate.slope_deg else 0.0),
        ("gauging", fingers.past_bend_wish_s if past else 0.0),
        ("one-finger", fingers.one_finger_wish_s if len(at) == 1 else 0.0),
    )
    x_mm = contact.out_mm + hit.behind.half_zone_mm
    gauged = PanelGauging(
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
        wishes_s=tuple((name, price) for name, price in wishes if price),
    )
    return replace(gauged, retract_mm=_retract_mm(hit, done, at, x_mm, r_mm))


def _retract_mm(hit: Hit, done: frozenset[int], at: Sequence[float], x_mm: float, r_mm: float) -> float:
    """How far the wing behind pushes into the fingers while it rises, of what is in their width of the bed."""
    fingers, half_mm = hit.fingers, hit.shapes.blank.thickness_mm / 2
    assert fingers is not None
    halves = np.linspace(0.0, hit.stroke.half_turn_deg, RISE_STEPS + 1)
    edge_mm = float(hit.stroke.edge_mm(halves)[:, 0].max())
    worst = x_mm
    for solid in _solids(hit.behind, done, half_mm):
        corners = solid.corners_mm
        low, high = float(corners[:, 0].min()), float(corners[:, 0].max())
        beside = any(low < place + fingers.width_mm / 2 and high > place - fingers.width_mm / 2 for place in at)
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
