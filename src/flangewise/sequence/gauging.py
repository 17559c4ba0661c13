"""What the stops can touch, and what each choice costs: the quick rule used while searching.

With the sheet flat on the die, the stops meet the raw edge when it is the rearmost point of the wing
behind, or the outer face of the first formed flange (or the fold of a hem) when that is the rearmost. A
closer look with the finger's outline is taken later, at the steps of a plan only.
"""

import math

import numpy as np

from flangewise.sequence.arrays import Bools, Floats, Ints
from flangewise.sequence.hold import half_span_mm
from flangewise.sequence.moves import EDGE, FLANGE, START
from flangewise.sequence.problem import Asked, Backgauge, SectionProblem
from flangewise.sequence.tree import NO_LEVEL, Level, WingTree

REARMOST_MM = 0.01
HEM_DEG = 175.0
LEVEL_RAD = math.radians(1.0)


class GaugeTable:
    """Prices of gauging an operation by the state of the wing behind."""

    def __init__(self, problem: SectionProblem) -> None:
        self._problem = problem
        self._flanges: dict[int, Bools] = {}

    def prices(self, operation: int, behind: int, wing: WingTree, leaves: Ints, *, slack_mm: float = 0.0) -> Floats:
        """Price for each leaf and datum (raw edge, formed face); infinite where the stops cannot touch.

        Without a gauge in the problem every hit counts as gauged on the edge at no price. `slack_mm`: how far the wing
        may lie from where it is thought to be; infinite then only where nothing within that is touched.
        """
        found = np.full((len(leaves), 2), np.inf)
        gauge = self._problem.gauge
        if gauge is None:
            found[:, EDGE] = 0.0
            return found
        found[:, EDGE] = self._edge(operation, wing, leaves, gauge, slack_mm)
        found[:, FLANGE] = self._flange(operation, wing, leaves, gauge, slack_mm)
        self._unwanted(operation, behind, found)
        if self._problem.asked:
            self._keep(self._problem.asked[operation], found, wing, leaves)
        return found

    def least(self, operation: int, behind: int, bent: Bools) -> Floats:
        """The price at least where no more is known of the wing behind than whether bends of it are made."""
        found, costs = np.zeros((len(bent), 2)), self._problem.costs
        if self._problem.gauge is not None:
            found[:, EDGE] = np.where(bent, costs.gauge_past_bends, 0.0)
            found[:, FLANGE] = costs.gauge_flange
            self._unwanted(operation, behind, found)
        return found

    def _unwanted(self, operation: int, behind: int, found: Floats) -> None:
        """Add what a datum costs that the setter would rather not have."""
        wanted, price = (
            self._problem.preferred[operation] if self._problem.preferred else (),
            self._problem.costs.gauge_unwanted,
        )
        if wanted:
            found[:, EDGE] += 0.0 if ("start" if behind == START else "end") in wanted else price
            found[:, FLANGE] += 0.0 if "flange" in wanted else price

    def _keep(self, asked: Asked, found: Floats, wing: WingTree, leaves: Ints) -> None:
        """Leave only the datum the setter asks for; which end is behind then is decided with the ways."""
        if asked.datum == "flange":
            found[:, EDGE] = np.inf
            operations = self._problem.operations
            wanted = [asked.flange_zone in operations[level.operation].zones for level in wing.levels] or [False]
            found[~np.array(wanted)[wing.firsts[leaves]], FLANGE] = np.inf
        elif asked.datum is not None:
            found[:, FLANGE] = np.inf

    def _edge(self, operation: int, wing: WingTree, leaves: Ints, gauge: Backgauge, slack_mm: float) -> Floats:
        ends, costs = wing.ends[leaves], self._problem.costs
        x = ends[:, WingTree.X] + half_span_mm(self._problem, self._problem.operations[operation])
        slope = np.abs(ends[:, WingTree.HEADING])
        touches = ends[:, WingTree.X] >= ends[:, WingTree.FAR] - REARMOST_MM - 2 * slack_mm
        touches &= slope <= math.radians(gauge.level_deg)
        touches &= (x >= gauge.x_min_mm - slack_mm) & (x <= gauge.x_max_mm + slack_mm)
        height = ends[:, WingTree.Y] + self._problem.chain.thickness_mm / 2
        lowest, highest = heights_in_reach(gauge)
        touches &= (height >= lowest - slack_mm) & (height <= highest + slack_mm)
        price = np.where(slope > LEVEL_RAD, costs.gauge_inclined, 0.0)
        price = price + np.where(wing.firsts[leaves] != NO_LEVEL, costs.gauge_past_bends, 0.0)
        return np.where(touches, price, np.inf)

    def _flange(self, operation: int, wing: WingTree, leaves: Ints, gauge: Backgauge, slack_mm: float) -> Floats:
        firsts = wing.firsts[leaves]
        bent = firsts != NO_LEVEL
        if not wing.levels:
            return np.full(len(leaves), np.inf)
        far, first_far = wing.ends[leaves, WingTree.FAR], wing.ends[leaves, WingTree.FIRST_FAR]
        half_mm = half_span_mm(self._problem, self._problem.operations[operation])
        x = first_far + half_mm + self._problem.chain.thickness_mm / 2
        touches = bent & self._touchable(wing, gauge, slack_mm)[firsts]
        touches &= first_far >= far - REARMOST_MM - 2 * slack_mm
        touches &= (x >= gauge.x_min_mm - slack_mm) & (x <= gauge.x_max_mm + slack_mm)
        return np.where(touches, self._problem.costs.gauge_flange, np.inf)

    def _touchable(self, wing: WingTree, gauge: Backgauge, slack_mm: float) -> Bools:
        """For each level: can the stops touch it when it is the first bent one.

        A flange near square and tall enough, or the fold of a hem; its heights must overlap their reach.
        """
        if id(wing) not in self._flanges:
            half = self._problem.chain.thickness_mm / 2
            lowest, highest = (height - half for height in heights_in_reach(gauge))
            touched = [_touches(level, gauge, lowest, highest, slack_mm) for level in wing.levels]
            self._flanges[id(wing)] = np.array(touched)
        return self._flanges[id(wing)]


def _touches(level: Level, gauge: Backgauge, lowest_mm: float, highest_mm: float, slack_mm: float) -> bool:
    turn = math.degrees(abs(level.turn_rad))
    square = abs(turn - 90) <= gauge.square_deg and level.flange_mm >= gauge.contact_mm - 2 * slack_mm
    heights = level.bent_mm[:, 1]
    in_reach = heights.min() <= highest_mm + slack_mm and heights.max() >= lowest_mm - slack_mm
    return bool((square or turn >= HEM_DEG) and in_reach)


def stop_face_mm(gauge: Backgauge) -> float:
    """Height of the stop face: how far the finger's outline goes up at its front."""
    return max(up for across, up in gauge.finger_mm if abs(across) < 1e-6)


def heights_in_reach(gauge: Backgauge) -> tuple[float, float]:
    """Lowest and highest contact above the die top: anywhere on the stop face, half a sheet's edge at least."""
    return gauge.r_min_mm, gauge.r_max_mm + stop_face_mm(gauge)
