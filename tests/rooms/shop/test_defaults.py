"""shop.yaml: what may be left out, and what may not."""

from __future__ import annotations

from typing import Any

import pytest

from flangewise.shop import ANY, Defaults

LEAST = {"title": "mine", "machine": "a", "handler": "b", "rule": "din-6935"}


def test_margins_layers_paper_and_language_may_be_left_out() -> None:
    defaults = Defaults.model_validate(LEAST)
    assert (defaults.paper, defaults.language) == ("a4", "en")
    assert defaults.layers.model_dump() == {
        "cut": "CUT",
        "bend_toward": "BEND-TOWARD",
        "bend_away": "BEND-AWAY",
        "mark": "MARK",
    }
    assert defaults.concentrated_share == 0.6


def test_one_layer_may_be_renamed_alone() -> None:
    defaults = Defaults.model_validate({**LEAST, "layers": {"cut": "OUTLINE_1"}})
    assert defaults.layers.cut == "OUTLINE_1"
    assert defaults.layers.mark == "MARK"


@pytest.mark.parametrize("rule", ["din-6935", "handbook-soft", "handbook-medium", "handbook-hard", "faa", "textbook"])
def test_every_rule_of_the_bend_command(rule: str) -> None:
    assert Defaults.model_validate({**LEAST, "rule": rule}).rule == rule


@pytest.mark.parametrize(
    ("given", "machines"),
    [("a", ("a",)), (["a"], ("a",)), (["b", "a"], ("b", "a")), ("any", (ANY,)), (["any"], (ANY,))],
)
def test_one_machine_several_or_any(given: Any, machines: tuple[str, ...]) -> None:
    assert Defaults.model_validate({**LEAST, "machine": given}).machines == machines


@pytest.mark.parametrize("key", list(LEAST))
def test_what_may_not_be_left_out(key: str) -> None:
    with pytest.raises(ValueError, match=key):
        Defaults.model_validate({given: value for given, value in LEAST.items() if given != key})


@pytest.mark.parametrize(
    "changes",
    [
        {"rule": "rule of thumb"},
        {"paper": "a3"},
        {"language": "fr"},
        {"clearance_mm": -0.1},
        {"concentrated_share": 1.1},
        {"concentrated_share": 0},
        {"layers": {"cut": "CUT*"}},
        {"layers": {"cut": ""}},
        {"layers": {"cut": "C" * 32}},
        {"layers": {"bend": "BEND"}},
        {"printer": "third floor"},
        {"machine": []},
        {"machine": ""},
        {"machine": 7},
        {"machine": ["a", "b", "a"]},
        {"machine": ["a", "any"]},
        {"machine": ["a", 3]},
    ],
)
def test_what_no_shop_can_have(changes: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=next(iter(changes))):
        Defaults.model_validate({**LEAST, **changes})
