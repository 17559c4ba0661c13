"""An offset of a panel pressed in one hit: against points carried level, against itself, its poses, its way out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import shapely

from flangewise.clearance import Solid, ToolStack, slid_into
from flangewise.jobs.problem import tool_stack
from flangewise.panel_order import PanelShapes, StandingRow, SteppedHit, operations_of, step_fits
from flangewise.pattern import PanelBlank, lay_out_panel
from flangewise.punch_die import Pair
from flangewise.sequence import Hit as ToolHit

from ...published.panels import SQUARE, example_shop, panel_of
from .clouds import apart_from, bend_cloud, face_cloud, on_the_bed
from .made import FOOT_MM, bends, fingers

NONE: frozenset[int] = frozenset()
STEP_MM, MOMENTS, DEEP_MM = 4.0, 41, 0.003


def stepped(base: str, step: str, others: str) -> PanelBlank:
    """A base whose far edge is stepped; what else it has is bent with 1.5 mm radius. The sheet is 1.5 mm."""
    flanges = f"{others}, far: {{height: 30, bend: {{offset: 4, radius: 1{step}}}}}".replace("SQ", SQUARE)
    wanted = panel_of(f"{{base: {base}, flanges: {{{flanges}}}}}", thickness=1.5)
    radii_mm = {bend.number: 1.0 if bend.kind == "offset" else 1.5 for bend in wanted.panel.bends}
    return lay_out_panel(wanted, example_shop(), radii_mm=radii_mm)


def lands(*, turned: bool) -> ToolStack:
    """The offset pair of 4 mm on the medium press brake."""
    shop = example_shop()
    pair = Pair(shop.punches["offset-4"], shop.dies["offset-4"], "offset")
    return tool_stack(pair, shop.machines["mid-740"], turned=turned)


def poses(own: PanelBlank) -> Iterator[SteppedHit]:
    """The offset with its pair set straight and turned, in each pose that its tools take."""
    shapes, operation = PanelShapes(own), next(each for each in operations_of(own) if each.is_offset)
    for turned in (False, True):
        tools = ToolHit(lands(turned=turned), 0.0, 1.0, "offset")
        for lying in operation.lying():
            for behind in (True, False):
                if step_fits(lying, tools, parent_behind=behind):
                    yield SteppedHit(
                        shapes, lying, parent_behind=behind, tools=tools, foot_mm=FOOT_MM, fingers=fingers()
                    )


def only(own: PanelBlank, *, up: bool, parent_behind: bool) -> SteppedHit:
    return next(each for each in poses(own) if (each.marked_up, each.parent_behind) == (up, parent_behind))


@pytest.mark.parametrize("away", ["", ", away: true"])
def test_each_way_of_lying_is_pressed_with_the_pair_one_way_round(away: str) -> None:
    """Either face up, either side behind; what is turned over or round wants the pair the other way round."""
    own = stepped("[120, 90]", away, "near: {height: 20, bend: SQ}")
    found = {(hit.marked_up, hit.parent_behind): hit.tools.stack.turned for hit in poses(own)}
    rises = {pose: (pose[0] == (away == "")) == pose[1] for pose in found}
    assert len(found) == 4 and found == rises


def moved(hit: SteppedHit, share: float, *, behind: bool) -> tuple[float, float, float]:
    """Where a wing's zone ends and how high its middle lies at a share of a level, straight way; and the nose's height.

    r = 1, t = 1.5: flat the strip is two zones and the web wide, formed 2 (r + t/2) = 3.5.
    """
    zones = hit.shapes.blank.zones
    first, second = (zone for zone in zones if zone.bend == hit.operation.bends[0])
    wide = 2 * first.allowance.allowance_mm + STEP_MM - 2 * 1.75
    assert second.label == f"{first.bend}b"
    out = (wide + share * (3.5 - wide)) / 2
    falls = hit.tools.stack.turned == behind
    return out, 0.75 - (share * STEP_MM if falls else 0.0), 1.5 - share * STEP_MM


def struck(hit: SteppedHit, cloud: np.ndarray, *, behind: bool) -> dict[str, np.ndarray]:
    found: dict[str, list[np.ndarray]] = {"punch": [], "die": [], "rest": []}
    inner = {body.name: shapely.buffer(shapely.Polygon(body.points_mm), -DEEP_MM) for body in hit.tools.stack.bodies}
    for share in np.linspace(0.0, 1.0, MOMENTS):
        out, up, nose = moved(hit, float(share), behind=behind)
        across = (cloud[:, 1] + out) * (-1.0 if behind else 1.0)
        for body in hit.tools.stack.bodies:
            height = cloud[:, 2] + up - (nose if body.with_ram else 0.0)
            inside = shapely.contains_xy(inner[body.name], across, height)
            found[body.name if body.name in found else "rest"].append(cloud[inside, 0])
    return {name: np.concatenate(each) for name, each in found.items()}


@pytest.mark.parametrize("away", ["", ", away: true"])
def test_no_point_of_a_wing_is_struck_outside_what_it_forbids(away: str) -> None:
    """Sides up or down beside the step, and a flange of the base 20 mm from it, near the lands."""
    own = stepped("[70, 22]", away, "near: {height: 26, bend: SQ}, left: {height: 18, bend: SQ, inset: 7}")
    done = bends(own, "near", "left")
    held = 0
    for hit in poses(own):
        told = hit.forbidden(done)
        for wing, behind in ((hit.front, False), (hit.behind, True)):
            for face, branch in wing.branches.items():
                root = face
                while (above := wing.branches[root].above) is not None:
                    root = above
                cloud = face_cloud(own, face, done, root)
                if branch.path:
                    cloud = np.vstack([cloud, bend_cloud(own, branch.path[-1], done, root)])
                met = struck(hit, on_the_bed(hit, cloud, behind=behind), behind=behind)
                if told.fatal:
                    continue
                assert not len(met["rest"])
                for name in ("punch", "die"):
                    assert apart_from(met[name], getattr(told, name)) < 1e-3
                    held += len(met[name]) > 0
    assert held > 0


def test_the_wings_go_against_each_other_by_what_the_step_takes() -> None:
    """Two blocks 2 mm apart: one comes 3 mm nearer and 4 mm down, past the other's edge or into it."""

    def block(low: tuple[float, float, float], size: tuple[float, float, float]) -> Solid:
        ring = np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * size[:2] + low[:2]
        return Solid(*(np.column_stack([ring, np.full(4, up)]) for up in (low[2], low[2] + size[2])))

    still = block((0, 0, 0), (10, 10, 10))
    # At the side of it, level: 2 mm of 3 are free.
    assert slid_into(block((0, 12, 0), (10, 5, 10)), still, (0.0, -3.0, 0.0)) == pytest.approx(1.0)
    assert slid_into(block((0, 12, 0), (10, 5, 10)), still, (0.0, -1.9, 4.0)) == 0.0
    # A corner that passes over the edge by sqrt(2)/2: from (12, 11) to (9, 14), up over (10, 10).
    assert slid_into(block((0, 12, 11), (10, 5, 5)), still, (0.0, -3.0, 3.0)) == 0.0
    # It starts and ends apart and sweeps through: down past the edge, 1 mm within it on the way.
    assert slid_into(block((0, 9, 11), (10, 5, 5)), still, (0.0, 0.0, -30.0)) == pytest.approx(1.0)


