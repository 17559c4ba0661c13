"""What a part file asks for, as frozen data."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace

import pytest

from flangewise.part import Part, Section, WantedBend
from flangewise.part.model import DrawingTolerances

SECTION = Section(100.0, (40.0, 60.0), (WantedBend(1, 90.0, False),), None, "outside", ())
PART = Part("p", "DC01", 2.0, SECTION, file="p.yaml")


def test_the_sign_of_a_turn_is_positive_toward_the_marked_face() -> None:
    assert WantedBend(1, 45.0, False).signed_turn_deg == 45.0
    assert WantedBend(1, 45.0, True).signed_turn_deg == -45.0
    assert WantedBend(1, 180.0, True, kind="hem").signed_turn_deg == -180.0


def test_what_a_part_is_where_its_file_says_nothing() -> None:
    assert (PART.units, PART.grain, PART.good_face, PART.burr, PART.film) == ("mm", "any", "none", "unknown", "none")
    assert (PART.quantity, PART.order, PART.notes, PART.tolerances) == (None, None, (), DrawingTolerances())


def test_a_part_is_a_value() -> None:
    assert replace(PART, name="q") != PART
    assert replace(PART, name="q", file="p.yaml") == replace(PART, name="q")
    assert len({PART, replace(PART)}) == 1
    with pytest.raises(FrozenInstanceError):
        PART.name = "q"  # type: ignore[misc]
