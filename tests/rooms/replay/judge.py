"""The simulator as a judge: can a section be bent in this order, lying so, with these tools. For brute force tests.

It answers from the collision of the whole part with every body at dense turns, and of the part with itself; stops and
openings are not judged. States are remembered, since the orders of one section share most of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import shapely

from flangewise.replay.bodies import Stack
from flangewise.replay.fold import NumberedBend, SectionNumbers, ZoneBend, view_of
from flangewise.replay.meets import CONTACT_MM, Obstacle, crosses_itself, obstacles
from flangewise.replay.stroke import Moments, ReplayHit, bend_moments, turns_between

# One in so many moments of a stroke is looked at first.
FEW = 8


@dataclass(frozen=True)
class JudgedHit:
    """The tools of one hit, the turn under load, and the inside radius it forms (for an air bend).

    A hem has two: its pre-bend, whose finished turn is `finished_deg`, and the press, whose loaded turn is 180.
    """

    stack: Stack
    loaded_deg: float
    radius_mm: float
    finished_deg: float | None = None


class Judge:
    """Judges orders of one section with given tools; `contact_mm` is what true contact may overlap."""

    def __init__(
        self,
        section: SectionNumbers,
        hits: Mapping[int, Sequence[JudgedHit]],
        *,
        contact_mm: float = CONTACT_MM,
        step_deg: float = 0.5,
        check_self: bool = True,
    ) -> None:
        self._section = section
        self._hits = hits
        self._contact_mm = contact_mm
        self._step_deg = step_deg
        self._check_self = check_self
        self._known: dict[tuple[frozenset[int], int, bool], bool] = {}
        self._shapes: dict[int, tuple[Obstacle, ...]] = {}

    def can_make(self, order: Sequence[int], start_behind: Sequence[bool]) -> bool:
        """Whether the bends can be made in this order, each with the section's start (or its end) behind."""
        done: frozenset[int] = frozenset()
        for bend, behind in zip(order, start_behind, strict=True):
            if not self.can_hit(done, bend, start_behind=behind):
                return False
            done |= {bend}
        return True

    def can_hit(self, done: Iterable[int], bend: int, *, start_behind: bool) -> bool:
        """Whether one bend can be made with those in `done` already bent; its turn says which face is up."""
        key = (frozenset(done), bend, start_behind)
        if key not in self._known:
            self._known[key] = self._judged(*key)
        return self._known[key]

    def _judged(self, done: frozenset[int], number: int, start_behind: bool) -> bool:
        bend = self._section.bend(number)
        turns = tuple(turn if self._owner(zone) in done else 0.0 for zone, turn in enumerate(self._section.turns_deg))
        for hit in self._hits[number]:
            stepped = self._stepped(bend, turns, hit, start_behind=start_behind)
            if stepped is None or not self._is_free(stepped):
                return False
            turns = self._left(bend, turns, hit)
        return True

    def _owner(self, zone: int) -> int:
        return next(bend.number for bend in self._section.bends if zone in bend.zones)

    def _stepped(
        self, bend: NumberedBend, turns: tuple[float, ...], hit: JudgedHit, *, start_behind: bool
    ) -> ReplayHit | None:
        """The hit set up in the pose that lets it go the right way; None where an offset pair has no such pose."""
        section = self._section
        marked_up = section.turns_deg[bend.zones[0]] > 0
        if bend.kind == "offset":
            marked_up = (section.turns_deg[bend.zones[0]] > 0) == (start_behind == hit.stack.turned)
        view = view_of(section, turns, marked_up=marked_up, start_behind=start_behind)
        zones = tuple(sorted(view.place_of(zone) for zone in bend.zones))
        if bend.kind == "offset":
            return ReplayHit("offset", bend, view, zones, None, hit.stack, {})
        if hit.finished_deg is None and bend.kind == "hem":
            return ReplayHit("flatten", bend, view, zones, None, hit.stack, {})
        air_bend = ZoneBend(zones[0], hit.loaded_deg, hit.radius_mm)
        return ReplayHit("air-bend", bend, view, zones, air_bend, hit.stack, {})

    def _is_free(self, hit: ReplayHit) -> bool:
        bodies = self._obstacles(hit.stack)
        if self._strikes_at_some(hit, bodies):
            return False
        pieces = hit.pieces(step_deg=self._step_deg)
        if any(strikes(piece, bodies) for piece in pieces):
            return False
        if not self._check_self or hit.air_bend is None:
            return True
        # What does not meet itself at full thickness does not without the contact tolerance either.
        if crosses_itself(pieces[0].rings) is None:
            return True
        return crosses_itself(hit.moments(step_deg=self._step_deg, inset_mm=self._contact_mm).rings) is None

    def _strikes_at_some(self, hit: ReplayHit, bodies: Iterable[Obstacle]) -> bool:
        """Whether it strikes at a few of the very turns that are looked at: what does need not be drawn at them all."""
        if hit.air_bend is None:
            return False
        turns = turns_between(hit.view, hit.air_bend.loaded_deg, step_deg=self._step_deg)[::-FEW]
        return strikes(bend_moments(hit.view, hit.air_bend, vee=hit.vee, turns_deg=turns), bodies)

    def _obstacles(self, stack: Stack) -> tuple[Obstacle, ...]:
        if id(stack) not in self._shapes:
            self._shapes[id(stack)] = obstacles(stack.solids, contact_mm=self._contact_mm)
        return self._shapes[id(stack)]

    def _left(self, bend: NumberedBend, turns: tuple[float, ...], hit: JudgedHit) -> tuple[float, ...]:
        left = list(turns)
        for zone in bend.zones:
            full = self._section.turns_deg[zone]
            left[zone] = math.copysign(hit.finished_deg if hit.finished_deg is not None else abs(full), full)
        return tuple(left)


def strikes(moments: Moments, bodies: Iterable[Obstacle]) -> bool:
    """Whether the part meets any body at any moment, as it stands or goes with the ram."""
    rings = moments.rings
    as_seen = {
        False: shapely.linearrings(rings.points_mm),
        True: shapely.linearrings(rings.moved(up_mm=-moments.nose_up_mm).points_mm),
    }
    return any(bool(shapely.intersects(body.shrunk, as_seen[body.with_ram]).any()) for body in bodies)
