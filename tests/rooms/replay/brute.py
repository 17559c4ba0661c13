"""Brute force against the search: random sections, every order and pose, the replay as the judge.

Of three hundred every fourth ten run with the tests, all with `FLANGEWISE_WHOLE=1`.

The two share no collision code. The search thickens a middle line by a disc and bounds what a step may miss, so it may
be a little stricter than the judge: where the judge's answer differs for a contact tolerance between 0.02 and 0.08 mm,
the search must lie between the two. Such sections are counted, and few.

Nor do they share what a plan costs. Seconds and the hold rule are added up by `judged_seconds` from its own drawings:
the hold rule less broken first, then the seconds, and the plan found must cost the same in both.
"""

import itertools
import math
import random
from dataclasses import replace

import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.replay import NumberedBend, SectionNumbers, Solid, Stack
from flangewise.sequence import Hit, HitTime, Operation, SectionProblem, Swing, ToolOption, solve

from ...how_many import one_in
from .judge import Judge, JudgedHit
from .judged_seconds import COSTS, GRIPPER, HAND, LIMIT_MM_PER_S, MARGIN_MM, MOST_MM, RAM, RATES, Money, travel_mm

SECTIONS, CHUNKS = 300, 10
COUNTS = {1: 25, 2: 60, 3: 130, 4: 65, 5: 20}
# What of a price is of the arithmetic; the more so where the hold rule is broken, since a mm of arc is in its share.
SAME_S, SAME_BREACH = 1e-3, 3e-4
OVER_DEG = 2.0
FLANK = math.tan(math.radians(15))


def stack(name, *, half=10.0, die_half=20.0, neck=False):
    """An invented acute pair: V 10 with shoulders of 1 mm drawn as chords, 30 degrees, so that all turns are open."""
    tip = ((0.0, 0.0), (half, half / FLANK), (half, 100.0), (-half, 100.0), (-half, half / FLANK))
    if neck:
        front = ((0.0, 0.0), (3.0, 11.0), (-7.0, 30.0), (-7.0, 60.0), (10.0, 80.0), (10.0, 100.0))
        tip = (*front, (-18.0, 100.0), (-18.0, 30.0), (-4.0, 16.0))
    deep = 5.0 / FLANK
    die = (
        (-die_half, 0.0),
        (-die_half, -70.0),
        (die_half, -70.0),
        (die_half, 0.0),
        (5.0, 0.0),
        (0.0, -deep),
        (-5.0, 0.0),
    )
    ram = ((-40.0, 100.0), (40.0, 100.0), (40.0, 500.0), (-40.0, 500.0))
    bed = ((-60.0, -800.0), (60.0, -800.0), (60.0, -70.0), (-60.0, -70.0))
    bodies = (Body("punch", tip, True), Body("ram", ram, True), Body("die", die, False), Body("bed", bed, False))
    return ToolStack(name, name, name, 10.0, 0.0, bodies)


def plates():
    """A flat pair for hems."""
    upper = ((-15.0, 0.0), (15.0, 0.0), (15.0, 60.0), (-15.0, 60.0))
    lower = ((-15.0, -70.0), (15.0, -70.0), (15.0, 0.0), (-15.0, 0.0))
    bodies = (Body("punch", upper, True), Body("die", lower, False))
    return ToolStack("plates", "plates", "plates", 0.0, 0.0, bodies)


STRAIGHT, NECK, NARROW, PLATES = (
    stack("straight"),
    stack("neck", neck=True),
    stack("narrow", half=6.0, die_half=12.0),
    plates(),
)


def section(dice, count):
    """A random section: mixed angles and radii, short legs now and then, hems at its ends."""
    thickness = dice.choice((1.0, 1.5, 2.0))
    turns, zones, radii, hems = [], [], [], []
    for bend in range(count):
        is_hem = bend in (0, count - 1) and dice.random() < 0.12
        turn = 180.0 if is_hem else dice.choice((30.0, 45.0, 60.0, 90.0, 90.0, 90.0, 120.0))
        radius = dice.choice((0.0, 0.5)) if is_hem else dice.choice((1.0, 1.5, 2.5))
        hems.append(is_hem)
        turns.append(turn * dice.choice((1.0, -1.0)))
        radii.append(radius)
        zones.append(math.radians(turn) * (radius + (0.5 if is_hem else 0.42) * thickness))
    flats = [
        dice.choice((dice.uniform(6.0, 20.0), dice.uniform(15.0, 60.0), dice.uniform(40.0, 100.0)))
        for _ in range(count + 1)
    ]
    for bend in (0, count - 1):
        if hems[bend]:
            flats[0 if bend == 0 else -1] = dice.uniform(8.0, 14.0)
    return Chain(tuple(flats), tuple(zones), tuple(turns), tuple(radii), thickness), hems


def options(chain, hems, stacks):
    """Each bend's tool options: one hit of each stack, or the two hits of a hem."""
    found = []
    for zone, is_hem in enumerate(hems):
        if is_hem:
            pair = (Hit(STRAIGHT, 152.0, 1.0), Hit(PLATES, 180.0, chain.radii_mm[zone], "press"))
            found.append([tuple(timed(chain, hit) for hit in pair)])
        else:
            turn, radius = abs(chain.turns_deg[zone]) + OVER_DEG, chain.radii_mm[zone]
            found.append([(timed(chain, Hit(each, turn, radius)),) for each in stacks])
    return found


