"""Does a part meet itself in space while two of its wings are folded together."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SpaceMeeting:
    """Two pieces of the two wings that meet, at which turn of the bend first, and by how much they overlap."""

    front: int
    behind: int
    turn_deg: float
    overlap_mm: float
