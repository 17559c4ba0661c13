"""A hit: what it does, what it leaves, where its zone belongs."""

from __future__ import annotations

import pytest

from .made import chosen, hit, pair, piece


def test_what_a_hit_does() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None
    both = chosen(hem, finished_turn_deg=180.0)
    assert hit().kind == "bend"
    assert [hit(both, nth).kind for nth in (0, 1)] == ["pre-bend", "flatten"]
    assert hit(chosen(pair("offset", 1.5))).kind == "offset"


def test_a_pre_bend_leaves_its_own_turn_and_the_flattener_the_hems() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None and hem.turn_deg is not None
    both = chosen(hem, finished_turn_deg=180.0)
    assert hit(both, 0).finished_turn_deg == pytest.approx(hem.turn_deg)
    assert 135 <= hit(both, 0).finished_turn_deg < 180
    assert hit(both, 1).finished_turn_deg == 180


def test_its_place_is_the_step_of_the_plan() -> None:
    assert dict(hit().place.values) == {"number": 1}


def test_zones_belong_to_bends() -> None:
    assert piece().bend_of(2) == 3
    assert piece(zone_bends=(1, 2, 2, 3)).bend_of(2) == 2
    assert piece().bend_of(None) is None