def timed(chain, hit):
    """The hit with its seconds; a press swings nothing and goes slow all the way."""
    pressed = hit.kind == "press"
    swing = None if pressed else Swing(*RATES, LIMIT_MM_PER_S)
    travel = travel_mm(hit.loaded_turn_deg)
    time = HitTime(RAM, chain.thickness_mm, travel, MARGIN_MM, most_opening_mm=MOST_MM, swing=swing)
    return replace(hit, time=replace(time, slow_all_way=pressed))


class Brute:
    """All orders, ends behind and tools, one by one; cut off only where it must cost as much as the best.

    What is still to come depends on what is made and on the last step alone: the same two reached again no cheaper are
    not gone on with. `below` is a cost above which nothing is looked for.
    """

    def __init__(self, chain, hems, offered, money, *, contact_mm, below=math.inf):
        bends = tuple(NumberedBend(zone + 1, "hem" if hem else "bend", (zone,)) for zone, hem in enumerate(hems))
        numbers = SectionNumbers(
            chain.flats_mm, chain.zones_mm, chain.turns_deg, chain.radii_mm, chain.thickness_mm, bends, round_ends=True
        )
        most = max(len(each) for each in offered)
        self.judges = [
            Judge(
                numbers,
                {
                    zone + 1: [_judged(hit) for hit in each[min(index, len(each) - 1)]]
                    for zone, each in enumerate(offered)
                },
                contact_mm=contact_mm,
                step_deg=1.5,
            )
            for index in range(most)
        ]
        self.turns, self.offered, self.money = chain.turns_deg, offered, money
        self.best = self.below = below
        self._reached = {}

    def least(self):
        """The least weight of all, infinite where nothing can be made below the one given."""
        self._go(frozenset(), None, COSTS.base)
        return self.best if self.best < self.below else math.inf

    def _go(self, done, before, cost):
        if len(done) == len(self.turns):
            self.best = min(self.best, cost)
            return
        if self._reached.get((done, before), math.inf) <= cost:
            return
        self._reached[done, before] = cost
        bent = frozenset(zone + 1 for zone in done)
        for zone, here in itertools.product(range(len(self.turns)), (True, False)):
            if zone in done:
                continue
            for index in range(len(self.offered[zone])):
                step = (zone, here, index)
                reached = cost + self.money.step(done, before, step)
                if reached + self.money.left(done, step) >= self.best - 1e-9:
                    continue
                if self.judges[index].can_hit(bent, zone + 1, start_behind=here):
                    self._go(done | {zone}, step, reached)


def _judged(hit):
    solids = tuple(Solid(body.name, body.points_mm, body.with_ram) for body in hit.stack.bodies)
    kind = "flat" if hit.kind == "press" else "vee"
    as_stack = Stack(solids, kind, hit.stack.opening_mm, hit.stack.shoulder_radius_mm)
    is_pre_bend = hit.kind == "swing" and hit.loaded_turn_deg > 150.0
    return JudgedHit(as_stack, hit.loaded_turn_deg, hit.formed_radius_mm, 150.0 if is_pre_bend else None)


def planned(chain, offered, rule):
    """What the search says: its plan and its least cost, nothing where it proves that there is none."""
    operations = tuple(
        Operation(str(zone + 1), (zone,), tuple(ToolOption(hits) for hits in each)) for zone, each in enumerate(offered)
    )
    found = solve(SectionProblem(chain, operations, costs=COSTS, hold=rule, tell_blockers=False))
    assert found.feasible is not None
    assert found.feasible is False or found.proven_least
    return found


def cases(chunk):
    """The sections of a chunk, the same in every run."""
    counts = [count for count, many in COUNTS.items() for _ in range(many)]
    for number, count in enumerate(counts):
        if number % CHUNKS == chunk and number // CHUNKS % one_in(7) == 0:
            dice = random.Random(1000 + number)
            chain, hems = section(dice, count)
            stacks = dice.choice(((STRAIGHT,), (STRAIGHT,), (STRAIGHT, NARROW), (STRAIGHT, NECK)))
            yield number, chain, hems, stacks


def agrees(chunk, count):
    """Every section of a chunk held to brute force, and counted."""
    looked_at = list(cases(chunk))
    assert looked_at
    for number, chain, hems, stacks in looked_at:
        offered = options(chain, hems, stacks)
        by_hand = number % 2 == 0
        money = Money(chain, offered, by_hand=by_hand)
        found = planned(chain, offered, HAND if by_hand else GRIPPER)
        said, near = math.inf, SAME_S
        if found.feasible:
            steps = [(step.operation, step.behind == "start", step.option) for step in found.steps]
            seconds, breach = money.plan(steps)
            assert (found.cost, found.breach) == pytest.approx((seconds, breach), abs=SAME_S), f"section {number}"
            said = money.weight(seconds, breach)
            near = SAME_S if breach == 0 else money.weight(SAME_S, SAME_BREACH)
        # That there is nothing cheaper, and that there is one at this price, needs no look at dearer ones.
        strict = Brute(chain, hems, offered, money, contact_mm=0.02, below=said + 1e-6).least()
        is_same = said == strict or math.isclose(said, strict, abs_tol=near, rel_tol=0.0)
        if not is_same:
            strict = Brute(chain, hems, offered, money, contact_mm=0.02).least()
            lenient = Brute(chain, hems, offered, money, contact_mm=0.08).least()
            assert lenient < strict, f"section {number}: the search says {said}, brute force {strict}: {chain}"
            assert lenient - near <= said <= strict, f"section {number}: {said} not in {lenient}..{strict}: {chain}"
        count(feasible=math.isfinite(said), marginal=not is_same, breaks_the_hold_rule=found.breach > 0)
