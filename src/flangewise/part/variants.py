"""Sizes of one family: a part file with `variants` as the files that its rows stand for.

A row gives values by their path in the file, `section.legs.2: 40`; entries of a list count from 1, as legs do.
The rows stand in the file, or in a CSV beside it whose first line holds the paths. What a row leaves out stays as it is
in the file. A row without a name of its own is named after the file's part and its number. `family` says whether the
sizes get a sheet each or stand on one leaf that is named after the file's part.
"""

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from flangewise.faults import LONGEST_SHOWN, Fault, FaultCollector, Node, Steps, Unusable, counted, name_fits, quoted
from flangewise.part.values import beside
from flangewise.reading import read_text, scalar

KEY = "variants"
FAMILY = "family"
ONE_LEAF = "one-leaf"
FAMILIES = (ONE_LEAF, "one-sheet-each")
MOST_VARIANTS = 1000
_NAME = "part"
_PATH_FITS = "name a value by its keys, as section.legs.2; entries of a list count from 1"
Row = Mapping[str, Node]


def variants_of(root: Node, collector: FaultCollector, file: str) -> tuple[Node, ...]:
    """The files that the rows of `variants` make of one; the file itself where it has none.

    Raises Unusable with every fault of the rows and their paths, values are checked with the parts that they make.
    """
    _check_family(root, collector)
    rows = _rows(root.at((KEY,)), collector, file) if has_sizes(root) else {}
    alone = one_alone(root)
    made = tuple(_made(alone, row, number, collector) for number, row in rows.items())
    if collector.found():
        raise Unusable(collector.found())
    return made if has_sizes(root) else (root,)


def has_sizes(root: Node) -> bool:
    """Whether a file has `variants`."""
    return isinstance(root.data, dict) and KEY in root.data


def one_alone(root: Node) -> Node:
    """A file without what makes several sizes of it."""
    if not isinstance(root.data, dict):
        return root
    return replace(
        root,
        data={key: node for key, node in root.data.items() if key not in (KEY, FAMILY)},
        keys=tuple(each for each in root.keys if each[0] not in (KEY, FAMILY)),
    )


def leaf_name(root: Node) -> str:
    """The name of the one leaf on which the sizes of a sound file are to stand, its part's; empty: a sheet each."""
    if not has_sizes(root) or root.at((FAMILY,)).data != ONE_LEAF:
        return ""
    own = root.data.get(_NAME) if isinstance(root.data, dict) else None
    return "" if own is None else own.text


def _check_family(root: Node, collector: FaultCollector) -> None:
    if not isinstance(root.data, dict) or FAMILY not in root.data:
        return
    told = root.data[FAMILY].data
    if KEY not in root.data:
        collector.key((FAMILY,), "stands without variants", f"give the sizes in {KEY}, or leave it out")
    elif told not in FAMILIES:
        wrong = f"{quoted(told)} is not known" if not isinstance(told, dict | list) else "is no word"
        collector.value((FAMILY,), wrong, f"give one of {', '.join(FAMILIES)}")
    elif told == ONE_LEAF and _NAME not in root.data:
        collector.value((FAMILY,), "has no name for the leaf", "write `part: name` in the file: the leaf is named so")


def _rows(given: Node, collector: FaultCollector, file: str) -> dict[int, Row]:
    """The sound rows by their number."""
    if isinstance(given.data, str):
        path = beside(given.data, file)
        if path is None:
            collector.value(
                (KEY,), f"{given.data[:LONGEST_SHOWN]!r} lies elsewhere", "put the CSV beside the part file or below it"
            )
            return {}
        return dict(enumerate(_of_csv(path), start=1))
    if not isinstance(given.data, list) or not given.data:
        collector.value((KEY,), "is no list of rows", "write rows as {part: NAME, section.legs.2: 40}, or name a CSV")
        return {}
    if len(given.data) > MOST_VARIANTS:
        collector.value((KEY,), f"has {len(given.data)} rows", f"it takes at most {MOST_VARIANTS}")
        return {}
    for index, row in enumerate(given.data):
        if not isinstance(row.data, dict) or not row.data:
            collector.value((KEY, index), "is no row of paths and values", "write {part: NAME, section.legs.2: 40}")
    return {number: row.data for number, row in enumerate(given.data, start=1) if isinstance(row.data, dict)}


