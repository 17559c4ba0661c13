"""Brute force against the search: the sections that a gripper holds."""

import pytest

from .brute import CHUNKS, agrees


@pytest.mark.parametrize("chunk", range(1, CHUNKS, 2))
def test_the_search_agrees_with_brute_force(chunk, brute_force_count):
    agrees(chunk, brute_force_count)
