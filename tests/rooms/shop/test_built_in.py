"""The example shop about itself: sources, invented tools, and that its parts belong together."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

import pytest

from flangewise.shop import BUILT_IN, ROWS, Die, Punch, Shop

Tools = TypeVar("Tools", Punch, Die)

PUNCHES = (
    "straight-88 narrow-86 neck-shallow neck-deep acute-60 acute-30 round-nose-6 round-nose-10".split()  # noqa: SIM905
)


def rows(shop: Shop, table: str) -> list[object]:
    """The rows of a table."""
    return list(getattr(shop, table).values())


def vees(tools: Mapping[str, Tools]) -> list[Tools]:
    """The tools for air bending."""
    return [tool for tool in tools.values() if tool.kind == "vee"]


@pytest.mark.parametrize("table", sorted(ROWS))
def test_every_row_names_its_source(shop: Shop, table: str) -> None:
    looked_at = list(rows(shop, table))
    assert looked_at
    for row in looked_at:
        assert len(row.source) > 10, row  # type: ignore[attr-defined]


@pytest.mark.parametrize("table", ["materials", "gauges", "least_radii", "tolerances"])
def test_every_figure_says_whether_it_was_read_or_recalled(shop: Shop, table: str) -> None:
    looked_at = list(rows(shop, table))
    assert looked_at
    for row in looked_at:
        source: str = row.source  # type: ignore[attr-defined]
        assert re.search(r"\bread\b|from memory|common practice", source), source


@pytest.mark.parametrize("table", ["punches", "dies", "machines"])
def test_every_tool_and_machine_is_labelled_invented(shop: Shop, table: str) -> None:
    for row in rows(shop, table):
        assert "invented" in row.source  # type: ignore[attr-defined]
    assert "invented" in (BUILT_IN / f"{table}.yaml").read_text(encoding="utf-8").split("\n\n")[0]


def test_every_file_explains_itself_at_its_head() -> None:
    looked_at = list(BUILT_IN.glob("*.yaml"))
    assert looked_at
    for file in looked_at:
        assert file.read_text(encoding="utf-8").startswith("# "), file.name


def test_the_punches_promised(shop: Shop) -> None:
    assert set(PUNCHES) <= set(shop.punches)
    noses = {punch.nose.nose_radius_mm for punch in vees(shop.punches)}
    assert {0.5, 1, 2, 3, 6, 10} <= noses


def test_the_dies_promised(shop: Shop) -> None:
    wide = {(die.vee.opening_mm, die.vee.included_deg) for die in vees(shop.dies) if die.vee.included_deg > 84}
    middle = {(die.vee.opening_mm, die.vee.included_deg) for die in vees(shop.dies) if 70 < die.vee.included_deg <= 84}
    acute = {die.vee.opening_mm for die in vees(shop.dies) if die.vee.included_deg == 30}
    assert {opening for opening, _ in wide} == {4, 6, 8, 10, 12}
    assert all(85 <= angle <= 88 for _, angle in wide)
    assert {opening for opening, _ in middle} == {12, 16, 20, 25, 32, 40, 50, 63}
    assert all(78 <= angle <= 80 for _, angle in middle)
    assert max(acute) == 24


def test_the_opening_derived_is_the_one_named(shop: Shop) -> None:
    looked_at = list(vees(shop.dies))
    assert looked_at
    for die in looked_at:
        derived = die.vee.opening_mm if die.opening_measured == "tangent" else die.vee.corner_opening_mm
        assert derived == die.named_opening_mm, die.name
        assert die.vee.included_deg == die.named_included_deg, die.name
        assert die.vee.shoulder_radius_mm == die.named_shoulder_radius_mm, die.name
        assert die.vee.shoulder_radius_mm == pytest.approx(0.1 * die.vee.opening_mm, abs=0.05), die.name


def test_the_nose_derived_is_the_one_named(shop: Shop) -> None:
    looked_at = list(vees(shop.punches))
    assert looked_at
    for punch in looked_at:
        assert punch.nose.nose_radius_mm == punch.named_nose_radius_mm, punch.name
        assert punch.nose.included_deg == punch.named_included_deg, punch.name


def test_every_machine_can_be_tooled_over_its_whole_bed(shop: Shop) -> None:
    """With plain segments only; the ears are kept for boxes."""
    looked_at = list(shop.machines.values())
    assert looked_at
    for machine in looked_at:
        for tool in (*shop.punches.values(), *shop.dies.values()):
            assert tool.held_mm >= machine.bed_length_mm, (machine.name, tool.name)


def test_the_sectional_set_is_in_every_punch_twice(shop: Shop) -> None:
    looked_at = list(vees(shop.punches))
    assert looked_at
    for punch in looked_at:
        held = {segment.length_mm: segment.held for segment in punch.segments if segment.ear is None}
        assert all(held[length_mm] == 2 for length_mm in (10, 15, 20, 35, 60, 110, 220))
        assert {segment.ear for segment in punch.segments if segment.length_mm == 75} == {"left", "right"}


def test_an_ear_carries_less_than_its_punch(shop: Shop) -> None:
    looked_at = list(vees(shop.punches))
    assert looked_at
    for punch in looked_at:
        assert punch.ear_load_kn_per_m is not None and punch.ear_load_kn_per_m < punch.load_kn_per_m
        # 40 of the 75 mm carry the whole outline.
        assert (punch.ear_reach_mm, punch.ear_foot_mm) == (35, 30)


def test_punches_end_in_a_plain_stem_and_dies_in_a_plain_block(shop: Shop) -> None:
    looked_at = list(shop.punches.values())
    assert looked_at
    for punch in looked_at:
        top = [across for across, up in punch.outline_mm.points_mm if up == punch.height_mm]
        assert len(top) == 2 and top[0] == -top[1]
    for die in shop.dies.values():
        bottom = [across for across, up in die.outline_mm.points_mm if up == -die.height_mm]
        assert len(bottom) == 2 and bottom[0] == -bottom[1]


def test_all_pairs_stand_at_one_shut_height(shop: Shop) -> None:
    """So that any two can be set up side by side."""
    assert len({punch.height_mm for punch in shop.punches.values()}) == 1
    assert len({die.height_mm for die in shop.dies.values()}) == 1


def test_every_vee_punch_fits_between_the_walls_of_some_die(shop: Shop) -> None:
    widest = max(die.vee.included_deg for die in vees(shop.dies))
    assert all(punch.nose.included_deg <= widest for punch in vees(shop.punches))


def test_the_thickest_usual_sheet_is_within_a_dies_load(shop: Shop) -> None:
    """Mild steel of 420 N/mm2 with t = V/8 at 1.5 Rm t2/V: 1.5 x 420 x V/64 = 9.84 V kN/m."""
    looked_at = list(vees(shop.dies))
    assert looked_at
    for die in looked_at:
        if die.vee.included_deg > 60:
            assert die.load_kn_per_m >= 9.84 * die.vee.opening_mm, die.name
