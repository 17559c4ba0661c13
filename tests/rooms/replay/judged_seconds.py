"""What a plan takes in seconds and how the part lies at each hit, by drawings and sums the search knows nothing of.

The section is drawn from each bend outward with arcs of half a degree; openings, reaches, masses and moments are read
off the drawing. Prices are those of an invented handler and an invented machine.
"""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass

from flangewise.sequence import Costs, HoldRule
from flangewise.shop import Machine

COSTS = Costs(
    base=21.0,
    share=1.12,
    hit=2.1,
    turn_over_bed=1.7,
    turn_over_front_back=1.9,
    turn_in_plane=1.3,
    rehandle=1.6,
    station_change=5.5,
    tool_change=2.4,
)
# By hand, where a part too small for it is held with a tool, and by a gripper that has none.
HAND = HoldRule(0.02, least_mm=60.0, most_behind_nm=0.05, behind_wish_s=2.0, small_wish_s=1.5)
GRIPPER = HoldRule(0.02, least_mm=60.0, most_behind_nm=0.05, behind_wish_s=2.0)
RAM = Machine.model_construct(
    name="worked-example",
    fast_mm_per_s=150.0,
    slow_mm_per_s=10.0,
    bend_mm_per_s=10.0,
    return_mm_per_s=160.0,
    acceleration_mm_per_s2=1500.0,
    dwell_s=0.2,
    change_over_mm=6.0,
    opening_step_mm=1.0,
    speed_step_mm_per_s=0.1,
)
MARGIN_MM, MOST_MM, LIMIT_MM_PER_S = 20.0, 95.0, 100.0
# Half turns for a mm of depth at both ends of a stroke into V 10: 2/V at first, half of it at square.
RATES = (0.1, 0.2)
FRONT_EDGES_MM = {"straight": 20.0, "neck": 20.0, "narrow": 12.0}
GRAVITY = 9.81
BREACH_S = 1e5
FINE_DEG = 0.5


def travel_mm(turn_deg: float) -> float:
    """Depth of a stroke, from the sheet's top: the more the further it is turned; invented."""
    return 2.0 + turn_deg / 30


@dataclass(frozen=True)
class Drawn:
    """One wing drawn outward from the edge of its bend's zone: how far it goes, and its sheet's first moment."""

    far_mm: float
    top_mm: float
    low_mm: float
    risen_mm: float
    reach_mm: float
    moment_mm2: float
    is_plain: bool