def _of_csv(path: Path) -> list[Row]:
    """The rows of a CSV, cells as values of the file; empty cells are left out, and so are empty lines."""
    name, text = str(path), read_text(path)
    first = text.splitlines()[0] if text.splitlines() else ""
    lines = csv.reader(io.StringIO(text), delimiter=";" if ";" in first and "," not in first else ",", strict=True)
    faults: list[Fault] = []
    rows: list[Row] = []
    try:
        paths = [cell.strip() for cell in next(lines, [])]
        if not any(paths):
            faults.append(Fault(name, 1, 1, KEY, "has no first line of paths", _PATH_FITS))
        for cells in lines:
            full = [(path, cell.strip()) for path, cell in zip(paths, cells, strict=False) if path and cell.strip()]
            if len(cells) > len(paths):
                wrong = f"has {len(cells)} cells where {len(paths)} paths stand in the first line"
                faults.append(Fault(name, lines.line_num, None, KEY, wrong, "give each cell its path"))
            if full:
                rows.append({path: _cell(cell, lines.line_num, name) for path, cell in full})
    except csv.Error as error:
        faults.append(Fault(name, lines.line_num, None, KEY, f"is no CSV ({error})", "save it as comma separated text"))
    if not faults and not 0 < len(rows) <= MOST_VARIANTS:
        faults.append(Fault(name, None, None, KEY, f"has {len(rows)} rows", f"it takes 1 to {MOST_VARIANTS}"))
    if faults:
        raise Unusable(faults)
    return rows


def _cell(text: str, line: int, file: str) -> Node:
    return Node(scalar(text, plain=True), line, 1, text, file=file)


def _made(root: Node, row: Row, number: int, collector: FaultCollector) -> Node:
    """The file with the values of one row in their places."""
    made = root
    for path, value in row.items():
        steps = steps_of(path)
        told = ("is no path", _PATH_FITS) if steps is None else _missing(root, steps)
        if steps is None or told is not None:
            collector.node(value, f"variant {number}: {path[:LONGEST_SHOWN]}", *(told or ("", "")))
        else:
            made = _with(made, steps, value)
    own = root.at((_NAME,))
    if _NAME not in row and own is not root and own.text:
        named = f"{own.text}-{number}"
        made = _with(made, (_NAME,), replace(own, data=named, text=named))
    return made


def steps_of(path: str) -> Steps | None:
    """A path with dots as its steps: section.legs.2 is section, legs, 1. None where it is no path."""
    names = path.split(".")
    if not all(names) or not names[0] or names[0] in (KEY, FAMILY):
        return None
    return tuple(int(name) - 1 if name.isdecimal() and int(name) > 0 else name for name in names)


def _missing(root: Node, steps: Steps) -> tuple[str, str] | None:
    """What a path names that is not there, and what would be right: all but its last key has to stand in the file.

    Whether the last is a key of its place is told by what checks the part that it makes.
    """
    for place, step in enumerate(steps):
        above = root.at(steps[:place])
        if isinstance(above.data, list):
            if not isinstance(step, int) or step >= len(above.data):
                return f"the list has {counted(len(above.data))}", _PATH_FITS
        elif not isinstance(above.data, dict):
            return "nothing stands below this value", _PATH_FITS
        elif str(step) not in above.data and place < len(steps) - 1:
            return f"{step!r} does not stand in the file", name_fits(str(step), above.data)
    return None


def _with(node: Node, steps: Steps, value: Node) -> Node:
    """The tree with another value at a path."""
    if not steps:
        return value
    step, below = steps[0], steps[1:]
    if isinstance(node.data, list):
        assert isinstance(step, int)
        entries = list(node.data)
        entries[step] = _with(entries[step], below, value)
        return replace(node, data=entries)
    assert isinstance(node.data, dict)
    key = str(step)
    keys = node.keys if key in node.data else (*node.keys, (key, value.line, value.column))
    there = node.data.get(key, value)
    return replace(node, data={**node.data, key: _with(there, below, value)}, keys=keys)
