"""A way in or out that a plan tells place by place, the part tilted: walked along in small steps, each tested whole.

Source: derived here.
"""

import math
from collections.abc import Iterable

import numpy as np
import shapely

from flangewise.replay.fold import Array
from flangewise.replay.meets import Obstacle, any_meets, raised, strips
from flangewise.replay.plan import TiltedWay

# No point of the part goes further between two moments; what a plan rounds its places to is less.
STEP_MM, ROUNDED_MM = 0.2, 0.5


def is_free(ring_mm: Array, bodies: Iterable[Obstacle], way: TiltedWay, *, touch_mm: float, open_mm: float) -> bool:
    """Whether a part lying where `ring_mm` shows it comes out along a way without meeting tools or machine.

    The first place is where it lies. At the second the ram is open: it has gone up over the part lying still, or has
    taken it along. From there on the ram stands; at the last place the part is in front of everything.
    """
    listed, rise_mm = tuple(bodies), max(open_mm - touch_mm, 0.0)
    fixed = [body.shrunk for body in listed if not body.with_ram]
    moving = [body.shrunk for body in listed if body.with_ram]
    (first, second), rest = way[:2], np.array(way[1:])
    if max(map(abs, (*first, second[0], second[2]))) > 0:
        return False
    if second[1] == 0:
        if any_meets(strips(ring_mm - np.array([0.0, touch_mm]), (0.0, -rise_mm)), moving):
            return False
    elif abs(second[1] - rise_mm) > ROUNDED_MM or any_meets(strips(ring_mm, (0.0, rise_mm)), fixed):
        return False
    else:
        rest[:, 1] += rise_mm - second[1]
    shapes = [*fixed, *(raised(shape, touch_mm + rise_mm) for shape in moving)]
    rings = _walked(ring_mm, rest)
    if any_meets(shapely.linearrings(rings), shapes):
        return False
    return bool(rings[-1][:, 0].min() > max(shapely.bounds(shape)[2] for shape in shapes))


def _walked(ring_mm: Array, places: Array) -> Array:
    """The part at moments so near each other that no point goes further than `STEP_MM` between them."""
    reach_mm = float(np.linalg.norm(ring_mm, axis=1).max())
    moves = np.diff(places, axis=0)
    far_mm = np.linalg.norm(moves[:, :2], axis=1) + reach_mm * np.radians(np.abs(moves[:, 2]))
    shares = [np.arange(count)[:, None] / count for count in np.ceil(far_mm / STEP_MM).clip(1).astype(int)]
    between = [begin + share * move for begin, share, move in zip(places[:-1], shares, moves, strict=True)]
    across, up, tilt_deg = np.concatenate([*between, places[-1:]]).T
    turn = tilt_deg * math.pi / 180
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    x, y = ring_mm[:, 0], ring_mm[:, 1]
    return np.stack([x * cos - y * sin + across[:, None], x * sin + y * cos + up[:, None]], axis=2)
