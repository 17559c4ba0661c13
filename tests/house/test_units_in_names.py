"""The unit of a number is the end of its name."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from .source_tree import Module, modules, public_classes, public_functions

# Endings that say a unit, or that the value is a count of something without one.
ENDINGS = [
    "_mm",
    "_mm2",
    "_mm3",
    "_mm4",
    "_deg",
    "_rad",
    "_kn",
    "_n",
    "_kn_per_m",
    "_n_per_mm",
    "_mpa",
    "_kg",
    "_kg_per_mm",
    "_nm",
    "_s",
    "_min",
    "_kg_per_m3",
    "_percent",
    "_share",
    "_mm_per_s",
    "_mm_per_s2",
    "_m_per_s2",
    "_mm_per_m",
    "_mm_per_deg",
    "_deg_per_mm",
    "_inch",
    "_cost",
    "_in",
]

# Pure numbers, by name.
PURE = {
    # of the metal and the bend
    *("k_factor", "friction", "poisson", "exponent", "prestrain", "strain_factor"),
    *("uniform_elongation", "springback_log", "springback_sd", "springback_var"),
    *("factor", "margin", "weight", "k_sd"),
    # of the search: the share of the hold rule that is lacking, in seconds what plans are compared by
    *("breach", "least_weight"),
    *("bound", "dropped", "lower_bound", "price", "until", "clock", "upper"),
    # of sums of sources, each in its own unit
    *("terms", "weighted"),
    # of a drawing
    *("scale", "largest", "keep", "inward", "bulge", "bulges", "slope", "vectors", "beside"),
    # whose unit is said by what stands beside them
    *("value", "number", "text", "step", "least", "most", "targets"),
    *("nominal", "allowed", "expected", "load", "across", "up", "build"),
    "seconds",
}

# Records whose every number is a cost in points.
IN_POINTS = {"Costs"}


def _floats(module: Module) -> Iterator[tuple[str, str, int]]:
    """Every float parameter of a public function and every float field of a public class: where, name, line."""
    for where, node in public_functions(module):
        given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        yield from ((where, each.arg, each.lineno) for each in given if _is_float(each.annotation))
    for kind in public_classes(module):
        if kind.name in IN_POINTS:
            continue
        for line in kind.body:
            if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name) and _is_float(line.annotation):
                yield kind.name, line.target.id, line.lineno


def _is_float(annotation: ast.expr | None) -> bool:
    """float, or a pair or row of floats, each with or without None."""
    return annotation is not None and any(
        isinstance(node, ast.Name) and node.id == "float" for node in ast.walk(annotation)
    )


def _says_its_unit(name: str) -> bool:
    bare = name.lower().strip("_")
    return any(bare.endswith(ending) or bare == ending.strip("_") for ending in ENDINGS) or bare in PURE


def test_a_float_says_its_unit() -> None:
    floats = [(module, *found) for module in modules() for found in _floats(module)]
    assert len(floats) > 500
    silent = [f"{m.path}:{line}: {where}({name})" for m, where, name, line in floats if not _says_its_unit(name)]
    assert silent == [], "end the name in its unit, or list it as a pure number"


def test_the_list_of_pure_numbers_holds_nothing_unused() -> None:
    used = {name.lower().strip("_") for module in modules() for _, name, _ in _floats(module)}
    assert used >= PURE


def test_the_rule_catches_a_name_without_unit() -> None:
    assert not _says_its_unit("length")
    assert not _says_its_unit("force_kilo")
    assert _says_its_unit("length_mm") and _says_its_unit("deg") and _says_its_unit("limit_force_kn_per_m")