def test_it_lies_on_the_die_before_the_hit_and_stops_touch_it_there() -> None:
    """Base behind: its near edge lies half the strip and 90 - 2.75 behind the middle: s = 2.5 of the step's own."""
    own = stepped("[120, 90]", "", "near: {height: 20, bend: SQ}")
    hit = only(own, up=True, parent_behind=True)
    first = next(zone for zone in own.zones if zone.bend == hit.operation.bends[0])
    wide = 2 * first.allowance.allowance_mm + STEP_MM - 3.5
    assert hit.operation.half_zone_mm == pytest.approx(wide / 2)
    near = next(zone for zone in own.zones if zone.label == "1").allowance.allowance_mm
    # The near flange flat behind it: base less both setbacks (r + t), the near zone, its flange less its setback.
    edge = 90 - 2.5 - 3.0 + near + (20 - 3.0)
    best = hit.stops(NONE)[0]
    assert (best.on, best.x_mm) == ("edge", pytest.approx(edge + wide / 2))
    assert best.retract_mm == 0.0
    leaves = hit.leaves(NONE, StandingRow(-5.0, 130.0))
    assert leaves is not None and leaves.way == "up"
    assert hit.clearance_mm(NONE, StandingRow(-5.0, 130.0)) is None


def test_how_far_a_bend_stands_from_the_lands_is_told_where_rows_stand() -> None:
    """Formed, the base begins 1.75 from the middle; its flat of 22 - 2.5 - 3 ends where the near bend rises."""
    own = stepped("[70, 22]", "", "near: {height: 26, bend: SQ}")
    hit = only(own, up=True, parent_behind=True)
    back_mm = {body.name: -min(across for across, _ in body.points_mm) for body in hit.tools.stack.bodies}
    assert back_mm["die"] == 14.0 and back_mm["punch"] == 12.0
    clear = hit.clearance_mm(bends(own, "near"), StandingRow(-5.0, 80.0))
    assert clear is not None and clear <= 1.75 + 16.5 - 14.0
    assert clear == pytest.approx(1.75 + 16.5 - 14.0, abs=0.05)
