"""A part's bends as wishes for tools: outside legs, radii wanted and formed, pins."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.jobs.machines import blanked
from flangewise.jobs.wishes import radii_mm, wishes

from .made import STRAIGHT, built_in, part, steel, toy


def test_outside_sizes_stand_as_they_are() -> None:
    assert part([20, 60, 30], [90, 90]).outside_legs_mm == (20, 60, 30)


def test_inside_sizes_lack_the_thickness_at_each_square_bend() -> None:
    """The inner mould line lies t tan 45 short of the outer one: a leg between two bends lacks it twice."""
    inside = part([18.5, 57, 28.5], [90, 90], section={"sizes": "inside"})
    assert inside.outside_legs_mm == pytest.approx((20, 60, 30))


@pytest.mark.parametrize(
    ("turn", "short"),
    [(45, 1.5 * math.tan(math.radians(22.5))), (90, 1.5), (93, 1.5)],
)  # above 90 both sizes run to planes square to the leg, a thickness apart
def test_inside_sizes_by_turn(turn: float, short: float) -> None:
    legs = part([30, 40], [turn], section={"sizes": "inside"}).outside_legs_mm
    assert legs == pytest.approx((30 + short, 40 + short))


def test_a_wish_carries_what_the_file_says_of_its_bend() -> None:
    bends = [{"turn": 60, "punch": "goose-84", "die": "block-12", "k_factor": 0.4}, {"turn": 30, "radius": 3}]
    shop = replace(toy(), defaults=toy().defaults.model_copy(update={"rule": "textbook"}))
    first, second = wishes(part([20, 60, 30], bends, section={"radius": 2}), shop)
    assert (first.number, first.turn_deg, first.kind) == (1, 60, "bend")
    assert (first.punch, first.die, first.k_factor) == ("goose-84", "block-12", 0.4)
    assert (first.radius_mm, second.radius_mm) == (2, 3)
    assert (first.legs_mm, second.legs_mm) == ((20, 60), (60, 30))
    assert (second.punch, second.die, second.k_factor) == (None, None, None)
    assert first.rule == "textbook" and first.length_mm == 100


def test_a_hem_and_an_offset_carry_their_gap_and_step() -> None:
    hem, offset = wishes(steel([12, 80, 40], [{"hem": "open", "gap": 1.5}, {"offset": 4}], thickness=1), toy())
    assert (hem.kind, hem.turn_deg, hem.gap_mm) == ("hem", 180, 1.5)
    assert (offset.kind, offset.turn_deg, offset.offset_mm) == ("offset", 90, 4)


def test_the_blank_is_made_with_the_radius_the_pair_forms() -> None:
    job = blanked(part([20, 60], [90], section={"radius": 5}), toy())
    pair = job.pairs[1]
    assert pair is not None and pair.tools.name == "straight-84 on block-12" == " on ".join(STRAIGHT)
    assert radii_mm(job.part, [pair]) == {1: pair.formed_radius_mm}
    assert pair.formed_radius_mm != 5


def test_without_tools_the_radius_asked_for_or_the_thickness_makes_the_blank() -> None:
    asked = part([20, 60, 20], [90, {"turn": 90, "radius": 4}], section={"radius": 5})
    assert radii_mm(asked, [None, None]) == {1: 5, 2: 4}
    assert radii_mm(part([20, 60], [90]), [None]) == {1: 1.5}


def test_a_hem_without_tools_has_half_its_gap_inside() -> None:
    hem = steel([12, 80, 12], [{"hem": "open", "gap": 1.5}, {"hem": "closed"}], thickness=1)
    assert radii_mm(hem, [None, None]) == {1: 0.75, 2: 0.0}


def test_pairs_are_given_for_every_bend() -> None:
    with pytest.raises(ValueError, match="shorter"):
        radii_mm(part([20, 60, 20], [90, 90]), [None])


def test_the_shop_s_rule_is_the_wish_s() -> None:
    job = blanked(steel([40, 60], [90]), built_in())
    assert {wish.rule for wish in wishes(job.part, job.shop)} == {"din-6935"}
