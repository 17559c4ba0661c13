"""Random panels hit by hit against clouds of points: tools, stops, and the part against itself."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.panel_order import SpaceHit
from flangewise.pattern import PanelBlank

from ...how_many import one_in
from ...published.panels import blank, blank_of, panel_of
from .clouds import apart_from, bend_cloud, face_cloud, on_the_bed, share_a_place, struck, unreached_mm
from .made import FOOT_MM, bends, fingers, hit_of, hits, stack

TURNS = (90, 60, 45, 105, -90, -60)


def random_panel(seed: int) -> PanelBlank:
    """A base with flanges of any turn, some inset, some with a mitred tip."""
    rng = np.random.default_rng(seed)

    def bend() -> str:
        turn = int(rng.choice(TURNS))
        return f"{{turn: {abs(turn)}, away: {str(turn < 0).lower()}, k_factor: 0.42}}"

    flanges = []
    for edge in ("near", "right", "far", "left"):
        if rng.random() < 0.15 and (flanges or edge != "left"):
            continue
        said = f"height: {rng.integers(15, 50)}, bend: {bend()}"
        if rng.random() < 0.3:
            said += f", inset: [{rng.integers(8, 20)}, {rng.integers(8, 20)}]"
        if rng.random() < 0.5:
            said += f", tip: {{height: {rng.integers(12, 25)}, bend: {bend()}, mitre: {rng.choice([0, 30])}}}"
        flanges.append(f"{edge}: {{{said}}}")
    wide, deep = rng.integers(60, 110), rng.integers(60, 110)
    return blank_of(
        panel_of(f"{{base: [{wide}, {deep}], flanges: {{{', '.join(flanges)}}}}}", thickness=float(rng.choice([1, 2])))
    )


def random_ell(seed: int) -> PanelBlank:
    """An L-shaped base with flanges on some of its edges, so that wings reach beside their own bend lines."""
    rng = np.random.default_rng(3000 + seed)
    wide, deep = rng.integers(90, 130), rng.integers(90, 130)
    corners = [(0, 0), (wide, 0), (wide, deep // 2), (wide // 2, deep // 2), (wide // 2, deep), (0, deep)]
    flanges = []
    for edge in range(1, 7):
        if rng.random() < 0.6:
            turn = int(rng.choice(TURNS))
            bend = f"{{turn: {abs(turn)}, away: {str(turn < 0).lower()}, k_factor: 0.42}}"
            inset = ", inset: [12, 12]" if edge in (3, 4) else ""
            flanges.append(f"edge {edge}: {{height: {rng.integers(12, 18)}, bend: {bend}{inset}}}")
    outline = ", ".join(f"[{x}, {y}]" for x, y in corners)
    return blank_of(panel_of(f"{{base: {{outline: [{outline}]}}, flanges: {{{', '.join(flanges)}}}}}"))


def panel_of_seed(seed: int) -> PanelBlank:
    """Every third is an L."""
    return random_ell(seed) if seed % 3 == 2 else random_panel(seed)


@pytest.mark.parametrize("seed", range(0, 40, one_in(13)))
def test_no_point_is_struck_outside_the_stretches_and_their_ends_are_reached(seed: int) -> None:
    """Faces and bends as clouds of points, carried through 61 moments against the tools' outlines."""
    own = panel_of_seed(seed)
    rng = np.random.default_rng(1000 + seed)
    found = hits(own, stack("neck-deep") if seed % 2 else stack())
    looked_at = 0
    for _ in range(4):
        hit, behind = found[rng.integers(len(found))], bool(rng.integers(2))
        wing = hit.behind if behind else hit.front
        face = list(wing.branches)[rng.integers(len(wing.branches))]
        path = wing.branches[face].path
        done = frozenset(bend for bend in path if rng.random() < 0.7)
        _held_against_points(own, hit, face, done, behind=behind)
        looked_at += 1
    assert looked_at == 4


def root_of(hit: SpaceHit, face: int, *, behind: bool) -> int:
    """The face beside the bend that a face hangs together with."""
    wing = hit.behind if behind else hit.front
    while (above := wing.branches[face].above) is not None:
        face = above
    return face


def _held_against_points(own: PanelBlank, hit: SpaceHit, face: int, done: frozenset[int], *, behind: bool) -> None:
    root = root_of(hit, face, behind=behind)
    cloud = face_cloud(own, face, done, root)
    if hit.depends(face):
        cloud = np.vstack([cloud, bend_cloud(own, hit.depends(face)[-1], done, root)])
    struck_at = struck(hit, on_the_bed(hit, cloud, behind=behind), behind=behind, foot_mm=FOOT_MM)
    told = hit.forbids(face, done)
    if told.fatal:
        return
    assert not len(struck_at["rest"])
    for name in ("punch", "foot", "die"):
        runs = getattr(told, name)
        assert apart_from(struck_at[name], runs) < 1e-3
        assert all(max(unreached_mm(struck_at[name], run)) < 0.9 for run in runs)


