"""A panel that is a chain of flanges as long as its base: struck all along or nowhere, as its section is."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from flangewise.clearance import BULGE_MM, CONTACT_MM, Region, lines_of, swept_region
from flangewise.panel_order import SpaceHit
from flangewise.pattern import PanelBlank
from flangewise.pattern.folded import folded

from ...published.panels import blank_of, panel_of
from .clouds import on_the_bed
from .made import hits, stack

# A plate cut square reaches further at its end than a line grown by half a sheet: its corner, and so much more.
OFF_MM = 0.3


def bend(turn: int) -> str:
    return f"bend: {{turn: {abs(turn)}, away: {str(turn < 0).lower()}, k_factor: 0.42}}"


# Heights and turns of the flanges from the base outward, on both sides; tried with two punches.
CHAINS = {
    "channel": ([(30, 90)], [(30, 90)], 60),
    "deep channel": ([(60, 90)], [(60, 90)], 40),
    "zed": ([(40, 90)], [(40, -90)], 50),
    "hat": ([(35, 90), (20, -90)], [(35, 90), (20, -90)], 50),
    "lipped": ([(45, 90), (14, 90)], [(45, 90), (14, 90)], 70),
    "spiral": ([(30, 90), (40, 90), (20, 90)], [(25, 60)], 60),
}


def chain(name: str) -> PanelBlank:
    near, far, deep = CHAINS[name]

    def hung(legs: list[tuple[int, int]]) -> str:
        (height, turn), rest = legs[0], legs[1:]
        return f"{{height: {height}, {bend(turn)}{', tip: ' + hung(rest) if rest else ''}}}"

    return blank_of(panel_of(f"{{base: [90, {deep}], flanges: {{near: {hung(near)}, far: {hung(far)}}}}}"))


def middle_line(own: PanelBlank, hit: SpaceHit, done: frozenset[int], *, behind: bool) -> np.ndarray:
    """The middle of the sheet half way along the bends, from the bend outward, in the plane across the bed."""
    wing = hit.behind if behind else hit.front
    root = next(face for face, branch in wing.branches.items() if branch.above is None)
    fold = folded(own, done=done, root=root)
    points = []
    for face, branch in wing.branches.items():
        if branch.path:
            at = next(index for index, zone in enumerate(own.zones) if zone.bend == branch.path[-1])
            arc = on_the_bed(hit, fold.arc_mm(at, 45.0, chords=24), behind=behind)[:, 1:]
            ends = [np.linalg.norm(arc[end] - points[-1]) for end in (0, -1)]
            points += list(arc if ends[0] < ends[1] else arc[::-1])
        ring = next(each.outline_mm for each in own.faces if each.number == face)
        corners = on_the_bed(hit, fold.folded_mm(face, ring), behind=behind)[:, 1:]
        last = points[-1] if points else np.zeros(2)
        points.append(corners[np.argmax(np.linalg.norm(corners - last, axis=1))])
    return np.array([[0.0, 0.0], *points])


@pytest.mark.parametrize("punch", ["straight-88", "neck-deep"])
@pytest.mark.parametrize("name", CHAINS)
def test_struck_as_its_section_is(name: str, punch: str) -> None:
    own, tools = chain(name), stack(punch)
    free = struck = 0
    for hit in hits(own, tools, foot_mm=None):
        others = [zone.bend for zone in own.zones if zone.bend not in hit.operation.bends]
        for done in map(frozenset, itertools.chain.from_iterable(itertools.combinations(others, n) for n in range(4))):
            told = hit.forbidden(done)
            everywhere = told.fatal or any(
                low < 1e-6 and high > hit.operation.length_mm - 1e-6 for low, high in (*told.punch, *told.die)
            )
            assert everywhere or (told.punch, told.die) == ((), ())
            sections = []
            for behind in (False, True):
                bodies = tools.seen_from_behind() if behind else tools.bodies
                sweeps = swept_region(bodies, hit.stroke, reach_mm=400.0).sweeps
                line = middle_line(own, hit, done, behind=behind)
                for off in (-OFF_MM, OFF_MM):
                    region = Region(sweeps, own.thickness_mm / 2 - CONTACT_MM + BULGE_MM + off)
                    # Grown, the sheet beside the bend would lie in the tools it touches: what is bent on is looked at.
                    from_ = 0 if off < 0 else 2
                    sections.append(len(line) > from_ + 1 and bool(region.strikes(lines_of(line[None, from_:]))[0]))
            surely, perhaps = any(sections[::2]), any(sections[1::2])
            assert everywhere or not surely
            assert perhaps or not everywhere
            struck, free = struck + everywhere, free + (not everywhere)
    assert free and (struck or name in ("zed", "channel"))
