"""The toy tools of the reasoned benchmark parts, and a second, slow simulator to compare with.

The toy tools: V 12, included angle 84 degrees, no shoulder radius, die block +-20 wide and 60 high, bed
+-60 below; punch 84 degrees, body +-10 up to 100 above the tip, clamp +-30 to 140, ram +-60 to 640.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Costs, Hit, HitTime, Operation, SectionProblem, ToolOption
from flangewise.shop import Machine

from ..geometry.by_hand import sharp_chain

T = 1.5
SHOWN = 1e-9


def toy_stack(
    *, punch_half: float = 10.0, die_half: float = 20.0, die_height: float = 60.0, punch: Sequence | None = None
) -> ToolStack:
    """Toy set 1, with other widths if asked; `punch` replaces punch, clamp and ram by one outline."""
    flank = math.tan(math.radians(42))
    tip = (
        (0, 0),
        (punch_half, punch_half / flank),
        (punch_half, 100),
        (-punch_half, 100),
        (-punch_half, punch_half / flank),
    )
    holder = ((30, 100), (30, 140), (-30, 140), (-30, 100))
    ram = ((60, 140), (60, 640), (-60, 640), (-60, 140))
    vee = 6 / flank
    die = ((-die_half, 0), (-6, 0), (0, -vee), (6, 0), (die_half, 0), (die_half, -die_height), (-die_half, -die_height))
    bed = ((60, -die_height), (60, -800), (-60, -800), (-60, -die_height))
    upper = (
        [Body("punch", tuple(punch), True)]
        if punch
        else [Body("punch", tip, True), Body("holder", holder, True), Body("ram", ram, True)]
    )
    name = f"toy {punch_half} {die_half} {die_height} {bool(punch)}"
    return ToolStack(name, name, "toy die", 12.0, 0.0, (*upper, Body("die", die, False), Body("bed", bed, False)))


GOOSENECK = (
    (0, 0), (4, 4.44), (-6, 22), (-12, 34), (-12, 60), (12, 84), (12, 100), (30, 100), (30, 140), (60, 140), (60, 640),
    (-60, 640), (-60, 140), (-30, 140), (-30, 34), (-8, 8.9),
)  # fmt: skip


def bent(chain: Chain, stacks: Sequence[ToolStack], *, over_deg: float = 0.0, **more: object) -> SectionProblem:
    """A problem in which every zone is one operation and every stack is offered for it."""
    operations = tuple(
        Operation(
            str(zone + 1),
            (zone,),
            tuple(ToolOption((Hit(stack, abs(turn) + over_deg, max(0.0, chain.radii_mm[zone])),)) for stack in stacks),
        )
        for zone, turn in enumerate(chain.turns_deg)
    )
    return SectionProblem(chain, operations, **more)


def toy_problem(lengths: Sequence[float], turns: Sequence[float], **more: object) -> SectionProblem:
    """A section of sharp middle-surface corners with toy set 1."""
    stack = more.pop("stack", None) or toy_stack()
    return bent(sharp_chain(lengths, turns, thickness_mm=T), [stack], **more)


# The worked example of the trade: fast 150 mm/s, slow from 6 over the sheet at 10, bending at 10, back at 150.
RAM = Machine.model_construct(
    name="worked-example",
    fast_mm_per_s=150.0,
    slow_mm_per_s=10.0,
    bend_mm_per_s=10.0,
    return_mm_per_s=150.0,
    acceleration_mm_per_s2=1500.0,
    dwell_s=0.2,
    change_over_mm=6.0,
    opening_step_mm=1.0,
    speed_step_mm_per_s=0.1,
)


def with_times(problem: SectionProblem, *, margin_mm: float = 0.0, **more: object) -> SectionProblem:
    """The problem with a stroke of 8 mm for each hit, by the ram of the worked example."""
    time = HitTime(RAM, sheet_mm=problem.chain.thickness_mm, travel_mm=8.0, margin_mm=margin_mm, **more)
    operations = tuple(
        replace(
            operation,
            options=tuple(
                replace(option, hits=tuple(replace(hit, time=time) for hit in option.hits))
                for option in operation.options
            ),
        )
        for operation in problem.operations
    )
    return replace(problem, operations=operations)


@pytest.fixture(scope="session")
def ram() -> Machine:
    """The ram of the worked example."""
    return RAM


@pytest.fixture(scope="session")
def timed() -> Callable[..., SectionProblem]:
    """Gives the hits of a problem their seconds."""
    return with_times


@pytest.fixture(scope="session")
def toy() -> Callable[..., SectionProblem]:
    """Maker of toy problems."""
    return toy_problem


@pytest.fixture(scope="session")
def stack() -> Callable[..., ToolStack]:
    """Maker of toy tool stacks."""
    return toy_stack


@pytest.fixture(scope="session")
def gooseneck() -> ToolStack:
    """Toy set 2: a punch relieved in front."""
    return toy_stack(punch=GOOSENECK)


@pytest.fixture(scope="session")
def bend_all() -> Callable[..., SectionProblem]:
    """Maker of problems from any chain and stacks."""
    return bent


class SlowSimulator:
    """Whole part, dense angles, every order and every pose: shares nothing with the planner but the formula.

    `margin_mm` is added to the distance that must be kept: with a margin it is stricter than the planner,
    without it a little laxer (it may miss what happens between two angles).
    """

    def __init__(self, problem: SectionProblem, *, margin_mm: float = 0.0, angles: int = 40) -> None:
        self.problem, self.margin, self.angles = problem, margin_mm, angles
        self.kept: dict[tuple[int, int, bool, int], bool] = {}

    def walk(
        self, start: np.ndarray, heading: float, pieces: list[tuple[float, float, float]]
    ) -> list[list[np.ndarray]]:
        """Draw (length, arc radius, turn) pieces by small steps; one list of points for each piece."""
        at, drawn = start, []
        for length, radius, turn in pieces:
            points = [at]
            if abs(turn) < SHOWN:
                at = at + length * np.array([math.cos(heading), math.sin(heading)])
                points.append(at)
            else:
                count = max(1, math.ceil(abs(turn) / 4)) if radius > SHOWN else 1
                for _ in range(count):
                    small = math.radians(turn) / count
                    chord = 2 * radius * math.sin(abs(small) / 2)
                    at = at + chord * np.array([math.cos(heading + small / 2), math.sin(heading + small / 2)])
                    heading += small
                    points.append(at)
            drawn.append(points)
        return drawn

    def wing(self, index: int, done: int, up: float, step: int) -> list[tuple[float, float, float]]:
        """Pieces outward from zone `index`, step +1 toward the end, -1 toward the start."""
        chain = self.problem.chain
        faces = range(index + 1, chain.bends + 1) if step > 0 else range(index, -1, -1)
        pieces: list[tuple[float, float, float]] = []
        for face in faces:
            if pieces:
                zone = face - 1 if step > 0 else face
                if done >> zone & 1:
                    pieces.append((0.0, chain.radii_mm[zone] + chain.thickness_mm / 2, up * chain.turns_deg[zone]))
                else:
                    pieces.append((chain.zones_mm[zone], 0.0, 0.0))
            pieces.append((chain.flats_mm[face], 0.0, 0.0))
        return pieces

    def possible(self, index: int, done: int, start_behind: bool, option: int = 0) -> bool:
        """No contact at any angle, of the part with tools or of its wings with each other."""
        key = (index, done, start_behind, option)
        if key not in self.kept:
            self.kept[key] = self._possible(index, done, start_behind, option)
        return self.kept[key]

    def _possible(self, index: int, done: int, start_behind: bool, option: int) -> bool:
        chain, hit = self.problem.chain, self.problem.operations[index].options[option].hits[0]
        t, up = chain.thickness_mm, math.copysign(1.0, chain.turns_deg[index])
        sharp = chain.radii_mm[index] < 0
        middle = 0.0 if sharp else hit.formed_radius_mm + t / 2
        half_v, rd, most = hit.stack.opening_mm / 2, hit.stack.shoulder_radius_mm, math.radians(hit.loaded_turn_deg / 2)
        solids = {ram: [shapely.Polygon(b.points_mm) for b in hit.stack.bodies if b.with_ram == ram] for ram in (0, 1)}
        fixed = shapely.union_all(solids[0])
        front = self.wing(index, done, up, 1 if start_behind else -1)
        behind = self.wing(index, done, up, -1 if start_behind else 1)
        for a in np.linspace(0.0, most, self.angles):
            centre = (middle + t / 2 + rd - half_v * math.sin(a)) / math.cos(a) - rd
            rest = chain.zones_mm[index] / 2 * (1 - a / most)
            edge = np.array([
                middle * math.sin(a) + rest * math.cos(a), centre - middle * math.cos(a) + rest * math.sin(a)
            ])  # fmt: skip
            nose = centre + t / 2 / math.cos(a) if sharp else centre - hit.formed_radius_mm
            ahead = self.walk(edge, a, front)
            back = [[p * [-1, 1] for p in piece] for piece in self.walk(edge, a, behind)]
            part = shapely.MultiLineString([shapely.LineString(piece) for piece in ahead + back])
            tools = [fixed, *(shapely.transform(s, lambda p, n=nose: p + np.array([0.0, n])) for s in solids[1])]
            if any(shapely.distance(part, tool) < t / 2 - 0.05 + self.margin for tool in tools):
                return False
            if self.problem.check_self and self._touches(ahead, back, t):
                return False
        return True

    def _touches(self, ahead: list, back: list, t: float) -> bool:
        near = t - 0.1 + (self.margin and self.margin + 0.06)
        first = shapely.MultiLineString([shapely.LineString(piece) for piece in ahead])
        beyond = [shapely.LineString(piece) for piece in back[1:]]
        if beyond and shapely.distance(shapely.MultiLineString(beyond), first) < near:
            return True
        rest = [shapely.LineString(piece) for piece in ahead[1:]]
        return bool(rest) and shapely.distance(shapely.MultiLineString(rest), shapely.LineString(back[0])) < near

    def move_cost(self, one: tuple, other: tuple) -> float:
        """Price of handling from (index, start behind, option) to another, tool change included."""
        costs: Costs = self.problem.costs
        over = self.problem.chain.turns_deg[one[0]] * self.problem.chain.turns_deg[other[0]] < 0
        swap = one[1] != other[1]
        bed, front, plane = costs.turn_over_bed, costs.turn_over_front_back, costs.turn_in_plane
        table = {
            (False, False): 0.0, (False, True): plane,
            (True, True): min(bed, front + plane), (True, False): min(front, bed + plane),
        }  # fmt: skip
        tools = [self.problem.operations[i].options[o].hits[0].stack for i, _, o in (one, other)]
        change = (tools[0].punch != tools[1].punch) + (tools[0].die != tools[1].die)
        return table[over, swap] + costs.tool_change * change

    def cost_of(self, order: Sequence[int]) -> float:
        """Least cost of one order over all ways of holding the part and all tools, infinite if impossible."""
        best: dict[tuple, float] = {}
        done = 0
        for index in order:
            candidates = {}
            for start_behind in (True, False):
                for option, offered in enumerate(self.problem.operations[index].options):
                    if self.possible(index, done, start_behind, option):
                        now = (index, start_behind, option)
                        before = min((c + self.move_cost(w, now) for w, c in best.items()), default=math.inf)
                        own = self.problem.costs.hit + offered.cost
                        candidates[now] = own + (before if done else 0.0)
            if not candidates:
                return math.inf
            best, done = candidates, done | 1 << index
        return min(best.values(), default=math.inf)

    def feasible_orders(self) -> dict[tuple[int, ...], float]:
        """Every order that can be made, with its least cost."""
        orders = itertools.permutations(range(self.problem.chain.bends))
        priced = {order: self.cost_of(order) for order in orders}
        return {order: cost for order, cost in priced.items() if cost < math.inf}


@pytest.fixture(scope="session")
def slow() -> type[SlowSimulator]:
    """The slow simulator."""
    return SlowSimulator