def some(own: PanelBlank, seed: int, count: int) -> list[tuple[SpaceHit, frozenset[int]]]:
    """Hits of a panel with some of its other bends bent before."""
    rng = np.random.default_rng(2000 + seed)
    found = hits(own)
    chosen = []
    for _ in range(count):
        hit = found[rng.integers(len(found))]
        others = [zone.bend for zone in own.zones if zone.bend not in hit.operation.bends]
        chosen.append((hit, frozenset(bend for bend in others if rng.random() < 0.6)))
    return chosen


def lying_cloud(own: PanelBlank, hit: SpaceHit, done: frozenset[int]) -> np.ndarray:
    """All faces and bends with their whole thickness, flat on the die: (bed, behind its centre plane, over its top)."""
    found = []
    for wing, behind, side in ((hit.behind, True, 1.0), (hit.front, False, -1.0)):
        for face, branch in wing.branches.items():
            root = root_of(hit, face, behind=behind)
            points = [face_cloud(own, face, done, root, step_mm=2.0, off_mm=0.0)]
            if branch.path:
                points.append(bend_cloud(own, branch.path[-1], done, root, step_mm=2.0, off_mm=0.0))
            laid = on_the_bed(hit, np.vstack(points), behind=behind)
            out = side * (laid[:, 1] + hit.operation.half_zone_mm)
            found.append(np.column_stack([laid[:, 0], out, laid[:, 2] + own.thickness_mm / 2]))
    return np.vstack(found)


@pytest.mark.parametrize("seed", range(0, 40, one_in(13)))
def test_fingers_touch_what_they_are_said_to_and_nothing_else(seed: int) -> None:
    """In a finger's width and height nothing of the part lies beyond its face, and something lies at it."""
    own = panel_of_seed(seed)
    wide, high, face = fingers().width_mm, fingers().high_mm, fingers().face_mm
    touched = 0
    for hit, done in some(own, seed, 4):
        told = hit.stops(done)
        cloud = lying_cloud(own, hit, done) if told else np.zeros((0, 3))
        out, over = cloud[:, 1], cloud[:, 2]
        for gauged in told:
            for place in gauged.z_mm:
                beside = np.abs(cloud[:, 0] - place) < wide / 2 - 1e-6
                met = out[beside & (over > gauged.r_mm + 1e-6) & (over < gauged.r_mm + high - 1e-6)]
                at = out[beside & (over > gauged.r_mm - 1e-6) & (over < gauged.r_mm + face + 1e-6)]
                assert met.max() < gauged.x_mm + 0.03
                # Points of a flange that leans lie 2 apart, so what is furthest of them may be less far by 2 sin 20.
                assert at.max() > gauged.x_mm - (0.03 if gauged.on == "edge" else 0.7)
                touched += 1
    assert touched


@pytest.mark.parametrize("seed", range(0, 40, one_in(13)))
def test_where_points_of_two_wings_share_a_place_they_are_told_to_meet(seed: int) -> None:
    own = panel_of_seed(seed)
    chosen = some(own, seed, 3)
    assert len(chosen) == 3
    for hit, done in chosen:
        told = hit.meets_itself(done)
        pairs = [
            (one, other)
            for one, front in hit.front.branches.items()
            for other, behind in hit.behind.branches.items()
            if (done & frozenset(front.path + behind.path)) and (told is None or (one, other) == told.faces)
        ]
        met = [
            share_a_place(hit, (one, root_of(hit, one, behind=False)), (other, root_of(hit, other, behind=True)), done)
            for one, other in pairs
        ]
        # What is told may be shallower than the points lie from each other, or be met by a bend alone.
        assert told is not None or not any(met)


def test_points_share_a_place_where_a_covering_flange_leans_over_its_neighbour() -> None:
    """The lapped tray whose near side is bent last, over-bent by 1 degree: see the figures in `test_hit`."""
    own = blank("lapped-tray")
    near, sides = hit_of(hits(own), "near"), bends(own, "left", "right")
    faces = {name: face for face, name in near.shapes.names.items()}
    pair = (faces["near"], faces["near"]), (faces["left"], faces["base"])
    assert share_a_place(near, *pair, sides, step_mm=0.4)
    assert not share_a_place(hit_of(hits(own, over_deg=0.1), "near"), *pair, sides, step_mm=0.4)
