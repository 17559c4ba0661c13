"""The sheet cut along its bend lines: faces, and how they hang together from the base outward."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

import shapely

from flangewise.drawn.blank import DrawnFace, DrawnLine, Run
from flangewise.drawn.contours import LEAST_MM2, ring_of
from flangewise.drawn.on_sheet import LineOnSheet
from flangewise.drawn.pieces import SAME_MM
from flangewise.drawn.strokes import DrawnStroke
from flangewise.drawn.told import TimeBox, at, line_place
from flangewise.drawn.turns import DrawnTurn
from flangewise.findings import Finding, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass

# Edges that lie on each other but for rounding lose whole strips unless all is set on a grid.
GRID_MM = 1e-5
# Each stretch is drawn on past the edge by this, so that it cuts through whatever the rounding.
PAST_MM = 1e-3
# Beside the middle of a stretch by this lies the face on that side: less than the band that lines keep from edges.
BESIDE_MM = 2e-3
# Areas that differ by less are alike: then the lower face, of these the left one, is the base.
ALIKE_DIGITS = 2


@dataclass(frozen=True)
class Bend:
    """Stretches on one line that part the same two cells: the cell on their left, looking along the line, and right."""

    stroke: DrawnStroke
    runs_mm: tuple[Run, ...]
    left: int
    right: int

    def across(self, cell: int) -> int:
        """The cell on the other side."""
        return self.right if cell == self.left else self.left


@dataclass(frozen=True)
class Faces:
    """The faces and the lines between them; empty where the lines make no tree, and what must be told."""

    faces: tuple[DrawnFace, ...]
    lines: tuple[DrawnLine, ...]
    findings: tuple[Finding, ...]


def faces_of(
    sheet: Any, lines: Sequence[LineOnSheet], turns: Mapping[int, DrawnTurn], base_mm: Point | None, box: TimeBox
) -> Faces:
    """The faces between the lines, numbered from the base outward; each line parts two of them.

    A fault: a line that has the same face on both sides, lines that close a ring of faces, a base on no face.
    """
    cells = _cells(sheet, lines)
    box.look()
    bends, findings = _bends(cells, lines)
    base, astray = _base(cells, base_mm)
    findings += astray
    if findings:
        return Faces((), (), tuple(findings))
    order, hung, closing = _tree(bends, base)
    findings += [_ring(bends, hung, each) for each in closing]
    if len(order) < len(cells):
        loose = next(cell for place, cell in enumerate(cells) if place not in order)
        findings.append(refuse("drawn-face-loose", at(loose.representative_point().coords[0])))
    if findings:
        return Faces((), (), tuple(findings))
    faces = tuple(
        DrawnFace(number, ring_of(cells[cell].exterior), tuple(sorted(map(ring_of, cells[cell].interiors))))
        for cell, number in order.items()
    )
    # By the number of the drawn line, and along it where it makes more than one bend.
    made = sorted(hung.values(), key=lambda each: (bends[each[0]].stroke.number, bends[each[0]].runs_mm))
    numbered = [_line(number, bends[place], parent, order, turns) for number, (place, parent) in enumerate(made, 1)]
    return Faces(faces, tuple(numbered), ())


def _cells(sheet: Any, lines: Sequence[LineOnSheet]) -> list[Any]:
    """The pieces of the sheet, from the lowest, of these the leftmost."""
    cuts = []
    for line in lines:
        across, up = line.stroke.way[0] * PAST_MM, line.stroke.way[1] * PAST_MM
        for (x_mm, y_mm), (u_mm, v_mm) in line.runs_mm:
            cuts.append(shapely.LineString([(x_mm - across, y_mm - up), (u_mm + across, v_mm + up)]))
    net = shapely.union_all([sheet.boundary, *cuts], grid_size=GRID_MM)
    shapely.prepare(sheet)
    pieces = [each for each in shapely.get_parts(shapely.polygonize([net])) if each.area > LEAST_MM2]
    inside = [each for each in pieces if sheet.contains(each.representative_point())]
    return sorted(inside, key=lambda cell: (cell.bounds[1], cell.bounds[0], cell.bounds[3], cell.bounds[2]))


def _bends(cells: Sequence[Any], lines: Sequence[LineOnSheet]) -> tuple[list[Bend], list[Finding]]:
    """Stretches that part the same two cells, taken together on each line."""
    tree, findings = shapely.STRtree(cells), []
    parted: dict[tuple[int, int, int], list[tuple[DrawnStroke, Run]]] = defaultdict(list)
    for line in lines:
        for run in line.runs_mm:
            left, right = (_cell_beside(tree, line.stroke, run, side) for side in (1.0, -1.0))
            if left is None or right is None or left == right:
                where = at(line.stroke.at_mm(line.stroke.along_mm(run[0])))
                findings.append(refuse("drawn-line-parts-nothing", line_place(line.stroke.number), place=where))
            else:
                parted[line.stroke.carrier, left, right].append((line.stroke, run))
    bends = [
        Bend(members[0][0], tuple(run for _, run in members), left, right)
        for (_, left, right), members in parted.items()
    ]
    return bends, findings


def _cell_beside(tree: Any, stroke: DrawnStroke, run: Run, side: float) -> int | None:
    across, up = stroke.way
    middle_mm = ((run[0][0] + run[1][0]) / 2, (run[0][1] + run[1][1]) / 2)
    beside = shapely.Point(middle_mm[0] - side * BESIDE_MM * up, middle_mm[1] + side * BESIDE_MM * across)
    found = tree.query(beside, predicate="within")
    return int(found[0]) if len(found) else None


def _base(cells: Sequence[Any], base_mm: Point | None) -> tuple[int, list[Finding]]:
    """The cell that the file names by a point of it, else the largest."""
    if base_mm is not None:
        named = [place for place, cell in enumerate(cells) if cell.contains(shapely.Point(base_mm))]
        return (named[0], []) if named else (0, [refuse("drawn-base-astray", at(base_mm))])
    return max(range(len(cells)), key=lambda place: (round(cells[place].area, ALIKE_DIGITS), -place)), []


def _tree(bends: Sequence[Bend], base: int) -> tuple[dict[int, int], dict[int, tuple[int, int]], list[int]]:
    """From the base outward: the number of each cell, the bend and the cell each hangs on, and bends left over.

    What is left over joins two cells that hang together already: it closes a ring.
    """
    at_cell: dict[int, list[int]] = defaultdict(list)
    for place in sorted(range(len(bends)), key=lambda each: bends[each].stroke.number):
        at_cell[bends[place].left].append(place)
        at_cell[bends[place].right].append(place)
    order, hung, closing, used = {base: 1}, {}, [], set()
    waiting = [base]
    for cell in waiting:
        for place in at_cell[cell]:
            if place in used:
                continue
            used.add(place)
            beyond = bends[place].across(cell)
            if beyond in order:
                closing.append(place)
            else:
                order[beyond] = len(order) + 1
                hung[beyond] = (place, cell)
                waiting.append(beyond)
    return order, hung, closing


def _ring(bends: Sequence[Bend], hung: Mapping[int, tuple[int, int]], closing: int) -> Finding:
    """The fault of a line that closes a ring: with the lines on the way round from one of its sides to the other."""

    def way(cell: int) -> list[tuple[int, int]]:
        steps = []
        while cell in hung:
            steps.append((cell, hung[cell][0]))
            cell = hung[cell][1]
        return steps

    one, other = way(bends[closing].left), way(bends[closing].right)
    shared = {cell for cell, _ in one} & {cell for cell, _ in other}
    places = [place for cell, place in (*one, *other) if cell not in shared]
    numbers = sorted({bends[place].stroke.number for place in places} | {bends[closing].stroke.number})
    stroke = bends[closing].stroke
    where = at(stroke.at_mm(stroke.length_mm / 2))
    others = tuple(str(number) for number in numbers if number != stroke.number)
    return refuse("drawn-ring", line_place(stroke.number), lines=others, place=where)


def _line(number: int, bend: Bend, parent: int, order: Mapping[int, int], turns: Mapping[int, DrawnTurn]) -> DrawnLine:
    """The bend line so that what hangs on it lies on its left."""
    child = bend.across(parent)
    along: list[list[float]] = []
    for from_mm, to_mm in sorted(sorted(bend.stroke.along_mm(point) for point in run) for run in bend.runs_mm):
        # Where a cut-out only touches the line nothing parts it.
        if along and from_mm - along[-1][1] <= SAME_MM:
            along[-1][1] = to_mm
        else:
            along.append([from_mm, to_mm])
    runs = [(bend.stroke.at_mm(from_mm), bend.stroke.at_mm(to_mm)) for from_mm, to_mm in along]
    if child != bend.left:
        runs = [(to_mm, from_mm) for from_mm, to_mm in reversed(runs)]
    turn = turns[bend.stroke.number]
    return DrawnLine(
        number=number,
        start_mm=runs[0][0],
        end_mm=runs[-1][1],
        runs_mm=tuple(runs),
        toward=bend.stroke.toward,
        bend=turn.bend,
        said_by=turn.said_by,
        entry=turn.entry,
        face_from=order[parent],
        face_to=order[child],
    )
