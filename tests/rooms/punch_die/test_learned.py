"""Measured bends put to use: a machine that goes deeper than it shows is told to go less deep, and so on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.bend import NOTHING_LEARNED, Learned, bend_allowance
from flangewise.punch_die import (
    BendWish,
    PunchDie,
    deduction_of,
    depth_of,
    learned_offers,
    taught,
)
from flangewise.shop import MeasuredBends, MeasuredRow, Shop, load_shop

from .made import shop, stock, tooling

WISH = BendWish(1, 90, punch="straight-80-nose-2", die="vee-16-80")
TABLES = ["materials", "punches", "dies", "machines", "tolerances"]


def row(lot: int, **changes: object) -> MeasuredRow:
    """A bend at 90 on these tools, come out 1.2 degrees past what the model says: the machine went 0.1 mm deeper."""
    plain = {
        "lot": f"lot {lot}", "part": "foot", "bend": 1, "piece": 1, "machine": "long-1450", "material": "DC01",
        "thickness_mm": 2.0, "measured_thickness_mm": 2.0, "punch": "straight-80-nose-2", "nose_radius_mm": 2.0,
        "die": "vee-16-80", "wanted_turn_deg": 90.0, "depth_mm": 3.5, "measured_turn_deg": 91.2,
        "model_turn_deg": 90.0, "deg_per_mm": 12.0, "springback_deg": 1.6, "radius_mm": 2.5,
        "rule_deduction_mm": 4.0, "deduction_mm": 3.7, "deduction_sd_mm": 0.05,
    }  # fmt: skip
    return MeasuredRow(**{**plain, **changes})  # type: ignore[arg-type]


def taught_shop(*rows: MeasuredRow) -> Shop:
    return replace(load_shop(None, TABLES), measured=MeasuredBends(rows))


LOTS = tuple(row(lot) for lot in range(40))


def best(where: Shop, wish: BendWish = WISH) -> PunchDie:
    (made,) = learned_offers(wish, stock(), where, nominal_mm=2.0, tooling=tooling())
    return made


def test_a_shop_that_measured_nothing_offers_as_the_model_says() -> None:
    assert best(taught_shop()) == best(load_shop(None, TABLES))
    assert depth_of(best(taught_shop()), shop().materials["DC01"], 2.0, taught_shop(), tooling=tooling()) is None


def test_a_machine_seen_to_go_a_tenth_deeper_is_told_a_tenth_less() -> None:
    plain, known = best(taught_shop()), best(taught_shop(*LOTS))
    assert plain.depth_mm is not None and known.depth_mm is not None
    assert known.depth_mm == pytest.approx(plain.depth_mm - 0.1, abs=0.02)
    assert known.model is not None and known.model.learned != NOTHING_LEARNED


def test_the_more_lots_the_nearer_it_comes() -> None:
    plain = best(taught_shop()).depth_mm
    assert plain is not None
    off = [abs((best(taught_shop(*LOTS[:lots])).depth_mm or 0.0) - (plain - 0.1)) for lots in (1, 4, 40)]
    assert off == sorted(off, reverse=True)


def test_another_machine_or_sheet_is_not_touched() -> None:
    other = taught_shop(*(row(lot, material="S235JR", machine="bench-310") for lot in range(5)))
    assert best(other) == best(taught_shop())


def test_hems_are_offered_as_they_are() -> None:
    hem = BendWish(1, 180, kind="hem", legs_mm=(12.0, 40.0))
    sheet = stock(thickness_mm=1.0)
    offers = learned_offers(hem, sheet, taught_shop(*LOTS), nominal_mm=1.0, tooling=tooling())
    assert offers and offers[0].model is not None and offers[0].model.learned == NOTHING_LEARNED


def test_a_deduction_measured_often_is_the_one_measured() -> None:
    """Forty lots at 0.3 mm under the rule."""
    made = best(taught_shop())
    assert made.formed_radius_mm is not None
    rule = bend_allowance(made.formed_radius_mm, 2.0, turn_deg=90).deduction_mm
    lots = tuple(row(lot, rule_deduction_mm=rule, deduction_mm=rule - 0.3) for lot in range(40))
    material = shop().materials["DC01"]
    found = deduction_of(made, WISH, material, 2.0, shop=taught_shop(*lots))
    assert found is not None and found.deduction_mm == pytest.approx(rule - 0.3, abs=0.02)


@pytest.mark.parametrize("wish", [replace(WISH, k_factor=0.4)])
def test_a_k_factor_goes_before_what_was_measured(wish: BendWish) -> None:
    made = best(taught_shop())
    assert deduction_of(made, wish, shop().materials["DC01"], 2.0, shop=taught_shop(*LOTS)) is None


def test_a_taught_stock_carries_both_figures() -> None:
    sheet = taught(stock(), Learned(depth_offset_mm=0.1, springback_log=-0.2))
    assert (sheet.depth_offset_mm, sheet.springback_log, sheet.thickness_mm) == (0.1, -0.2, 2.0)
