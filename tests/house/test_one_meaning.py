"""One class name, one meaning: no two modules call different things alike."""

from __future__ import annotations

import ast
from collections import defaultdict

from .source_tree import modules

# The second simulator has words of its own: it shares no record with what it judges.
APART = "replay"


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
    assert sorted(_twice()) == [], "call it by what an engineer of the field would search for"
