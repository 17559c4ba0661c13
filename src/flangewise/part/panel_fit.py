"""Whether the sizes of a panel can be: its base an outline, flanges on their edges, corners that can be made so."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from flangewise.faults import FaultCollector, Steps
from flangewise.geometry import Edge, area_mm2, crossing, edges_of, inner_angle_deg
from flangewise.part.fit import meeting_holes
from flangewise.part.panel import BASE, Corner, Panel, WantedFlange
from flangewise.units import format_length

# Far under what can be cut, far over rounding.
NOTHING_MM = 1e-6
NOTHING_DEG = 1e-6


def check_panel_sizes(panel: Panel, places: Mapping[str, Steps], *, units: str, collector: FaultCollector) -> None:
    """Tell of all that cannot be, whatever radius the bends get; `places`: where each face stands in the file."""
    outline: Steps = ("panel", "base", "outline")
    at = crossing(panel.ring_mm)
    if at is not None or any(edge.length_mm < NOTHING_MM for edge in edges_of(panel.ring_mm)):
        told = "an edge without length" if at is None else f"it meets itself at {_place(at, units)}"
        collector.value(outline, f"is no outline, {told}", "go round it once, each corner given once")
        return
    if area_mm2(panel.ring_mm) <= 0:
        collector.value(outline, "runs clockwise", "give its corners counterclockwise, marked face up")
        return
    edges = dict(zip(panel.edges, edges_of(panel.ring_mm), strict=True))
    if len(edges) < len(panel.edges):
        collector.value(("panel", "base", "names"), "names two edges alike", "give each edge its own name")
        return
    for face in (BASE, *(flange.face for flange in panel.all_flanges())):
        for hung in _by_edge(panel, face, places):
            _check_spans(hung, edges[hung[0].edge] if face == BASE else None, places, units, collector)
    for flange in panel.all_flanges():
        short = any(edge.length_mm < NOTHING_MM for edge in edges_of(flange.shape_mm or panel.ring_mm))
        if flange.shape_mm and flange.face in places and (short or crossing(flange.shape_mm) is not None):
            told, fits = "meets itself, or has an edge without length", "go round it once, each corner given once"
            collector.value((*places[flange.face], "shape"), told, fits)
    _check_corners(panel, edges, collector)
    _check_rounded(panel, collector)
    for first, second in meeting_holes(panel.holes):
        collector.value(
            ("panel", "holes", second.number - 1), f"meets hole {first.number}", "move one of them, or make them one"
        )


def _place(point: tuple[float, float], units: str) -> str:
    return f"({', '.join(format_length(each, units) for each in point)})"


def _by_edge(panel: Panel, face: str, places: Mapping[str, Steps]) -> Iterator[list[WantedFlange]]:
    """The flanges of a face on edges that are there, those of one edge together, from its left end."""
    found: dict[str, list[WantedFlange]] = {}
    for flange in panel.all_flanges():
        if flange.on == face and flange.face in places and (face != BASE or flange.edge in panel.edges):
            found.setdefault(flange.edge, []).append(flange)
    yield from (sorted(each, key=lambda flange: flange.from_mm) for each in found.values())


def _check_spans(
    hung: Sequence[WantedFlange], edge: Edge | None, places: Mapping[str, Steps], units: str, collector: FaultCollector
) -> None:
    """Each flange within its edge, where its length is known from the file, and beside the others on it."""
    ends = []
    for flange in hung:
        length_mm = None if edge is None else edge.length_mm
        end_mm = flange.to_mm if flange.to_mm is not None else length_mm and length_mm - flange.inset_mm
        steps = places[flange.face]
        if end_mm is not None and end_mm <= flange.from_mm + NOTHING_MM:
            told = f"goes from {format_length(flange.from_mm, units)} to {format_length(end_mm, units)}"
            collector.value(steps, told, "its right end is further from the left")
        elif length_mm is not None and end_mm is not None and (flange.from_mm < 0 or end_mm > length_mm + NOTHING_MM):
            told = f"goes from {format_length(flange.from_mm, units)} to {format_length(end_mm, units)}"
            collector.value(steps, f"{told}, beyond the edge", f"the edge is {format_length(length_mm, units)} long")
        ends.append(end_mm)
    for (one, end_mm), (other, _) in pairwise(zip(hung, ends, strict=True)):
        if end_mm is None or end_mm > other.from_mm + NOTHING_MM:
            upto = "its end" if end_mm is None else format_length(end_mm, units)
            told = f"overlaps {one.face} from {format_length(other.from_mm, units)} to {upto} on {other.edge}"
            collector.value(places[other.face], told, "move one of them")


def _check_corners(panel: Panel, edges: Mapping[str, Edge], collector: FaultCollector) -> None:
    names = panel.edges
    for before, after in zip((names[-1], *names[:-1]), names, strict=True):
        corner, named = panel.corner(before, after), panel.corner_named(before, after)
        one, other = _reaching(panel, edges, before, last=True), _reaching(panel, edges, after, last=False)
        if corner.kind == "open" or (named is None and (one is None or other is None)):
            continue
        angle_deg = inner_angle_deg(edges[before], edges[after])
        wrong = _wrong_corner(corner, one, other, angle_deg, frozenset((before, after)))
        if wrong:
            told, fits = wrong
            steps: Steps = ("panel", "corners", named or f"{before}/{after}")
            collector.value(steps, told, fits)


def _wrong_corner(
    corner: Corner, one: WantedFlange | None, other: WantedFlange | None, angle_deg: float, pair: frozenset[str]
) -> tuple[str, str] | None:
    alike = (
        one is not None
        and other is not None
        and "offset" not in (one.bend.kind, other.bend.kind)
        and abs(one.bend.signed_turn_deg - other.bend.signed_turn_deg) < NOTHING_DEG
        and angle_deg < 180.0 - NOTHING_DEG
    )
    if not alike:
        return f"{corner.kind} needs two flanges bent alike at an outer corner", "write open"
    assert one is not None
    if corner.kind == "lapped":
        if abs(angle_deg - 90.0) > NOTHING_DEG or abs(one.bend.turn_deg - 90.0) > NOTHING_DEG:
            return "lapped is for square flanges at a square corner", "write closed"
        if len(pair & set(corner.over)) != 1:
            return "lapped does not say which of the two lies over", "write over: with one of them"
    return None


def _reaching(panel: Panel, edges: Mapping[str, Edge], edge: str, *, last: bool) -> WantedFlange | None:
    """The flange on an edge of the base that reaches its last or its first corner; None where none does."""
    for flange in panel.flanges:
        if flange.edge == edge:
            end_mm = edges[edge].length_mm - flange.inset_mm if flange.to_mm is None else flange.to_mm
            short_mm = edges[edge].length_mm - end_mm if last else flange.from_mm
            if short_mm < NOTHING_MM:
                return flange
    return None


def _check_rounded(panel: Panel, collector: FaultCollector) -> None:
    """A corner beside a flange cannot be rounded: the bends cut it."""
    bent = {flange.edge for flange in panel.flanges}
    names = panel.edges
    beside = zip((names[-1], *names[:-1]), names, panel.radii_mm, strict=True)
    for at, (before, after, radius_mm) in enumerate(beside):
        if radius_mm and {before, after} & bent:
            steps: Steps = ("panel", "base", "outline", at)
            collector.value(steps, "a corner beside a flange is rounded", "round corners between free edges only")