class Money:
    """Prices steps of one section: a step is (zone, whether the start is behind, number of the tools)."""

    def __init__(self, chain, offered, *, by_hand):
        self.chain, self.offered, self.by_hand = chain, offered, by_hand
        self._wings, self._hits, self._least, self._left = {}, {}, {}, {}

    @staticmethod
    def weight(seconds: float, breach: float) -> float:
        return seconds + BREACH_S * breach

    def plan(self, steps):
        """Seconds and breach of a whole plan."""
        seconds, breach, done = COSTS.base, 0.0, ()
        for before, step in zip((None, *steps), steps, strict=False):
            own = self.hit(frozenset(done), step)
            seconds += own[0] + self.between(before, step)
            breach += own[1]
            done = (*done, step[0])
        return seconds, breach

    def step(self, done, before, step):
        """Weight of a step after another."""
        return self.weight(*self.hit(frozenset(done), step)) + self.between(before, step)

    def least(self, zone: int) -> float:
        """What a bend weighs at least by itself, whatever is made before it, whichever end is behind, by any tools."""
        if zone not in self._least:
            others = [other for other in range(len(self.chain.turns_deg)) if other != zone]
            sets = [
                frozenset(some) for count in range(len(others) + 1) for some in itertools.combinations(others, count)
            ]
            steps = [(zone, here, index) for here in (True, False) for index in range(len(self.offered[zone]))]
            self._least[zone] = min(self.weight(*self.hit(done, step)) for done in sets for step in steps)
        return self._least[zone]

    def left(self, done, step) -> float:
        """What is still to be paid at least after a step: each bend by itself, and a turn-over for the other face."""
        key = (frozenset(done), step[0])
        if key not in self._left:
            turns = self.chain.turns_deg
            ahead = [zone for zone in range(len(turns)) if zone not in done and zone != step[0]]
            over = any(turns[zone] * turns[step[0]] < 0 for zone in ahead)
            self._left[key] = sum(self.least(zone) for zone in ahead) + (COSTS.rehandle + 1.7 if over else 0.0)
        return self._left[key]

    def between(self, before, step) -> float:
        """Moving the part, going to other tools, and being taken out and put in for it, once."""
        if before is None:
            return 0.0
        turns = self.chain.turns_deg
        moved = handled(over=turns[before[0]] * turns[step[0]] < 0, swap=before[1] != step[1])
        last, first = self.offered[before[0]][before[2]][-1].stack, self.offered[step[0]][step[2]][0].stack
        changed = change(last.name, first.name)
        return moved + changed + (COSTS.rehandle if moved or changed else 0.0)

    def hit(self, done: frozenset[int], step) -> tuple[float, float]:
        """Seconds and breach of one bend by itself, a change between the two hits of a hem with it."""
        key = (done, step)
        if key not in self._hits:
            zone, start_behind, index = step
            front, behind = (self.wing(zone, done, toward_end=end) for end in (start_behind, not start_behind))
            hits = self.offered[zone][index]
            half = self.chain.zones_mm[zone] / 2
            needs = self.pull_mm(zone, hits, front, behind)
            reach = max(front.reach_mm, behind.reach_mm)
            seconds = sum(COSTS.hit + COSTS.share * self.stroke_s(hit, needs, reach) for hit in hits)
            for one, other in itertools.pairwise(hits):
                seconds += change(one.stack.name, other.stack.name) + COSTS.rehandle
            wish, breach = self.lies(zone, start_behind, hits, front, behind, half)
            self._hits[key] = seconds + wish, breach
        return self._hits[key]

    def stroke_s(self, hit, needs_mm: float, reach_mm: float) -> float:
        """Down, bend and back of the ram of the head of this file."""
        opening = min(math.ceil(needs_mm + MARGIN_MM - 1e-6), MOST_MM)
        gap, travel = opening - self.chain.thickness_mm, travel_mm(hit.loaded_turn_deg)
        speed = 10.0
        slow = gap
        if hit.kind != "press":
            slow = min(gap, 6.0)
            tip = max(abs(reach_mm * rate - 1) for rate in RATES)
            if 10.0 * tip > LIMIT_MM_PER_S:
                speed = max(math.floor(LIMIT_MM_PER_S / tip * 10 + 1e-6), 1) / 10
        return run_s(gap - slow, 150.0) + slow / 10 + travel / speed + 0.2 + run_s(gap + travel, 160.0)

    def pull_mm(self, zone: int, hits, front: Drawn, behind: Drawn) -> float:
        """What passes under the nose when the part is pulled straight out, risen by half its turn."""
        sheet, radius = self.chain.thickness_mm, self.chain.radii_mm[zone]
        half = math.radians(hits[0].loaded_turn_deg / 2)
        risen = max(behind.top_mm, behind.risen_mm) + (radius + sheet / 2) * (1 - math.cos(half))
        if behind.is_plain:
            edge = FRONT_EDGES_MM[hits[0].stack.name]
            risen = min(risen, edge * math.tan(half) + (sheet + radius) * (1 / math.cos(half) - 1))
        return max(0.0, risen) - min(0.0, behind.low_mm) + sheet

    def lies(self, zone, start_behind, hits, front: Drawn, behind: Drawn, half: float) -> tuple[float, float]:
        """Wishes in seconds, and by how much the hold rule is broken."""
        lengths = [half + self.developed(zone, toward_end=end) for end in (start_behind, not start_behind)]
        ahead_mm, back_mm = lengths
        whole = sum(lengths)
        moments = [
            wing.moment_mm2 + half * (length - half) + half * half / 2
            for wing, length in zip((front, behind), lengths, strict=True)
        ]
        past_mm = -(moments[0] - moments[1]) / whole - FRONT_EDGES_MM[hits[0].stack.name]
        moment_nm = max(0.0, past_mm) * 0.02 * whole * GRAVITY / 1000
        small = self.by_hand and max(lengths) < 60.0
        breach, lacking = 0.0, 0.0
        if not small and front.far_mm + half < 60.0:
            breach, lacking = 1.0, (60.0 - front.far_mm - half) / 60.0
        if moment_nm > 0.05:
            breach, lacking = breach + 1, lacking + (moment_nm - 0.05) / 1.05
        return 2.0 * max(back_mm - ahead_mm, 0.0) / whole + (1.5 if small else 0.0) + 10.0 * lacking, breach

    def developed(self, zone: int, *, toward_end: bool) -> float:
        """Sheet beyond a zone."""
        chain = self.chain
        if toward_end:
            return sum(chain.flats_mm[zone + 1 :]) + sum(chain.zones_mm[zone + 1 :])
        return sum(chain.flats_mm[: zone + 1]) + sum(chain.zones_mm[:zone])

    def wing(self, zone: int, done: frozenset[int], *, toward_end: bool) -> Drawn:
        """A wing with the bends on it that are made, the active bend turning up."""
        chain = self.chain
        beyond = range(zone + 1, len(chain.turns_deg)) if toward_end else range(zone - 1, -1, -1)
        made = tuple(other for other in beyond if other in done)
        key = (zone, toward_end, made)
        if key not in self._wings:
            self._wings[key] = self.drawn(zone, beyond, set(made), toward_end=toward_end)
        return self._wings[key]

    def drawn(self, zone: int, beyond, made: set[int], *, toward_end: bool) -> Drawn:
        chain = self.chain
        up = math.copysign(1.0, chain.turns_deg[zone])
        rise = cmath.rect(1.0, math.radians(min(89.0, abs(chain.turns_deg[zone]) / 2)))
        points, moment, heading = [0j], 0.0, 0.0
        face = zone + 1 if toward_end else zone

        def straight(length: float) -> float:
            points.append(points[-1] + cmath.rect(length, heading))
            return length * (points[-1] + points[-2]).real / 2

        moment += straight(chain.flats_mm[face])
        for other in beyond:
            if other in made:
                turn = math.radians(up * chain.turns_deg[other])
                middle = chain.radii_mm[other] + chain.thickness_mm / 2
                steps = math.ceil(abs(math.degrees(turn)) / FINE_DEG)
                centre = points[-1] + cmath.rect(middle, heading + math.copysign(math.pi / 2, turn))
                spoke = points[-1] - centre
                arc = [centre + spoke * cmath.rect(1.0, turn * k / steps) for k in range(steps + 1)]
                middles = [(a + b).real / 2 for a, b in itertools.pairwise(arc)]
                moment += chain.zones_mm[other] * sum(middles) / steps
                points += arc[1:]
                heading += turn
            else:
                moment += straight(chain.zones_mm[other])
            moment += straight(chain.flats_mm[other + 1 if toward_end else other])
        half = chain.zones_mm[zone] / 2
        return Drawn(
            far_mm=max(point.real for point in points),
            top_mm=max(point.imag for point in points),
            low_mm=min(point.imag for point in points),
            risen_mm=max((point * rise).imag for point in points),
            reach_mm=max(abs(point + half) for point in points),
            moment_mm2=moment,
            is_plain=not made,
        )


def run_s(way_mm: float, speed: float) -> float:
    """From standstill to standstill with 1500 mm/s2."""
    if way_mm <= 0:
        return 0.0
    return way_mm / speed + speed / 1500 if way_mm >= speed * speed / 1500 else 2 * math.sqrt(way_mm / 1500)


def handled(*, over: bool, swap: bool) -> float:
    """Turning the part over and swapping the end behind, the cheapest way."""
    by_bed, by_front, plane = 1.7, 1.9, 1.3
    if not over:
        return plane if swap else 0.0
    return min(by_bed, by_front + plane) if swap else min(by_front, by_bed + plane)


def change(before: str, after: str) -> float:
    """Going to other tools, and both punch and die put in."""
    return 0.0 if before == after else 5.5 + 2 * 2.4
