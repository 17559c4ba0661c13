"""What the stops can touch, and what each choice costs: the quick rule used while searching.

With the sheet flat on the die, the stops meet the raw edge when it is the rearmost point of the wing
behind, or the outer face of the first formed flange (or the fold of a hem) when that is the rearmost. A
closer look with the finger's outline is taken later, at the steps of a plan only.
"""

import itertools
import math

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.arrays import Bools, Floats, Ints
from flangewise.sequence.hold import half_span_mm
from flangewise.sequence.levels import Level
from flangewise.sequence.moves import EDGE, FLANGE, START
from flangewise.sequence.problem import Asked, Backgauge, SectionProblem
from flangewise.sequence.tree import NO_LEVEL, WingTree

REARMOST_MM = 0.01
HEM_DEG = 175.0
LEVEL_RAD = math.radians(1.0)


@dataclass(frozen=True)
class WingBehind:
    """The wing behind in some states: of which operation, which end it is, its tree and the leaves.

    `slack_mm`: how far it may lie from where it is thought to be; what is not touched within that is infinitely dear.
    """

    operation: int
    behind: int
    tree: WingTree
    leaves: Ints
    slack_mm: float = 0.0


class GaugeTable:
    """Prices of gauging an operation by the state of the wing behind."""

    def __init__(self, problem: SectionProblem) -> None:
        self._problem = problem
        self._flanges: dict[int, Bools] = {}

    def prices(self, *wings: WingBehind) -> Floats:
        """Price for each leaf and datum (raw edge, formed face); infinite where the stops cannot touch.

        Without a gauge in the problem every hit counts as gauged on the edge at no price.
        """
        counts = [len(wing.leaves) for wing in wings]
        found = np.full((sum(counts), 2), np.inf)
        gauge, problem = self._problem.gauge, self._problem
        if gauge is None:
            found[:, EDGE] = 0.0
            return found
        ends = np.concatenate([wing.tree.ends.take(wing.leaves, axis=0) for wing in wings])
        firsts = np.concatenate([wing.tree.firsts.take(wing.leaves) for wing in wings])
        slack_mm = np.repeat([wing.slack_mm for wing in wings], counts)
        half_mm = np.repeat([half_span_mm(problem, problem.operations[wing.operation]) for wing in wings], counts)
        touchable = [self._touchable(wing, gauge)[wing.tree.firsts.take(wing.leaves)] for wing in wings]
        found[:, EDGE] = self._edge(ends, firsts, half_mm, gauge, slack_mm)
        found[:, FLANGE] = self._flange(ends, half_mm, np.concatenate(touchable), gauge, slack_mm)
        for wing, end, count in zip(wings, itertools.accumulate(counts), counts, strict=True):
            own = found[end - count : end]
            self._unwanted(wing.operation, wing.behind, own)
            if problem.asked:
                self._keep(problem.asked[wing.operation], own, wing.tree, wing.leaves)
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

    def _edge(self, ends: Floats, firsts: Ints, half_mm: Floats, gauge: Backgauge, slack_mm: Floats) -> Floats:
        costs, x = self._problem.costs, ends[:, WingTree.X] + half_mm
        slope = np.abs(ends[:, WingTree.HEADING])
        touches = ends[:, WingTree.X] >= ends[:, WingTree.FAR] - REARMOST_MM - 2 * slack_mm
        touches &= slope <= math.radians(gauge.level_deg)
        touches &= (x >= gauge.x_min_mm - slack_mm) & (x <= gauge.x_max_mm + slack_mm)
        height = ends[:, WingTree.Y] + self._problem.chain.thickness_mm / 2
        lowest, highest = heights_in_reach(gauge)
        touches &= (height >= lowest - slack_mm) & (height <= highest + slack_mm)
        price = np.where(slope > LEVEL_RAD, costs.gauge_inclined, 0.0)
        price = price + np.where(firsts != NO_LEVEL, costs.gauge_past_bends, 0.0)
        return np.where(touches, price, np.inf)

    def _flange(self, ends: Floats, half_mm: Floats, touches: Bools, gauge: Backgauge, slack_mm: Floats) -> Floats:
        far, first_far = ends[:, WingTree.FAR], ends[:, WingTree.FIRST_FAR]
        x = first_far + half_mm + self._problem.chain.thickness_mm / 2
        touches &= first_far >= far - REARMOST_MM - 2 * slack_mm
        touches &= (x >= gauge.x_min_mm - slack_mm) & (x <= gauge.x_max_mm + slack_mm)
        return np.where(touches, self._problem.costs.gauge_flange, np.inf)

    def _touchable(self, wing: WingBehind, gauge: Backgauge) -> Bools:
        """For each level: can the stops touch it when it is the first bent one; at the end, when none is: they cannot.

        A flange near square and tall enough, or the fold of a hem; its heights must overlap their reach.
        """
        if (key := id(wing.tree)) not in self._flanges:
            half = self._problem.chain.thickness_mm / 2
            lowest, highest = (height - half for height in heights_in_reach(gauge))
            # What another blank leaves of a face hangs on the bends at both its ends.
            moved_mm = [*(self._moved_mm(level.operation) for level in wing.tree.levels), (0.0, 0.0)]
            touched = []
            for level, ((shorter, longer), (shorter_out, longer_out)) in zip(
                wing.tree.levels, itertools.pairwise(moved_mm), strict=True
            ):
                face_mm, off_mm = (
                    longer + longer_out,
                    wing.slack_mm + max(shorter, longer) + max(shorter_out, longer_out),
                )
                touched.append(_touches(level, gauge, lowest, highest, face_mm=face_mm, off_mm=off_mm))
            self._flanges[key] = np.array([*touched, False])
        return self._flanges[key]

    def _moved_mm(self, operation: int) -> tuple[float, float]:
        """How much shorter and how much longer the flats beside an operation may be on its other tools' blanks."""
        options = self._problem.operations[operation].options if self._problem.slack else ()
        moved_mm = [0.0, *(hit.leg_moved_mm for option in options for hit in option.hits)]
        return -min(moved_mm), max(moved_mm)


def _touches(
    level: Level, gauge: Backgauge, lowest_mm: float, highest_mm: float, *, face_mm: float, off_mm: float
) -> bool:
    """`face_mm`: how much longer its face may be on another blank, `off_mm`: how far off its heights."""
    turn = math.degrees(abs(level.turn_rad))
    square = abs(turn - 90) <= gauge.square_deg and level.flange_mm >= gauge.contact_mm - face_mm
    heights = level.bent_mm[:, 1]
    in_reach = heights.min() <= highest_mm + off_mm and heights.max() >= lowest_mm - off_mm
    return bool((square or turn >= HEM_DEG) and in_reach)


def stop_face_mm(gauge: Backgauge) -> float:
    """Height of the stop face: how far the finger's outline goes up at its front."""
    return max(up for across, up in gauge.finger_mm if abs(across) < 1e-6)


def heights_in_reach(gauge: Backgauge) -> tuple[float, float]:
    """Lowest and highest contact above the die top: anywhere on the stop face, half a sheet's edge at least."""
    return gauge.r_min_mm, gauge.r_max_mm + stop_face_mm(gauge)
