"""Sets of operations on the way to the finished part, by hand."""

from __future__ import annotations

import numpy as np

from flangewise.panel_order.layers import Layers, on_the_way


def test_only_sets_on_a_way_to_the_finished_part_are_looked_at() -> None:
    """The second comes after the first, and the third before the second: 1, 3, 2 or 3, 1, 2."""
    can = np.zeros((3, 8), dtype=bool)
    can[0, [0b000, 0b100]] = True
    # The second with the third not made yet leads nowhere: the third cannot come after it.
    can[1, [0b001, 0b101]] = True
    can[2, [0b000, 0b001]] = True
    among = on_the_way(can)
    assert np.flatnonzero(among).tolist() == [0b000, 0b001, 0b100, 0b101, 0b111]
    layers = Layers(3, among)
    assert [layer.tolist() for layer in layers.by_done] == [[0b000], [0b001, 0b100], [0b101], [0b111]]
    assert layers.position.tolist() == [0, 1, 5, 5, 2, 3, 5, 4]


def test_where_nothing_leads_to_the_end_only_both_ends_are_kept() -> None:
    layers = Layers(2, on_the_way(np.zeros((2, 4), dtype=bool)))
    assert layers.sets.tolist() == [0b00, 0b11]
