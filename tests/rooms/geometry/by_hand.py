"""Sections for reasoning by hand."""

from __future__ import annotations

from collections.abc import Sequence

from flangewise.geometry import Chain


def sharp_chain(lengths_mm: Sequence[float], turns_deg: Sequence[float], *, thickness_mm: float) -> Chain:
    """A section of sharp middle-surface corners, so far apart along it, and no zone widths."""
    count = len(turns_deg)
    return Chain(
        tuple(lengths_mm), (0.0,) * count, tuple(turns_deg), (-thickness_mm / 2,) * count, thickness_mm=thickness_mm
    )


def from_the_end(chain: Chain) -> Chain:
    """The same section read from its other end."""
    return Chain(
        chain.flats_mm[::-1], chain.zones_mm[::-1], chain.turns_deg[::-1], chain.radii_mm[::-1], chain.thickness_mm
    )
