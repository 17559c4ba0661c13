"""Which tests look at nothing where there is nothing: all they assert stands in a loop over what may be empty."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

# What keeps what it is given, so that it is empty only where all of that is.
KEEPING = {
    "combinations",
    "enumerate",
    "items",
    "keys",
    "list",
    "pairwise",
    "permutations",
    "product",
    "reversed",
    "set",
    "sorted",
    "tuple",
    "values",
    "zip",
}


def hollow_tests(file: Path) -> Iterator[str]:
    """Names of the tests in a file that hold whatever is looked at, as soon as that is nothing."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    known = set(_bound_at_the_top(tree))
    for test in ast.walk(tree):
        if isinstance(test, ast.FunctionDef) and test.name.startswith("test_") and _is_hollow(test, known):
            yield test.name


def _bound_at_the_top(tree: ast.Module) -> Iterator[str]:
    """Names of what a module states or imports: lists written out, which are not empty unseen."""
    for line in tree.body:
        if isinstance(line, ast.Assign | ast.AnnAssign):
            yield from (each.id for each in ast.walk(line) if isinstance(each, ast.Name))
        elif isinstance(line, ast.ImportFrom):
            yield from (each.asname or each.name for each in line.names if each.name.isupper())


def _is_hollow(test: ast.FunctionDef, known: set[str]) -> bool:
    checks = [each for each in ast.walk(test) if _checks(each)]
    seen = known | set(_asserted(test))
    loops = [set(ast.walk(loop)) for loop in ast.walk(test) if isinstance(loop, ast.For) and not _full(loop.iter, seen)]
    return bool(checks) and all(any(check in inside for inside in loops) for check in checks)


def _asserted(test: ast.FunctionDef) -> Iterator[str]:
    """Names held to be something: asserted, or assumed where what is drawn may give nothing."""
    for each in ast.walk(test):
        if isinstance(each, ast.Assert) and isinstance(each.test, ast.Name):
            yield each.test.id
        elif isinstance(each, ast.Call) and isinstance(each.func, ast.Name) and each.func.id == "assume":
            yield from (held.id for held in each.args if isinstance(held, ast.Name))


def _checks(line: ast.AST) -> bool:
    is_raises = isinstance(line, ast.With) and any("raises" in ast.unparse(item) for item in line.items)
    return is_raises or isinstance(line, ast.Assert)


def _full(iterated: ast.expr, known: set[str]) -> bool:
    """Whether something is there for sure: it is written out, counted, stated at the top, or asserted before."""
    if isinstance(iterated, ast.Tuple | ast.List | ast.Set):
        return bool(iterated.elts)
    if isinstance(iterated, ast.Constant):
        return bool(iterated.value)
    if isinstance(iterated, ast.Name):
        return iterated.id in known
    if isinstance(iterated, ast.Attribute):
        return iterated.attr.isupper()
    if not isinstance(iterated, ast.Call):
        return isinstance(iterated, ast.Dict) and bool(iterated.keys)
    called = iterated.func
    name = called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""
    if name == "range":
        return True
    held = (
        [called.value] if isinstance(called, ast.Attribute) and name in {"items", "keys", "values"} else iterated.args
    )
    return name in KEEPING and any(_full(each, known) for each in held)
