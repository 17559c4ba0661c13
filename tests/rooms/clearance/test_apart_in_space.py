"""How near solids come to tools in space: by hand, and against points."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from flangewise.clearance import Body, Solid, Stroke, least_apart_mm, prisms

from ...how_many import one_in

PUNCH = Body("punch", ((0.0, 0.0), (10.0, 11.0), (10.0, 100.0), (-10.0, 100.0), (-10.0, 11.0)), True)
DIE = Body(
    "die", ((-20.0, 0.0), (-6.0, 0.0), (0.0, -6.7), (6.0, 0.0), (20.0, 0.0), (20.0, -60.0), (-20.0, -60.0)), False
)
# Hardly any turn: as good as lying still.
STILL = Stroke(12.0, 0.0, 1.5, -0.75, 0.0, 1e-6)


def box(along: tuple[float, float], out: tuple[float, float], up: tuple[float, float]) -> Solid:
    (near, far), (low, high) = out, up
    under, over = (np.array([(x, near, low), (x, far, low), (x, far, high), (x, near, high)]) for x in along)
    return Solid(under, over)


@pytest.mark.parametrize(
    ("along", "out", "up", "apart"),
    [
        # Before the flank, which stands 10 out from 11 up: 5; past the end of the row as well by 12: 13.
        ((10.0, 20.0), (15.0, 30.0), (40.0, 60.0), 5.0),
        ((112.0, 120.0), (15.0, 30.0), (40.0, 60.0), 13.0),
        # Beside the row, on a level with it.
        ((103.0, 110.0), (-5.0, 5.0), (40.0, 60.0), 3.0),
        # Above a punch that is 100 high.
        ((10.0, 20.0), (-5.0, 5.0), (104.0, 110.0), 4.0),
        # In it.
        ((10.0, 20.0), (-5.0, 5.0), (40.0, 60.0), 0.0),
    ],
)
def test_a_box_beside_a_punch(
    along: tuple[float, float], out: tuple[float, float], up: tuple[float, float], apart: float
) -> None:
    """The nose touches the sheet's upper face, 0.75 over its middle."""
    own = box(along, out, (up[0] + 0.75, up[1] + 0.75))
    assert least_apart_mm([own], prisms(PUNCH, (0.0, 100.0)), STILL) == pytest.approx(apart, abs=1e-3)


def test_nothing_is_as_far_as_can_be() -> None:
    assert least_apart_mm([], prisms(PUNCH, None), STILL) == np.inf
    assert least_apart_mm([box((0, 1), (0, 1), (0, 1))], [], STILL) == np.inf


@pytest.mark.parametrize("seed", range(0, 12, one_in(4)))
def test_it_is_as_near_as_points_come(seed: int) -> None:
    """A plate of any attitude out in front, by points of it at 61 moments: none nearer, and some nearly as near."""
    rng = np.random.default_rng(seed)
    one, other, normal = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    centre = np.array([rng.uniform(-40, 140), rng.uniform(40, 70), rng.uniform(-30, 60)])
    flat = [centre + u * one + v * other for u, v in ((-15, -10), (15, -10), (15, 10), (-15, 10))]
    own = Solid(np.array(flat) - normal, np.array(flat) + normal)
    stroke = Stroke(12.0, 0.0, 1.5, -0.75, 0.0, 45.0)
    shares = rng.dirichlet(np.full(8, 0.15), 2000)
    points = np.concatenate([shares @ own.corners_mm, own.corners_mm])
    for body in (PUNCH, DIE):
        shape, least = shapely.Polygon(body.points_mm), np.inf
        beside = np.maximum(np.maximum(-points[:, 0], points[:, 0] - 100.0), 0.0)
        for half in np.linspace(0.0, 45.0, 61):
            laid = stroke.laid_mm(points[:, 1:], np.array([half]), from_nose=body.with_ram)[0]
            least = min(least, float(np.hypot(beside, shapely.distance(shape, shapely.points(laid))).min()))
        found = least_apart_mm([own], prisms(body, (0.0, 100.0)), stroke)
        assert found <= least + 0.06
        assert found > least - 0.8
