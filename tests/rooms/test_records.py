"""A record with other values in some fields, made without its `__init__`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import pytest

from flangewise.records import altered


@dataclass(frozen=True)
class Strip:
    """A record that keeps what it worked out."""

    length_mm: float
    name: str = "strip"

    @cached_property
    def half_mm(self) -> float:
        return self.length_mm / 2


def test_it_is_what_replace_gives() -> None:
    strip = Strip(10.0)
    assert altered(strip, length_mm=12.0) == replace(strip, length_mm=12.0) == Strip(12.0)
    assert strip == Strip(10.0)


def test_what_was_worked_out_of_the_first_is_worked_out_anew() -> None:
    strip = Strip(10.0)
    assert strip.half_mm == 5.0
    assert altered(strip, length_mm=12.0).half_mm == 6.0


def test_what_is_no_field_is_told() -> None:
    with pytest.raises(TypeError, match="Strip has no width_mm"):
        altered(Strip(10.0), width_mm=1.0)
