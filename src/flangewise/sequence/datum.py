"""How gauging errors add up: the datum tree of a plan, and the error of every leg and overall size.

Edges and bend lines are the nodes. Each gauging links a bend to its datum with the error of the stop and,
on a formed flange, the error of where its outer face stands: half its deduction's error, and the height
of the contact times the angle's error over sin^2 of the angle. A stop that feels an edge past formed bends measures
each leg on the way by the share of it that lies along X. The cut length links the two edges. A size
then is a sum of sources with signs along the tree path between its ends (plus half a deduction at each
bend it is sized to); worst case adds sizes, the statistical figure their squares.
"""

import math
from collections.abc import Mapping, Sequence

from flangewise.records import dataclass
from flangewise.sequence.problem import Datum

Terms = dict[tuple[str, int], float]


@dataclass(frozen=True)
class Tolerances:
    """What each source may be off by: stop position, cut length, half a bend deduction, a bend's angle."""

    stop_mm: float = 0.1
    cut_mm: float = 0.1
    half_deduction_mm: float = 0.05
    angle_deg: float = 0.5

    def of(self, source: tuple[str, int]) -> float:
        """Tolerance of one source, in its own unit (mm, rad)."""
        kinds = {
            "stop": self.stop_mm,
            "cut": self.cut_mm,
            "half-deduction": self.half_deduction_mm,
            "angle": math.radians(self.angle_deg),
        }
        return kinds[source[0]]


@dataclass(frozen=True)
class Gauged:
    """What bend was gauged on what: the start edge, the end edge, or the outer face of the flange at bend `flange`.

    Bends count from 0 along the section. `height_mm`: of the contact above the sheet; `flange_turn_deg`: of that bend.
    `past_share`: for an edge, the formed bends on the way to it, each with the cosine of the slope beyond it.
    """

    on: Datum
    flange: int | None = None
    height_mm: float = 0.0
    flange_turn_deg: float = 90.0
    past_share: tuple[tuple[int, float], ...] = ()

    def toward_start(self, bend: int) -> bool:
        """Whether the stop that gauges this bend stands on the side of the start edge."""
        return self.on == "start" or (self.on == "flange" and self.flange is not None and self.flange < bend)


@dataclass(frozen=True)
class SizeError:
    """Error of a size: worst case and root sum of squares (of tolerances taken as limits alike)."""

    worst_mm: float
    statistical_mm: float


def leg_errors(gauged: Sequence[Gauged], tolerances: Tolerances) -> tuple[SizeError, ...]:
    """Error of every leg, sized outside from bend to bend or to the edge.

    `gauged[i]` says what bend i was gauged on. Edges: no bend gives the cut length alone.
    Raises ValueError when the gaugings go round in a circle.
    """
    legs = ([abs(value) * tolerances.of(source) for source, value in terms.items()] for terms in leg_terms(gauged))
    return tuple(SizeError(sum(parts), math.sqrt(sum(part * part for part in parts))) for parts in legs)


def leg_terms(gauged: Sequence[Gauged]) -> tuple[Terms, ...]:
    """The signed sources in the error of every leg."""
    count = len(gauged)
    places = _places(gauged)
    nodes: list[Terms] = [{}, *(places[bend] for bend in range(count)), {("cut", 0): 1.0}]
    legs = []
    for leg in range(count + 1):
        ends = [{("half-deduction", bend): 1.0} for bend in (leg - 1, leg) if 0 <= bend < count]
        legs.append(_sum((1.0, nodes[leg + 1]), (-1.0, nodes[leg]), *((1.0, end) for end in ends)))
    return tuple(legs)


def legs_measured(gauged: Sequence[Gauged], bend: int) -> dict[int, float]:
    """What the stop of a bend measures: the legs between it and its datum, each with the share that lies along X.

    A leg's error times its share, summed over the legs, is how far the stop is off.
    """
    at, shares, share = gauged[bend], {}, 1.0
    near = at.toward_start(bend)
    formed = dict(at.past_share)
    for leg in range(bend, -1, -1) if near else range(bend + 1, len(gauged) + 1):
        passed = leg if near else leg - 1
        share = formed.get(passed, share)
        if at.on == "flange" and passed == at.flange:
            break
        shares[leg] = share
    return shares


def _places(gauged: Sequence[Gauged]) -> Mapping[int, Terms]:
    """Error of where each bend line lies, from the start edge."""
    known: dict[int, Terms] = {}
    while len(known) < len(gauged):
        ready = [i for i, at in enumerate(gauged) if i not in known and all(bend in known for bend in _rests_on(at))]
        if not ready:
            raise ValueError("a bend is gauged, by way of others, on itself")
        for bend in ready:
            known[bend] = _place(bend, gauged, known)
    return known


def _rests_on(gauged: Gauged) -> tuple[int, ...]:
    """Bends that stand before this one is gauged, and move it."""
    if gauged.on != "flange":
        return tuple(bend for bend, _ in gauged.past_share)
    if gauged.flange is None:
        raise ValueError("a bend gauged on a flange needs another bend's number")
    return (gauged.flange,)


def _place(bend: int, gauged: Sequence[Gauged], known: Mapping[int, Terms]) -> Terms:
    """X is the sum of the legs on the way by their shares; solved for the line of the bend.

    Unformed bends on the way fall out: the shares on their two sides are the same.
    """
    at = gauged[bend]
    side = 1.0 if at.toward_start(bend) else -1.0
    shares = legs_measured(gauged, bend)
    parts: list[tuple[float, Terms]] = [(side, {("stop", bend): 1.0})]
    lines = {leg + place for leg in shares for place in (0, 1)} - {bend + 1}
    for line in lines:
        weight = side * (shares.get(line, 0.0) - shares.get(line - 1, 0.0))
        if weight and line > 0:
            parts.append((weight, {("cut", 0): 1.0} if line > len(gauged) else known[line - 1]))
    for formed in _rests_on(at):
        parts.append((-side, _formed(formed, at, shares)))
    return _sum(*parts)


def _formed(formed: int, at: Gauged, shares: Mapping[int, float]) -> Terms:
    """What a formed bend adds to X: half its deduction on each leg beside it, and on a flange its lean."""
    beside = sum(shares.get(leg, 0.0) for leg in (formed, formed + 1))
    if at.on != "flange":
        return {("half-deduction", formed): beside}
    lean = at.height_mm / math.sin(math.radians(at.flange_turn_deg)) ** 2
    return {("half-deduction", formed): beside, ("angle", formed): -lean}


def _sum(*weighted: tuple[float, Terms]) -> Terms:
    total: Terms = {}
    for weight, terms in weighted:
        for source, value in terms.items():
            total[source] = total.get(source, 0.0) + weight * value
    return total
