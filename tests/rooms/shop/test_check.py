"""What is stamped on a tool against its outline."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from flangewise.shop import Die, Punch, Shop, load_shop, named_findings

from .test_dies import given as given_die
from .test_punches import given as given_punch


def test_a_die_as_named_draws_nothing() -> None:
    assert named_findings(Die.model_validate(given_die())) == ()


@pytest.mark.parametrize(("measured", "found"), [("corner", []), ("tangent", ["opening-not-as-named"])])
def test_an_opening_is_compared_in_the_way_it_is_measured(measured: str, found: list[str]) -> None:
    """16 between corners with radius 1.5 at 85 degrees is 17.32 between the tangent points."""
    die = Die.model_validate(given_die(opening_measured=measured))
    assert [finding.code for finding in named_findings(die)] == found


def test_the_sentence_gives_both_sizes_and_the_units_asked_for() -> None:
    die = Die.model_validate(given_die(opening_measured="tangent"))
    (finding,) = named_findings(die)
    assert finding.severity == "caution"
    assert finding.place() == "die mine"
    assert "16 mm" in finding.text()
    assert "17.32 mm" in finding.text()
    assert "tangent points" in finding.text()
    assert "0.63 in" in finding.text(units="inch")


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"named_opening_mm": 16.04}, []),
        ({"named_opening_mm": 16.06}, ["opening-not-as-named"]),
        ({"named_shoulder_radius_mm": 1.6}, ["radius-not-as-named"]),
        ({"named_included_deg": 84}, ["angle-not-as-named"]),
        (
            {"named_opening_mm": 18, "named_shoulder_radius_mm": 2, "named_included_deg": 80},
            ["opening-not-as-named", "radius-not-as-named", "angle-not-as-named"],
        ),
    ],
)
def test_each_named_size_of_a_die(changes: dict[str, float], codes: list[str]) -> None:
    die = Die.model_validate(given_die(**changes))
    assert [finding.code for finding in named_findings(die)] == codes


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({}, []),
        ({"named_nose_radius_mm": 1.04}, []),
        ({"named_nose_radius_mm": 1.2}, ["radius-not-as-named"]),
        ({"named_included_deg": 86}, ["angle-not-as-named"]),
    ],
)
def test_each_named_size_of_a_punch(changes: dict[str, float], codes: list[str]) -> None:
    punch = Punch.model_validate(given_punch(**changes))
    assert [finding.code for finding in named_findings(punch)] == codes


def test_no_built_in_tool_differs_from_its_name(shop: Shop) -> None:
    for tool in (*shop.punches.values(), *shop.dies.values()):
        assert named_findings(tool) == (), tool.name


def test_an_edited_outline_is_found_out(folder: Path, edit: Callable[[str, str, str], None]) -> None:
    edit("dies.yaml", "  named_opening_mm: 16\n", "  named_opening_mm: 14.5\n")
    shop = load_shop(folder, {"dies"})
    differing = {die.name for die in shop.dies.values() if named_findings(die)}
    assert differing == {"vee-16-80"}
