"""One record a thing: no two records hold the same eight fields."""

from __future__ import annotations

import ast
from collections import Counter, defaultdict
from collections.abc import Iterable
from itertools import combinations

from .source_tree import modules

MOST_SHARED = 7


def _records() -> dict[str, frozenset[str]]:
    """The fields that each class says itself; what it has from a class above stands once already."""
    return {
        f"{module.name}.{node.name}": _fields(node.body)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ClassDef)
    }


def _fields(body: Iterable[ast.stmt]) -> frozenset[str]:
    return frozenset(
        line.target.id for line in body if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
    )


def _sharing(records: dict[str, frozenset[str]]) -> dict[tuple[str, str], int]:
    holders: dict[str, list[str]] = defaultdict(list)
    for name in sorted(records):
        for field in records[name]:
            holders[field].append(name)
    shared = Counter(pair for names in holders.values() for pair in combinations(names, 2))
    return {pair: count for pair, count in shared.items() if count > MOST_SHARED}


def test_no_two_records_share_eight_fields() -> None:
    assert _sharing(_records()) == {}, "hold the record itself in place of a copy of its fields"


def test_two_alike_are_found() -> None:
    alike = frozenset("abcdefgh")
    assert _sharing({"one": alike, "other": alike | {"i"}, "third": frozenset("abcdefg")}) == {("one", "other"): 8}
    assert len(_records()) > 200
