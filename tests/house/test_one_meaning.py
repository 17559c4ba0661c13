"""One class name, one meaning: no two rooms call different things alike, but for a list that may only shrink."""

from __future__ import annotations

import ast
from collections import defaultdict

from .source_tree import modules

# The second simulator has words of its own: it shares no record with what it judges.
APART = "replay"
# Names that two modules have a class of. None is added; whoever renames one takes it off.
STILL = {
    "Asked",
    "Body",
    "Found",
    "Frame",
    "Hit",
    "Layout",
    "Line",
    "Path",
    "Placed",
    "Search",
    "Standing",
    "Stations",
}


def _twice() -> set[str]:
    """Names of public classes that more than one module has."""
    found: dict[str, set[str]] = defaultdict(set)
    for module in modules():
        for node in module.tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_") and module.room != APART:
                found[node.name].add(module.name)
    assert len(found) > 300
    return {name for name, places in found.items() if len(places) > 1}


def test_a_class_name_has_one_meaning() -> None:
    assert sorted(_twice() - STILL) == [], "call it by what an engineer of the field would search for"


def test_the_list_only_shrinks() -> None:
    assert sorted(STILL - _twice()) == [], "has one meaning now: take it off the list"
