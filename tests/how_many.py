"""How many random cases the suite takes: one in so many, all where `FLANGEWISE_WHOLE=1` is set."""

from __future__ import annotations

import os

WHOLE = os.environ.get("FLANGEWISE_WHOLE") == "1"


def one_in(every: int) -> int:
    """The stride over random cases: each keeps its number, and so its seed, however many are taken."""
    return 1 if WHOLE else every
