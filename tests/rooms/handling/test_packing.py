"""What a box takes: channels and angles reckoned by hand, and which limit governs."""

from __future__ import annotations

import pytest

from flangewise.handling import Container, Nest, PackingAsked, Paired, Piece, by_mass, in_a_stack, pack

# A channel 62 wide and 26 high, 2 thick, 250 long, with sharp corners: 0.432 kg of steel.
CHANNEL = Piece(Nest(180.0, None, 26.0, 26.0, 62.0, 0.0), None, 250.0, 0.432)
PAIR = Paired((), 62.0, 28.0, 6.0, 2.0)
# An angle of 90 degrees, 30 high as it lies in the stack.
ANGLE = Piece(Nest(90.0, 2.828427, 2.828427, 30.0, 60.0, 45.0), None, 250.0, 0.2)
BOX = Container(380.0, 280.0, 260.0, 0.0, 12.0, walled=True)


def test_a_stack_of_channels_is_ten_and_not_what_the_sheet_alone_would_make() -> None:
    """Inside height 260: ten channels of 26; as angles do, at 1.414 t, it would be 83. Six stand over 380."""
    told = pack(CHANNEL, BOX, PackingAsked("stacked"))
    assert told.a_stack == 10
    assert (told.pitch_mm, told.a_layer) == (26.0, 6)
    assert told.limits == {"space": 60, "mass": 27}
    assert (told.count, told.governs) == (27, "mass")
    assert told.gross_kg == pytest.approx(27 * 0.432)


def test_with_true_radii_a_part_weighs_less_and_one_more_goes_in() -> None:
    assert by_mass(12, box_kg=0, part_kg=0.420) == 28


def test_a_stack_of_angles_is_eighty_two() -> None:
    assert pack(ANGLE, BOX, PackingAsked("stacked")).a_stack == 82
    assert in_a_stack(29.9, high_mm=30, pitch_mm=2.83) == 0


def test_separators_and_what_scatters_add_to_the_pitch() -> None:
    """1 + floor((260 - 30) / (2.828 + 0.5 + 0.2)) = 66."""
    told = pack(ANGLE, BOX, PackingAsked("stacked", separator_mm=0.5, more_pitch_mm=0.2))
    assert told.a_stack == 66


def test_pairs_share_their_height() -> None:
    """Double rows of 28: 1 + floor((260 - 28) / 28) = 9 of them, each 6 + 6 over 380 or 4 + 4 over 280."""
    piece = Piece(CHANNEL.nest, PAIR, 250.0, 0.1)
    told = pack(piece, BOX, PackingAsked("pairs"))
    assert (told.a_stack, told.a_layer) == (9, 6 + 6)
    assert told.limits["space"] == 9 * 12


def test_the_least_limit_governs_and_the_customer_may_be_it() -> None:
    assert pack(CHANNEL, BOX, PackingAsked("stacked", most=20)).governs == "wanted"
    flat = Container(380.0, 280.0, 60.0, 0.0, 100.0, walled=True)
    told = pack(CHANNEL, flat, PackingAsked("stacked"))
    assert (told.governs, told.count, told.layers) == ("space", 12, 2)


def test_without_walls_a_stack_stands_to_three_times_its_width() -> None:
    """3 x 62 = 186 takes 7 channels of 26; 19 stand over 1200, three times over 800."""
    pallet = Container(1200.0, 800.0, 850.0, 22.0, 800.0, walled=False)
    told = pack(CHANNEL, pallet, PackingAsked("stacked"))
    assert told.a_layer == 19 * 3
    assert (told.governs, told.count) == ("stability", 7 * 57)


def test_dropped_parts_go_by_the_share_that_a_counted_box_had() -> None:
    told = pack(CHANNEL, BOX, PackingAsked("dropped", fill_share=0.35))
    assert told.limits["space"] == int(0.35 * 380 * 280 * 260 / (62 * 26 * 250))
    assert (told.a_stack, told.pitch_mm) == (None, None)
    lacking = pack(CHANNEL, BOX, PackingAsked("dropped"))
    assert (lacking.count, lacking.missing) == (None, ("fill_share",))
