"""A table file read: rows checked, every fault of the file at once with its line and column."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from flangewise.faults import Fault, Unusable, name_fits, nearest
from flangewise.reading import Node, read_file, read_plain, read_text, read_yaml
from flangewise.shop.row import Row
from flangewise.shop.trusted import Context, leaves, model_in, put_together

RowT = TypeVar("RowT", bound=Row)
ModelT = TypeVar("ModelT", bound=BaseModel)

# What a checker's code means in the words of someone editing the table.
_WRONG: dict[str, tuple[str, str]] = {
    "missing": ("is missing", "add it"),
    "float_type": ("{input} is no number", "write a number"),
    "int_type": ("{input} is no whole number", "write a whole number"),
    "int_parsing": ("{input} is no whole number", "write a whole number"),
    "finite_number": ("{input} is not finite", "write a finite number"),
    "greater_than": ("{input} is too small", "it must be more than {gt:g}"),
    "greater_than_equal": ("{input} is too small", "it must be {ge:g} or more"),
    "less_than": ("{input} is too large", "it must be less than {lt:g}"),
    "less_than_equal": ("{input} is too large", "it must be {le:g} or less"),
    "string_type": ("{input} is no text", "write text; put a number that is a name in quotes"),
    "string_too_short": ("is empty", "write something"),
    "string_too_long": ("is too long", "keep it under {max_length} characters"),
    "string_pattern_mismatch": ("{input} is no such name", "use letters, digits, _ and - only, 31 at most"),
    "bool_type": ("{input} is neither true nor false", "write true or false"),
    "bool_parsing": ("{input} is neither true nor false", "write true or false"),
    "tuple_type": ("{input} is no list", "write a list, like [1, 2]"),
    "too_long": ("has too many entries", "give {max_length}"),
    "too_short": ("has too few entries", "give {min_length}"),
    "dict_type": ("{input} is no mapping", "write keys with values"),
    "model_type": ("{input} is no mapping", "write keys with values"),
}


def read_rows(path: Path, row: type[RowT], *, context: Context | None = None) -> dict[str, RowT]:
    """The rows of a table file by name, in the file's order. Raises Unusable with every fault of the file."""
    root = read_file(path)
    if not isinstance(root.data, dict):
        raise Unusable([_fault(path, root, path.stem, "is no table", "write rows as `name:` with keys below it")])
    faults: list[Fault] = []
    rows = {name: _row(path, name, node, row, context, faults) for name, node in root.data.items()}
    if faults:
        raise Unusable(faults)
    return {name: checked for name, checked in rows.items() if checked is not None}


def built_in_rows(
    path: Path, row: type[RowT], *, context: Context | None = None, only: str | None = None
) -> dict[str, RowT]:
    """The rows of a table that came with the package, which its tests know to be sound: quick, no places kept.

    With `only`, just that row where the table has it, read without the rest of the file.
    """
    entries = (one_row(path, only) if only else None) or read_plain(path)
    return {name: put_together(row, {"name": name, **entry}, context or {}) for name, entry in entries.items()}


def built_in_one(path: Path, model: type[ModelT]) -> ModelT:
    """A file that came with the package and is one mapping."""
    return put_together(model, read_plain(path), {})


def one_row(path: Path, name: str) -> dict[str, Any] | None:
    """The row of that name, cut out of a table that keeps each row's key at the start of a line; None without one."""
    text = read_text(path)
    found = re.search(rf'^"?{re.escape(name)}"?:\n(?:[ #][^\n]*\n|\n)*', text, re.MULTILINE)
    return None if found is None else dict(read_yaml(found.group(), str(path)).plain())


def read_one(path: Path, model: type[ModelT]) -> tuple[ModelT, Node]:
    """A file that is one mapping, with its nodes for further checks. Raises Unusable with every fault of it."""
    root = read_file(path)
    faults: list[Fault] = []
    checked = _checked(path, root, (), model, root.plain(), None, faults)
    if checked is None:
        raise Unusable(faults)
    return checked, root


