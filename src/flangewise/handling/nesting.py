"""How finished sections lie in each other: whether they nest, at which pitch, how high and wide one is as it lies.

Every flat has a normal on the same side of the sheet. Where the normals spread over less than half a turn, equal
sections nest by moving them along the middle of the outermost two: the section then runs on to one side only, so no
other flat comes in the way, and the flattest of them to that direction needs t / cos(spread / 2). From half a turn on
nothing nests by moving alone. Bend radii do not matter: an outer arc lies deeper than the inner one. Source: geometry.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from flangewise.records import dataclass

Point = tuple[float, float]
Ring = Sequence[Point]

# Within so little of half a turn a section counts as square: bends scatter by more than that.
SQUARE_DEG = 0.5
# A pair of channels is for bends this near to 90 degrees.
RIGHT_ANGLE_DEG = 90.0
# The outline has its arcs drawn out in chords: so much overlap is of the drawing.
DRAWN_MM = 0.02


@dataclass(frozen=True)
class Nest:
    """One section as it lies in a stack.

    `spread_deg`: over how much the normals of its flats spread. `rule_mm`: the pitch that follows, None where equal
    sections do not nest. `pitch_mm`: what a stack grows by for each more, at most the section's own height.
    `high_mm`, `wide_mm`: of one section, along the stack and across it. `turned_deg`: how far the section is turned
    from how its outline is given until the stack stands upright.
    """

    spread_deg: float
    rule_mm: float | None
    pitch_mm: float
    high_mm: float
    wide_mm: float
    turned_deg: float

    @property
    def nests(self) -> bool:
        """Whether one lies in the other: each more adds less than its own height."""
        return self.pitch_mm < self.high_mm - DRAWN_MM


def headings_deg(flats_mm: Sequence[tuple[Point, Point]]) -> tuple[float, ...]:
    """Where each flat runs, each given by its two ends in order, going on counting through all turns.

    >>> headings_deg([((0, 0), (1, 0)), ((1, 0), (1, 1)), ((1, 1), (0, 1))])
    (0.0, 90.0, 180.0)
    """
    ways = [math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) for start, end in flats_mm]
    found = ways[:1]
    for before, now in pairwise(ways):
        turn_deg = (now - before + 180.0) % 360.0 - 180.0
        found.append(found[-1] + turn_deg)
    return tuple(found)


def nesting_rule_mm(thickness_mm: float, *, spread_deg: float) -> float | None:
    """The pitch of equal sections whose normals spread so far; None where they do not nest.

    >>> round(nesting_rule_mm(2, spread_deg=90), 3)
    2.828
    """
    if spread_deg >= 180.0 - SQUARE_DEG:
        return None
    return thickness_mm / math.cos(math.radians(spread_deg / 2))


def nest(outline_mm: Ring, flats_mm: Sequence[tuple[Point, Point]], thickness_mm: float) -> Nest:
    """How sections of that outline lie in a stack; one that does not nest lies with its outline as given."""
    headings = headings_deg(flats_mm)
    spread_deg = max(headings) - min(headings)
    rule_mm = nesting_rule_mm(thickness_mm, spread_deg=spread_deg)
    # The middle of the headings level, so that the middle of the normals stands upright.
    turned_deg = 0.0 if rule_mm is None else -(max(headings) + min(headings)) / 2
    lying = turned(outline_mm, turned_deg)
    wide_mm, high_mm = sides_mm(lying)
    pitch_mm = high_mm if rule_mm is None else min(max(rule_mm, least_pitch_mm(lying) - DRAWN_MM), high_mm)
    return Nest(spread_deg, rule_mm, pitch_mm, high_mm, wide_mm, turned_deg)


def turned(outline_mm: Ring, by_deg: float) -> tuple[Point, ...]:
    """An outline turned in its plane, counterclockwise."""
    cos, sin = math.cos(math.radians(by_deg)), math.sin(math.radians(by_deg))
    return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in outline_mm)


def sides_mm(outline_mm: Ring) -> Point:
    """How wide and how high an outline is."""
    wide, high = zip(*outline_mm, strict=True)
    return max(wide) - min(wide), max(high) - min(high)


def least_pitch_mm(outline_mm: Ring) -> float:
    """How far up a second one must come to lie on the first when it is let down from above.

    That is the most that any upright line spans between the lowest and the highest place where it meets the outline;
    between two corners it runs straight, so the corners' own places, seen from both sides, are enough.
    """
    spans = []
    for at_mm, _ in outline_mm:
        for beside_mm in (at_mm - 1e-7, at_mm + 1e-7):
            heights = _met(outline_mm, beside_mm)
            spans.append(max(heights) - min(heights) if heights else 0.0)
    return max(spans)


def _met(outline_mm: Ring, at_mm: float) -> list[float]:
    """The heights at which an upright line meets the edges."""
    found = []
    for (x, y), (other_x, other_y) in zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True):
        if min(x, other_x) <= at_mm < max(x, other_x):
            found.append(y + (at_mm - x) / (other_x - x) * (other_y - y))
    return found


@dataclass(frozen=True)
class Paired:
    """Channels in opposed pairs: a row that opens up and one that opens down between them, moved by `shift_mm`.

    `outline_mm` is one that opens up, `wide_mm` wide; both rows share `high_mm`, a thickness above its tips.
    """

    outline_mm: tuple[Point, ...]
    wide_mm: float
    high_mm: float
    shift_mm: float
    thickness_mm: float

    @property
    def places_mm(self) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
        """How far two neighbours of each row are moved: of those that open up, and of those turned upside down."""
        shift_mm, up_mm = self.shift_mm, self.thickness_mm
        return ((0.0, 0.0), (self.wide_mm, 0.0)), ((shift_mm, up_mm), (shift_mm + self.wide_mm, up_mm))

    def in_a_row(self, length_mm: float) -> int:
        """How many both rows hold together over a length."""
        return int(length_mm // self.wide_mm) + max(0, int((length_mm - self.shift_mm) // self.wide_mm))


def paired(
    outline_mm: Ring, flats_mm: Sequence[tuple[Point, Point]], *, thickness_mm: float, radius_mm: float = 0.0
) -> Paired | None:
    """Channels in opposed pairs: two bends of 90 degrees the same way, wide enough; None for other sections.

    A flange stands between the flange beside it and the next one's, clear of the inside radii: it is moved by at least
    2 t + r, and as much is left at the other side. Both rows share the height of one and a thickness. Source: geometry.
    """
    headings = headings_deg(flats_mm)
    turns = [after - before for before, after in pairwise(headings)]
    square = len(turns) == 2 and all(abs(abs(each) - RIGHT_ANGLE_DEG) < SQUARE_DEG for each in turns)
    if not square or turns[0] * turns[1] < 0:
        return None
    # Where the section turns clockwise its flanges hang down as long as the web runs to the right.
    up = turned(outline_mm, -headings[1] + (180.0 if turns[0] < 0 else 0.0))
    wide_mm, high_mm = sides_mm(up)
    shift_mm = 2 * thickness_mm + radius_mm
    if wide_mm < 2 * shift_mm:
        return None
    return Paired(up, wide_mm, high_mm + thickness_mm, shift_mm, thickness_mm)
