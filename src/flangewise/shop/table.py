"""A table file read: rows checked, every fault of the file at once with its line and column."""

import re
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from flangewise.faults import UNKNOWN_KEY, FaultCollector, Node, Said, Steps, Unusable, nearest
from flangewise.reading import read_file, read_plain, read_text, read_yaml
from flangewise.shop.row import TableRow
from flangewise.shop.trusted import Context, leaves, model_in, put_together

RowT = TypeVar("RowT", bound=TableRow)
ModelT = TypeVar("ModelT", bound=BaseModel)

# What a checker's code means in the words of someone editing the table.
_SAID: Said = {
    "": ("cannot be used", "{message}"),
    "extra_forbidden": ("is no key of this table", ""),
    "literal_error": ("{input} is not one of the choices", "write one of {expected}"),
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
    collector = _collector(path, root)
    if not isinstance(root.data, dict):
        collector.value((), "is no table", "write rows as `name:` with keys below it")
        raise Unusable(collector.found())
    rows = {name: _row(name, node, row, context, collector) for name, node in root.data.items()}
    if collector.found():
        raise Unusable(collector.found())
    return {name: checked for name, checked in rows.items() if checked is not None}


def built_in_rows(
    path: Path, row: type[RowT], *, context: Context | None = None, only: str | None = None
) -> dict[str, RowT]:
    """The rows, or where there is one the `only` row, of a table that came with the package, known to be sound."""
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
    collector = _collector(path, root)
    checked = _checked(model, root.plain(), None, collector, ())
    if checked is None:
        raise Unusable(collector.found())
    return checked, root


def _collector(path: Path, root: Node) -> FaultCollector:
    return FaultCollector(root, str(path), _SAID, lambda steps: ": ".join(map(str, steps)) or path.stem)


def _row(name: str, node: Node, row: type[RowT], context: Context | None, collector: FaultCollector) -> RowT | None:
    if not isinstance(node.data, dict):
        collector.value((name,), "is no row", "write keys with values below the row's name")
        return None
    given = node.plain()
    if "name" in given:
        collector.key((name, "name"), "is no key of a row", "the row's own key names it")
    return _checked(row, {**given, "name": name}, context, collector, (name,))


def _checked(
    model: type[ModelT], given: Any, context: Context | None, collector: FaultCollector, above: Steps
) -> ModelT | None:
    try:
        return model.model_validate(given, context=dict(context or {}))
    except ValidationError as error:
        errors = error.errors(include_url=False)
    replaced: Mapping[str, str] = getattr(model, "REPLACED", {})
    for key in replaced.keys() & set(given if isinstance(given, dict) else ()):
        collector.key((*above, key), "is no longer read", replaced[key])
    unknown = [tuple(each["loc"]) for each in errors if each["type"] in UNKNOWN_KEY]
    told = [
        each
        for each in errors
        if each["loc"][-1:] not in [(key,) for key in replaced] and not _misspelt(each, unknown, model)
    ]
    collector.checked(told, partial(_keys_of, model), above)
    return None


def _misspelt(error: ErrorDetails, unknown: list[Steps], model: type[BaseModel]) -> bool:
    """Whether a missing key stands there under a name so near that the unknown one is told instead."""
    if error["type"] != "missing":
        return False
    *place, key = error["loc"]
    return any(list(loc[:-1]) == place and nearest(str(loc[-1]), _keys_of(model, loc[:-1])) == key for loc in unknown)


def _keys_of(model: type[BaseModel], steps: Steps) -> list[str]:
    """The keys a mapping may have: of the row, or of the row's part that the steps lead to."""
    for step in steps:
        if isinstance(step, str) and step in model.model_fields:
            model = model_in(leaves(model.model_fields[step].annotation)) or model
    return [key for key in model.model_fields if key != "name"]