def _row(
    path: Path, name: str, node: Node, row: type[RowT], context: Context | None, faults: list[Fault]
) -> RowT | None:
    if not isinstance(node.data, dict):
        faults.append(_fault(path, node, name, "is no row", "write keys with values below the row's name"))
        return None
    given = node.plain()
    if "name" in given:
        line, column = node.place_of_key(["name"])
        faults.append(
            Fault(str(path), line, column, f"{name}: name", "is no key of a row", "the row's own key names it")
        )
    return _checked(path, node, (name,), row, {**given, "name": name}, context, faults)


def _checked(
    path: Path,
    node: Node,
    above: tuple[str, ...],
    model: type[ModelT],
    given: Any,
    context: Context | None,
    faults: list[Fault],
) -> ModelT | None:
    try:
        return model.model_validate(given, context=dict(context or {}))
    except ValidationError as error:
        errors = [dict(each) for each in error.errors(include_url=False)]
        told = [_translated(path, node, above, model, each) for each in errors if not _misspelt(each, errors, model)]
        faults.extend(dict.fromkeys(told))
        return None


def _misspelt(missing: dict[str, Any], errors: list[dict[str, Any]], model: type[BaseModel]) -> bool:
    """Whether a missing key stands there under a name so near that the unknown one is told instead."""
    if missing["type"] != "missing":
        return False
    *place, key = missing["loc"]
    unknown = [each["loc"] for each in errors if each["type"] == "extra_forbidden"]
    return any(list(loc[:-1]) == place and nearest(str(loc[-1]), _keys_of(model, loc[:-1])) == key for loc in unknown)


def _translated(path: Path, node: Node, above: tuple[str, ...], model: type[BaseModel], error: dict[str, Any]) -> Fault:
    steps = tuple(step for step in error["loc"] if _is_place(step)) + _key_of_check(error)
    where = ": ".join(str(step) for step in (*above, *steps)) or path.stem
    if error["type"] == "extra_forbidden":
        line, column = node.place_of_key(steps)
        replaced = getattr(model, "REPLACED", {}) if len(steps) == 1 else {}
        if steps[-1] in replaced:
            return Fault(str(path), line, column, where, "is no longer read", replaced[steps[-1]])
        known = _keys_of(model, steps[:-1])
        return Fault(str(path), line, column, where, "is no key of this table", name_fits(str(steps[-1]), known))
    place = node.at(steps)
    wrong, fits = _said(error)
    return Fault(str(path), place.line, place.column, where, wrong, fits)


def _key_of_check(error: dict[str, Any]) -> tuple[str, ...]:
    """The key a check of the whole row says it is about."""
    told = error.get("ctx", {}).get("error")
    key = told.args[2] if isinstance(told, ValueError) and len(told.args) == 3 else None
    return (key,) if key else ()


def _is_place(step: str | int) -> bool:
    """Checkers add steps of their own, such as the branch of a union; those are no places in the file."""
    return isinstance(step, int) or not (step.endswith(")") or step in ("float", "int", "str", "none", "[key]"))


def _said(error: dict[str, Any]) -> tuple[str, str]:
    kind, context = error["type"], error.get("ctx", {})
    if kind == "value_error":
        wrong, fits, _ = (*context["error"].args, "make the row agree with itself", None)[:3]
        return str(wrong), str(fits)
    if kind in ("literal_error", "enum"):
        return f"{_shown(error['input'])} is not one of the choices", f"write one of {context['expected']}"
    wrong, fits = _WRONG.get(kind, ("cannot be used", str(error["msg"]).lower()))
    return wrong.format(input=_shown(error["input"])), fits.format(**context)


def _shown(value: Any) -> str:
    text = "nothing" if value is None else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _keys_of(model: type[BaseModel], steps: tuple[str | int, ...]) -> list[str]:
    """The keys a mapping may have: of the row, or of the row's part that the steps lead to."""
    for step in steps:
        if isinstance(step, str) and step in model.model_fields:
            below = model_in(leaves(model.model_fields[step].annotation))
            model = below or model
    return [key for key in model.model_fields if key != "name"]


def _fault(path: Path, node: Node, where: str, wrong: str, fits: str) -> Fault:
    return Fault(str(path), node.line, node.column, where, wrong, fits)
