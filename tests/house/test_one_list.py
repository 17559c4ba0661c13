"""One list of names a thing: what a kind, a face or a datum may be is written out once."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterable

from .source_tree import modules

# The same names written out in more than one place, and why.
TWICE = {
    frozenset({"die", "punch"}): "which of them decides a radius, and what a row on the bed is of",
    frozenset({"left", "right"}): "the side of a chart, and the side a segment has its ear on",
    frozenset({"bend", "hem", "offset"}): "the replay judges a plan by words of its own",
    frozenset({"start", "end", "flange"}): "a part file, the search and the replay know nothing of each other",
}


def _lists(trees: Iterable[tuple[str, ast.Module]]) -> dict[frozenset[str], list[str]]:
    """Every list of two or more names that a value may be, and the modules where it is written out."""
    found: dict[frozenset[str], list[str]] = defaultdict(list)
    for name, tree in trees:
        for node in ast.walk(tree):
            if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal":
                each = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
                words = frozenset(
                    word.value for word in each if isinstance(word, ast.Constant) and isinstance(word.value, str)
                )
                if len(words) > 1:
                    found[words].append(name)
    return found


def test_a_list_of_names_is_written_out_once() -> None:
    found = _lists((module.name, module.tree) for module in modules())
    assert len(found) > 30
    twice = {words: places for words, places in found.items() if len(places) > 1}
    assert {", ".join(sorted(words)): places for words, places in twice.items() if words not in TWICE} == {}
    assert set(TWICE) <= set(twice), "written out once now: take it off the list"


def test_two_lists_alike_are_found() -> None:
    alike = 'Kind = Literal["one", "other"]\nkind: Literal["other", "one"]\nname: Literal["one"]'
    assert _lists([("a", ast.parse(alike))]) == {frozenset({"one", "other"}): ["a", "a"]}
