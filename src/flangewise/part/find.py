"""The part files of a run: files, folders and standard input, read before any work so that all faults come first."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from flangewise.faults import Fault, Unusable
from flangewise.part.file import part_of
from flangewise.part.model import Part
from flangewise.reading import LARGEST_BYTES, Node, decoded, read_text, read_yaml
from flangewise.shop import Shop

STANDARD_INPUT = "-"
SHOP_FILE = "shop.yaml"
PART_ENDINGS = (".yaml", ".yml")


@dataclass(frozen=True)
class FoundPart:
    """One file of a run: the part in it, or the faults for which it cannot be used."""

    file: str
    part: Part | None
    faults: tuple[Fault, ...] = ()


def find_files(paths: Iterable[str]) -> tuple[tuple[str, ...], tuple[Fault, ...]]:
    """The part files that paths stand for, in the order given, those of a folder by name; and the faults of paths.

    A folder stands for the `*.yaml` and `*.yml` below it; one that holds a `shop.yaml` is left out with all below it.
    Links to folders are not followed. A folder without a part and standard input named twice are faults; a file that
    does not exist is told when it is read.
    """
    files: list[str] = []
    faults: list[Fault] = []
    for path in paths:
        if path == STANDARD_INPUT and path in files:
            faults.append(Fault(path, None, None, "standard input", "is named twice", "it can be read once"))
            continue
        found = [path] if path == STANDARD_INPUT else list(_files_at(Path(path)))
        if not found:
            faults.append(_without_part(path))
        files.extend(found)
    return tuple(files), tuple(faults)


def _without_part(folder: str) -> Fault:
    fits = "give a folder with *.yaml or *.yml part files; one with a shop.yaml is a shop and is skipped"
    return Fault(folder, None, None, "folder", "holds no part", fits)


def _files_at(path: Path) -> Iterator[str]:
    if not _is_folder(path):
        yield str(path)
        return
    for folder, below, names in os.walk(path):
        if SHOP_FILE in names:
            below.clear()
            continue
        below.sort()
        yield from (str(Path(folder, name)) for name in sorted(names) if name.endswith(PART_ENDINGS))


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def read_parts(paths: Iterable[str], shop: Shop) -> tuple[FoundPart, ...]:
    """Every part that paths stand for, in order; a file that cannot be used keeps its faults and stops no other.

    Raises Unusable before anything else is done where a path holds no part or two parts have one name, also where one
    of the two has other faults.
    """
    files, path_faults = find_files(paths)
    found = [FoundPart(fault.file, None, (fault,)) for fault in path_faults]
    names: dict[str, list[str]] = {}
    for file in files:
        try:
            root = _root(file)
            name = _name_in(root)
            if name:
                names.setdefault(name, []).append(file)
            found.append(FoundPart(file, part_of(root, file, shop)))
        except Unusable as unusable:
            found.append(FoundPart(file, None, unusable.faults))
    twice = [_name_twice(name, files) for name, files in names.items() if len(files) > 1]
    if twice:
        raise Unusable([*twice, *(fault for each in found for fault in each.faults)])
    return tuple(found)


def _root(file: str) -> Node:
    if file == STANDARD_INPUT:
        return read_yaml(decoded(_standard_input(), file), file)
    return read_yaml(read_text(Path(file)), file)


def _standard_input() -> bytes:
    if sys.stdin is None:
        raise Unusable([Fault(STANDARD_INPUT, None, None, "standard input", "is closed", "give a part in YAML there")])
    try:
        return sys.stdin.buffer.read(LARGEST_BYTES + 1)
    except OSError as error:
        wrong = f"cannot be read ({error.strerror})"
        raise Unusable(
            [Fault(STANDARD_INPUT, None, None, "standard input", wrong, "give a part in YAML there")]
        ) from None


def _name_in(root: Node) -> str:
    node = root.data.get("part") if isinstance(root.data, dict) else None
    return node.text if node is not None else ""


def _name_twice(name: str, files: list[str]) -> Fault:
    wrong = f"the name {name!r} is also that of {files[0]}"
    return Fault(files[1], None, None, "part", wrong, "give each part of a run its own name")
