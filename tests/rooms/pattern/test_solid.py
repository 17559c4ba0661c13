"""A folded blank as a body: closed, its facets outward, its volume that of the sheet."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from flangewise.geometry import Facet
from flangewise.jobs import panel_worked_out
from flangewise.part.file import part_of
from flangewise.pattern import PanelBlank, bar_facets, part_facets
from flangewise.reading import read_yaml

from ...laws.sections import shop

EXAMPLES = sorted((Path(__file__).parents[3] / "examples" / "panels").glob("*.yaml"))


def _blank(file: Path) -> PanelBlank:
    part = part_of(read_yaml(file.read_text(encoding="utf-8"), str(file)), str(file), shop())
    blank = panel_worked_out(part, shop()).blank  # type: ignore[arg-type]
    assert blank is not None
    return blank


def _volume_mm3(facets: list[Facet] | tuple[Facet, ...]) -> float:
    """By the divergence theorem: a third of each facet's area by the height of its plane, outward positive."""
    return sum(float(_area(facet) @ facet.corners_mm[0]) / 3 for facet in facets)


def _area(facet: Facet) -> np.ndarray:
    return np.cross(facet.corners_mm, np.roll(facet.corners_mm, -1, axis=0)).sum(axis=0) / 2


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_flat_it_has_the_volume_of_the_sheet(file: Path) -> None:
    blank = _blank(file)
    facets = part_facets(blank, done=())
    assert len(facets) > 20
    assert np.abs(sum(_area(facet) for facet in facets)).max() < 0.5
    # Holes and round reliefs are drawn in chords, slanting ends of drawn bends left off.
    assert _volume_mm3(facets) == pytest.approx(blank.area_mm2 * blank.thickness_mm, rel=2e-3)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_bent_each_bend_is_a_sector_of_a_ring(file: Path) -> None:
    blank = _blank(file)
    flat = _volume_mm3(part_facets(blank, done=()))
    t, more = blank.thickness_mm, 0.0
    for zone in blank.zones:
        turn = math.radians(zone.turn_deg)
        # Chords of 15 degrees take sin(7.5) cos(7.5)/7.5 of the sector.
        chords = max(2, math.ceil(zone.turn_deg / 15 - 1e-9))
        share = math.sin(turn / chords) / (turn / chords)
        sector = turn * (zone.inside_radius_mm + t / 2) * t * share
        more += (sector - zone.allowance.allowance_mm * t) * zone.length_mm
    assert _volume_mm3(part_facets(blank)) == pytest.approx(flat + more, rel=1e-4)


def test_a_tool_is_a_bar_of_its_outline() -> None:
    """An L of 20 by 10 less 10 by 5 is 150 mm2; 35 long 5 250 mm3."""
    ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 5.0), (10.0, 5.0), (10.0, 10.0), (0.0, 10.0)]
    facets = bar_facets(ring, 5.0, 40.0)
    assert _volume_mm3(facets) == pytest.approx(150 * 35)
    assert np.abs(sum(_area(facet) for facet in facets)).max() < 1e-9
    assert {float(facet.corners_mm[:, 0].min()) for facet in facets} == {5.0, 40.0}
