"""Brute force against the search: the sections that a person holds."""

import pytest

from .brute import CHUNKS, SECTIONS, agrees, cases


@pytest.mark.parametrize("chunk", range(0, CHUNKS, 2))
def test_the_search_agrees_with_brute_force(chunk, brute_force_count):
    agrees(chunk, brute_force_count)


def test_the_corpus_is_as_large_as_it_says():
    numbers = [number for chunk in range(CHUNKS) for number, *_ in cases(chunk)]
    assert sorted(numbers) == list(range(SECTIONS))
