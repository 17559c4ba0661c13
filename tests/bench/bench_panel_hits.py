"""How long all that tools may ask of a panel's hits takes: every face in every state, and what plans ask besides.

Run: PYTHONPATH=src:. python tests/bench/bench_panel_hits.py
Each time is also given as a multiple of a fixed numpy loop timed in the same run, so that machines can be compared.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from tests.published.panels import PANELS, blank, blank_of, panel_of
from tests.rooms.panel_order.made import hits

from flangewise.clearance.stretches import tool_regions
from flangewise.clearance.swept import swept_region
from flangewise.panel_order import SpaceHit, StandingRow
from flangewise.pattern import PanelBlank

SQUARE, AWAY = "90", "{turn: 90, away: true}"
# Rims turned out and down again on all sides (12 bends), and with a foot on each (16).
RIM = f"height: 12, bend: {AWAY}"
LARGER = {
    "hood, 12 bends": f"{{base: [320, 220], flanges: {{all: {{height: 40, bend: {SQUARE}, "
    f"tip: {{height: 32, bend: {AWAY}, tip: {{{RIM}}}}}}}}}}}",
    "hood with feet, 16 bends": f"{{base: [320, 220], flanges: {{all: {{height: 40, bend: {SQUARE}, "
    f"tip: {{height: 38, bend: {AWAY}, tip: {{height: 20, bend: {AWAY}, "
    f"tip: {{height: 12, bend: {SQUARE}, from: 60, to: 120}}}}}}}}}}}}",
}


def yardstick() -> None:
    """A fixed loop of plain numpy work."""
    values = np.linspace(0.1, 1.0, 10_000)
    for _ in range(20):
        values = np.exp(0.2 * np.log(values + 0.01)) * values / values.max()


def spent_s(work: Callable[[], object]) -> float:
    """Processor seconds of one run."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def every_state(found: list[SpaceHit]) -> None:
    """What every face forbids in every state, from nothing."""
    tool_regions.cache_clear()
    swept_region.cache_clear()
    for hit in found:
        hit.prepare()


def one_row(name: str, own: PanelBlank, unit_s: float) -> None:
    """A row of the table."""
    found = hits(own)
    states_s = spent_s(lambda: every_state(found))
    rng = np.random.default_rng(1)
    asked = [
        (hit, frozenset(zone.bend for zone in own.zones if zone.bend not in hit.operation.bends and rng.random() < 0.5))
        for hit in found
    ]
    stops_s = spent_s(lambda: [hit.stops(done) for hit, done in asked]) / len(asked)
    meets_s = spent_s(lambda: [hit.meets_itself(done) for hit, done in asked]) / len(asked)
    row = StandingRow(0.0, 100.0)
    leaves_s = spent_s(lambda: [hit.leaves(done, row) for hit, done in asked]) / len(asked)
    states = sum(1 << len(hit.depends(face)) for hit in found for face in hit.faces)
    print(
        f"{name:26}{states:8}{states_s:10.2f} s {states_s / unit_s:8.0f}x"
        f"{stops_s * 1000:10.1f} ms{meets_s * 1000:10.1f} ms{leaves_s * 1000:10.1f} ms"
    )


if __name__ == "__main__":
    unit_s = min(spent_s(yardstick) for _ in range(20))
    print(f"{'':26}{'states':>8}{'all of them':>22}{'stops':>13}{'itself':>13}{'leaves':>13}")
    for name in ("pan", "tabs", "ell", "box"):
        assert name in PANELS
        one_row(name, blank(name), unit_s)
    for name, text in LARGER.items():
        one_row(name, blank_of(panel_of(text, thickness=1.5)), unit_s)
