"""The drawn spread: same every time, near the first-order one, and honest about bends without an answer."""

import pytest

from flangewise.bend import BendSetup, Spreads, bend_to_turn, drawn_spread, expected_spread

from .metals import SOFT, STRONG, swift_of

SETUP = BendSetup(2, 16, 1.5, 1)
WIDTHS = ("first_piece_deg", "thickness_measured_deg", "after_one_deg", "after_two_deg")


@pytest.mark.parametrize("name", ["DC01", "5754-H22"])
def test_first_order_is_near_the_draws(name):
    spreads = Spreads(0.10, model_deg=0)
    bend = bend_to_turn(SETUP, swift_of(name), 90)
    assert bend.converged
    by_formula = expected_spread(SETUP, swift_of(name), bend, spreads)
    drawn = drawn_spread(SETUP, swift_of(name), 90, spreads=spreads, draws=2000)
    assert by_formula is not None and drawn is not None
    assert (drawn.answered, drawn.draws) == (2000, 2000)
    for width in WIDTHS:
        assert getattr(drawn, width) == pytest.approx(getattr(by_formula, width), rel=0.08), width


def test_a_reading_no_closer_than_the_delivery_is_left_alone():
    drawn = drawn_spread(SETUP, SOFT, 90, spreads=Spreads(0.03, model_deg=0), draws=200)
    assert drawn is not None and drawn.thickness_measured_deg == drawn.first_piece_deg
    helped = drawn_spread(SETUP, SOFT, 90, spreads=Spreads(0.10, model_deg=0), draws=200)
    assert helped is not None and helped.thickness_measured_deg < helped.first_piece_deg


def test_the_same_seed_gives_the_same_draws():
    one, two = (drawn_spread(SETUP, SOFT, 90, spreads=Spreads(0.10), draws=50) for _ in range(2))
    other = drawn_spread(SETUP, SOFT, 90, spreads=Spreads(0.10), draws=50, seed=1)
    assert one == two != other


def test_without_spread_every_piece_is_right():
    nothing = Spreads(
        0.0,
        strength_between_share=0,
        strength_within_share=0,
        exponent=0,
        friction=0,
        depth_mm=0,
        gauge_deg=0,
        measured_thickness_mm=0,
    )
    drawn = drawn_spread(SETUP, SOFT, 90, spreads=nothing, draws=5)
    assert drawn is not None
    assert [getattr(drawn, width) for width in WIDTHS] == pytest.approx([0, 0, 0, 0], abs=1e-7)


def test_a_bend_that_cannot_be_made_has_no_spread():
    assert drawn_spread(SETUP, STRONG, 178, spreads=Spreads(0.1), draws=5) is None
