"""Where along the bed no tool may stand: what plates of a wing forbid to bodies that reach through a stretch of it."""

from __future__ import annotations

from dataclasses import dataclass

Runs = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Stretches:
    """Stretches (from, to) along the bed, in rising order, in which no punch, no foot of an ear, no die may stand.

    `fatal`: what stands along the whole bed is met, so that no tools help; the stretches then say nothing.
    """

    punch: Runs = ()
    foot: Runs = ()
    die: Runs = ()
    fatal: bool = False
