"""The first piece of a panel: its sizes stand for legs, each with the stop it comes out with."""

from __future__ import annotations

import math

import pytest

from flangewise.tryout import PanelSizes, TriedBend, TriedPiece, correct

NAMES = ("near/far", "near", "far")


def pan(read: dict[str, float], *, far_over_base: bool = False, by_own_edge: bool = True) -> TriedPiece:
    """A base of 200 between two flanges of 40; the near one by its own tip, the far one by its own or over the base."""
    far_stop = {("stop", 1): 1.0}
    base = {("stop", 0): -1.0, ("half-deduction", 0): 1.0, ("half-deduction", 1): 1.0}
    terms = (
        {**base, ("stop", 1): -1.0} if not far_over_base else {("stop", 1): 1.0, ("half-deduction", 1): 1.0},
        {("stop", 0): 1.0, ("half-deduction", 0): 1.0},
        {**far_stop, ("half-deduction", 1): 1.0} if not far_over_base else {("stop", 1): -1.0, ("stop", 0): 1.0},
    )
    own = {0: 1, 1: 0 if far_over_base else 2}
    edges = {0: 1, 1: 2} if by_own_edge and not far_over_base else {0: 1}
    bends = tuple(TriedBend(number, 90.0, 1.5, 2.85, 2.85, stop_mm=38.57) for number in (1, 2))
    return TriedPiece(
        1.5, (200.0, 40.0, 40.0), tuple(read.get(name) for name in NAMES), math.nan, False, bends,
        panel=PanelSizes(NAMES, terms, own, edges),
    )  # fmt: skip


def test_a_flange_too_long_is_taken_off_its_own_stop() -> None:
    told = correct(pan({"near": 40.3, "far": 39.7}))
    assert [each.leg for each in told.bends] == [2, 3]
    near, far = (each.stop_correction_mm for each in told.bends)
    assert near is not None
    assert far is not None
    assert (near, far) == (pytest.approx(-0.27, abs=0.03), pytest.approx(0.27, abs=0.03))
    assert told.blank_correction_mm is None


def test_over_the_base_the_base_says_what_the_stop_is_off_by() -> None:
    told = correct(pan({"near/far": 200.4}, far_over_base=True))
    assert told.bends[0].stop_correction_mm is None
    assert told.bends[1].stop_correction_mm == pytest.approx(-0.36, abs=0.05)


def test_a_stop_whose_size_hangs_on_another_that_was_not_read_is_let_be() -> None:
    piece = pan({"far": 39.7}, far_over_base=True)
    assert piece.panel is not None
    swapped = PanelSizes(NAMES, piece.panel.terms, {0: 1, 1: 2}, {0: 1})
    assert swapped.stop_changes([None, None, -0.3]) == {}
    assert swapped.stop_changes([None, 0.2, -0.3]) == {0: pytest.approx(-0.2), 1: pytest.approx(-0.5)}


def test_what_was_not_read_is_named() -> None:
    told = correct(pan({"near": 40.1}))
    (missing,) = (finding for finding in told.findings if finding.code == "tryout-legs-missing")
    assert "near/far, far" in missing.text("en")
    assert [leg.name for leg in told.legs] == list(NAMES)


def test_a_size_far_off_is_named_and_corrects_nothing() -> None:
    told = correct(pan({"near": 43.0, "far": 40.1}))
    (far_off,) = (finding for finding in told.findings if finding.code == "tryout-suspect-leg")
    assert "near" in far_off.place("en")
    assert [each.stop_correction_mm for each in told.bends] == [None, None]


def test_a_flange_by_its_own_edge_shows_its_deduction() -> None:
    """Height = X + D/2: 40.1 at 38.57 shows 3.06."""
    shown = [each.deduction_mm for each in correct(pan({"near": 40.1, "far": 40.0})).bends]
    assert shown == [pytest.approx(3.02, abs=0.06), pytest.approx(2.86, abs=0.02)]
    assert correct(pan({"near": 40.1, "far": 40.0}, by_own_edge=False)).bends[1].deduction_mm is None
