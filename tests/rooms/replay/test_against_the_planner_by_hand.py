"""Brute force against the search: the sections that a person holds."""

import pytest

from ...how_many import one_in
from .brute import CHUNKS, COUNTS, SECTIONS, agrees, cases


@pytest.mark.parametrize("chunk", range(0, CHUNKS, 2))
def test_the_search_agrees_with_brute_force(chunk, brute_force_count):
    agrees(chunk, brute_force_count)


def test_the_corpus_is_as_large_as_it_says():
    bends = {number: chain.bends for chunk in range(CHUNKS) for number, chain, *_ in cases(chunk)}
    assert len(bends) == CHUNKS * len(range(0, SECTIONS // CHUNKS, one_in(7))) and max(bends) < SECTIONS
    assert set(bends.values()) == set(COUNTS)
