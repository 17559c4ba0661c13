"""Does one wing of a part meet the other while they are folded together, continuously through the stroke.

Source: derived here: plane geometry of two wings that swing about the arc between them (see `stroke`).
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.stroke import Stroke
from flangewise.clearance.swept import CONTACT_MM, hulls_of
from flangewise.geometry import Path, Points
from flangewise.records import dataclass

Ints = NDArray[np.int64]

FOLD_BULGE_MM = 0.05
MOST_STEPS = 400
FEW_STEPS = 24


@dataclass(frozen=True)
class Meeting:
    """Two pieces of the part that come closer than the sheet is thick, and by how much too close.

    Pieces are spans of a path: 2 f for flat f, 2 z + 1 for zone z.
    """

    front_span: int
    behind_span: int
    overlap_mm: float


def wings_meet(front: Path, behind: Path, stroke: Stroke) -> Meeting | None:
    """The meeting of the two wings of a bend through its stroke, None if they keep clear.

    Of several the one with the fewest bends between, which decides the most; of these the deepest.

    Both wings are given in their own frames. The two faces beside the bend are not looked at against each
    other. A positive answer may be early by the bulge bound of 0.05 mm, never late.
    """
    size = float(np.abs(front.points_mm).max() + np.abs(behind.points_mm).max()) + stroke.zone_mm + stroke.opening_mm
    bulges_mm = size / 8 * math.radians(2 * stroke.half_turn_deg) ** 2
    steps = max(4, min(MOST_STEPS, math.ceil(math.sqrt(bulges_mm / FOLD_BULGE_MM))))
    found = None
    # What keeps clear in few steps, by more than they bulge, does so in many.
    for count in (FEW_STEPS, steps) if steps > FEW_STEPS else (steps,):
        halves = np.linspace(0.0, stroke.half_turn_deg, count + 1)
        laid = stroke.laid_mm(behind.points_mm, halves) * [-1.0, 1.0]
        placed = stroke.seen_mm(laid, halves, with_ram=False)
        bulge_mm = FOLD_BULGE_MM if count == steps else bulges_mm / count**2
        found = _worst(_pieces(front), placed, behind.spans, stroke.thickness_mm, bulge_mm)
        if found is None:
            break
    return found


def pieces_meet(front: Path, behind: Path, *, thickness_mm: float) -> Meeting | None:
    """The same for two wings at rest, both in machine coordinates, read outward from the bend."""
    placed = np.stack([behind.points_mm, behind.points_mm])
    return _worst(_pieces(front), placed, behind.spans, thickness_mm, 0.0)


def _pieces(path: Path) -> tuple[NDArray[np.object_], Ints]:
    """Segments of a path with the span each belongs to."""
    pairs = np.stack([path.points_mm[:-1], path.points_mm[1:]], axis=1)
    real = np.linalg.norm(pairs[:, 1] - pairs[:, 0], axis=1) > 1e-9
    return shapely.linestrings(pairs[real]), path.spans[1:][real]


def _worst(
    front: tuple[NDArray[np.object_], Ints], placed: Points, spans: Ints, thickness_mm: float, bulge_mm: float
) -> Meeting | None:
    lines, front_spans = front
    near = thickness_mm - 2 * CONTACT_MM + bulge_mm
    owners = np.tile(spans[1:], placed.shape[0] - 1)
    hulls = hulls_of(placed[:-1, :-1], placed[:-1, 1:], placed[1:, 1:], placed[1:, :-1])
    hit, struck = shapely.STRtree(lines).query(hulls, predicate="dwithin", distance=near)
    beside = (owners[hit] == spans[0]) & (front_spans[struck] == front_spans[0])
    hit, struck = hit[~beside], struck[~beside]
    if not len(hit):
        return None
    gaps = shapely.distance(hulls[hit], lines[struck])
    between = np.abs(owners[hit] - front_spans[struck])
    worst = int(np.lexsort((gaps, between))[0])
    overlap = float(thickness_mm - gaps[worst])
    return Meeting(int(front_spans[struck[worst]]), int(owners[hit[worst]]), overlap)
