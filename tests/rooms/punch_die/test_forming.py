"""The bend model asked for a list of pairs: its check values come out, alike pairs alike, learned values used."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.bend import Swift, bend_allowance
from flangewise.punch_die import BendWish, Ideal, Stock
from flangewise.punch_die.forming import form, swift_of
from flangewise.punch_die.judge import vee_pair

from .made import shop, stock

PAIR = vee_pair(None, None, Ideal(1.0, 16.0, 1.5))
WISH = BendWish(0, 90)


def test_the_certificate_gives_swifts_constants() -> None:
    """200, 320, 0.22 give K 540.895, e0 0.00818468, n 0.207036."""
    swift = swift_of(stock("DC01"))
    assert isinstance(swift, Swift)
    assert (swift.strength_mpa, swift.prestrain, swift.exponent) == pytest.approx(
        (540.895, 0.00818468, 0.207036), rel=1e-4
    )


def test_the_check_values_of_the_model_come_through() -> None:
    """K 541, e0 0.0082, n 0.207, V 16, r_d 1.5, nose 1, friction 0.1, nose corrected: 91.63, 3.838, 98.5, 118.3."""
    (made,) = form([PAIR], WISH, stock())
    assert made is not None
    assert made.loaded_turn_deg == pytest.approx(91.629, abs=0.02)
    assert made.depth_mm == pytest.approx(3.8379, abs=0.005)
    assert made.air.force_kn_per_m == pytest.approx(98.52, rel=0.002)
    assert made.air.peak_kn_per_m == pytest.approx(118.26, rel=0.002)
    assert made.deg_per_mm == pytest.approx(12.6, abs=0.1)
    assert (made.air.wrapped, made.radius_from, made.force_from) == (True, "punch", "model")


def test_a_free_apex_is_set_by_the_die() -> None:
    (made,) = form([PAIR], WISH, stock("1.4301"))
    assert made is not None and (made.air.wrapped, made.radius_from) == (False, "die")


def test_least_legs_carry_the_deduction_of_the_rule() -> None:
    (made,) = form([PAIR], WISH, stock())
    assert made is not None and made.formed_radius_mm is not None
    taken = bend_allowance(made.formed_radius_mm, 2.0, turn_deg=90)
    assert made.hard_leg_mm == pytest.approx(made.air.contact_length_mm + taken.deduction_mm / 2)
    assert made.least_leg_mm == pytest.approx(1.1 * (made.air.contact_length_mm + taken.deduction_mm / 2))
    (by_k,) = form([PAIR], replace(WISH, k_factor=0.5), stock())
    assert by_k is not None and by_k.hard_leg_mm is not None and by_k.hard_leg_mm < made.hard_leg_mm


def test_depth_and_turn_are_inverse() -> None:
    (made,) = form([PAIR], WISH, stock())
    assert made is not None and made.depth_mm is not None
    (back,) = form([PAIR], WISH, stock(), target="depth", targets=[made.depth_mm])
    assert back is not None and back.turn_deg == pytest.approx(90, abs=1e-5)


def test_loaded_turns_are_met_each_by_its_own() -> None:
    made = form([PAIR, PAIR], WISH, stock(), target="loaded", targets=[60.0, 120.0])
    assert [each and each.loaded_turn_deg for each in made] == pytest.approx([60, 120])


def test_pairs_with_the_same_sizes_come_out_the_same() -> None:
    punches = [shop().punches[name] for name in ("straight-88", "neck-shallow", "acute-60")]
    die = shop().dies["vee-16-80"]
    made = form([vee_pair(punch, die, Ideal()) for punch in punches], WISH, stock())
    assert len({each.depth_mm for each in made if each is not None}) == 1
    assert [each and each.tools.punch_name for each in made] == ["straight-88", "neck-shallow", "acute-60"]


def test_what_cannot_be_is_none_and_never_a_number() -> None:
    fat = vee_pair(None, None, Ideal(7.9, 16.0, 1.5))
    made = form([fat, PAIR], WISH, stock())
    assert made[0] is None and made[1] is not None
    assert form([], WISH, stock()) == ()


def test_friction_of_the_stock_goes_before_the_materials() -> None:
    """Force at 90: 90.3 without friction, 97.7 with 0.1 (nose not corrected); corrected a little more, same share."""
    forces = [
        made.air.force_kn_per_m
        for friction in (0.0, 0.1)
        for made in form([PAIR], WISH, stock(friction=friction))
        if made is not None
    ]
    assert forces[0] / forces[1] == pytest.approx(90.338 / 97.714, abs=0.003)


def test_what_was_learned_moves_depth_and_springback() -> None:
    (plain,), (taught,) = (
        form([PAIR], WISH, Stock(shop().materials["DC01"], 2.0, springback_log=log, depth_offset_mm=offset))
        for log, offset in ((0.0, 0.0), (math.log(2), 0.1))
    )
    assert plain is not None and taught is not None
    assert taught.air.springback_deg == pytest.approx(2 * plain.air.springback_deg, rel=0.02)
    # Deeper for the springback, and 0.1 mm less on the dial for a machine that goes 0.1 mm deeper than it shows.
    over = (taught.loaded_turn_deg or 0) - (plain.loaded_turn_deg or 0)
    assert (taught.depth_mm or 0) - (plain.depth_mm or 0) == pytest.approx(over / 12.6 - 0.1, abs=0.02)
