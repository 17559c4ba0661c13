"""Part files to parts: files, folders and standard input, every fault told first, in the user's words."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from flangewise.faults import LONGEST_SHOWN, Fault, FaultCollector, Node, Said, Steps, Unusable
from flangewise.part.agreement import check_counts, check_name, check_shop_names
from flangewise.part.fit import check_sizes
from flangewise.part.model import TEXT_KEYS, Part, PartFile
from flangewise.part.schema import SHAPES, checker, keys_at
from flangewise.part.values import without_empty
from flangewise.part.variants import has_sizes, leaf_name, one_alone, variants_of
from flangewise.reading import LARGEST_BYTES, decoded, read_text, read_yaml
from flangewise.records import altered, dataclass, fields, replace
from flangewise.shop import ANY, Shop
from flangewise.units import Gauge, read_length

if TYPE_CHECKING:
    from flangewise.part.panel_part import PanelPart

_ITEM_OF = {"legs": "leg", "bends": "bend", "holes": "hole", "notes": "note", "order": "order", "variants": "variant"}
_MAPPING = ("is no mapping of keys and values", "write keys with their values below it")
_LIST = ("is no list", "write a list, such as [25, 60, 25]")
_SAID: Said = {
    "": ("{message}", "see the JSON Schema of a part"),
    "extra_forbidden": ("is no key of this place", ""),
    "missing": ("is missing", "every part needs it"),
    "model_type": _MAPPING,
    "dataclass_type": _MAPPING,
    "list_type": _LIST,
    "too_short": ("has {entries}", "it takes at least {min_length}"),
    "too_long": ("has more than {max_length} entries", "it takes at most {max_length}"),
}
STANDARD_INPUT = "-"
SHOP_FILE = "shop.yaml"
PART_ENDINGS = (".yaml", ".yml")


def where(steps: Steps) -> str:
    """A path in the user's words: section, bends, 0, turn is `bend 1: turn`."""
    told: list[str] = []
    for step in steps:
        if isinstance(step, int):
            list_name = told.pop() if told else ""
            told.append(f"{_ITEM_OF.get(list_name, list_name)} {step + 1}")
        else:
            told.append(step[:LONGEST_SHOWN])
    if len(told) > 1 and told[0] in SHAPES:
        told = told[1:]
    if len(told) > 1 and told[0] == "flanges":
        told = told[1:]
    return ": ".join(told) or "part"


def collector_of(root: Node, file: str) -> FaultCollector:
    """Collects the faults of one part file."""
    return FaultCollector(root, file, _SAID, where)


def read_part(text: str, file: str, shop: Shop) -> Part:
    """A part with a section from the text of its file, which faults name `file`.

    Raises Unusable with every fault of it, or because it is a panel.
    """
    root = read_yaml(text, file)
    roots = variants_of(root, collector_of(root, file), file)
    if len(roots) != 1:
        raise Unusable([Fault(file, None, None, "variants", f"are {len(roots)} parts", "give one")])
    part = part_of(roots[0], file, shop)
    if not isinstance(part, Part):
        raise Unusable([not_ordered(part)])
    return part


def not_ordered(part: PanelPart) -> Fault:
    """What is told of a panel where a section is needed."""
    wrong = f"{part.name} has flanges on more than two sides: its blank, plan and sheet are worked out, this not yet"
    return Fault(part.file, None, None, "panel", wrong, "use `plan`, `sheet`, `flat` or `check`")


def part_of(root: Node, file: str, shop: Shop) -> Part | PanelPart:
    """A part from the nodes of its file. Raises Unusable with every fault of the file."""
    collector = collector_of(root, file)
    if not isinstance(root.data, dict):
        collector.value((), "is no mapping of keys and values", "write `part: name` and the other keys below it")
        raise Unusable(collector.found())
    given = root.plain(TEXT_KEYS) | _lists_of_texts(root.data)
    # What only panels need is loaded for one.
    if given.get("panel") is not None:
        from flangewise.part.read_panel import read_panel

        return read_panel(given, file, shop, collector)
    if given.get("blank") is not None:
        from flangewise.part.read_blank import read_blank

        return read_blank(given, file, shop, collector)
    raw = without_empty(given)
    written = _written(raw, shop, collector)
    check_shop_names(raw, shop, collector)
    _check_tool_names(raw, shop, collector)
    check_counts(raw, collector)
    if written is None or collector.found():
        raise Unusable(collector.found())
    check_sizes(written.section, written.thickness_mm, units=written.units, collector=collector)
    if collector.found():
        raise Unusable(collector.found())
    return _part(written, file, _gauge(raw["thickness"]))


def _lists_of_texts(data: dict[str, Node]) -> dict[str, Any]:
    """Lists of notes or machines, whose items too are texts as they are written."""
    lists = {key: node.data for key, node in data.items() if key in TEXT_KEYS and isinstance(node.data, list)}
    return {key: [item.plain(as_text=True) for item in items] for key, items in lists.items()}


def _written(raw: Mapping[str, Any], shop: Shop, collector: FaultCollector) -> PartFile | None:
    units = "inch" if raw.get("units") == "inch" else "mm"
    try:
        return checker().validate_python(raw, context={"units": units, "shop": shop})
    except ValidationError as error:
        collector.checked(error.errors(include_url=False), keys_at)
        return None


def _check_tool_names(raw: Mapping[str, Any], shop: Shop, collector: FaultCollector) -> None:
    section = raw.get("section")
    bends = section.get("bends") if isinstance(section, dict) else None
    for index, bend in enumerate(bends if isinstance(bends, list) else ()):
        if isinstance(bend, dict):
            steps = ("section", "bends", index)
            check_name(bend.get("punch"), shop.punches, steps=(*steps, "punch"), table="punches", collector=collector)
            check_name(bend.get("die"), shop.dies, steps=(*steps, "die"), table="dies", collector=collector)


def _gauge(thickness: Any) -> int | None:
    """The gauge number that the thickness was given as, if it was."""
    told = read_length(thickness, "mm")
    return told.number if isinstance(told, Gauge) else None


def _part(written: PartFile, file: str, gauge: int | None) -> Part:
    """The part of a file; one machine named stands alone, one tolerance of legs is that of every leg."""
    given = {field.name: getattr(written, field.name) for field in fields(written)}
    if len(written.machines) == 1 and written.machines != (ANY,):
        given |= {"machine": written.machines[0], "machines": ()}
    legs_mm = written.tolerances.legs_mm
    if legs_mm is not None and len(legs_mm) == 1:
        given["tolerances"] = replace(written.tolerances, legs_mm=legs_mm * len(written.section.legs_mm))
    return Part(**given, file=file, gauge=gauge)


@dataclass(frozen=True)
class FoundPart:
    """One file of a run: the part in it, or the faults for which it cannot be used.

    A panel stands in `panel`, with what is told of it where only a section would do among the faults. `leaf`: the name
    of the one leaf on which the sizes of its file are to stand, empty where there is none.
    """

    file: str
    part: Part | None
    faults: tuple[Fault, ...] = ()
    panel: PanelPart | None = None
    leaf: str = ""

    @property
    def name(self) -> str:
        """The part's, "" where it cannot be used."""
        part = self.part or self.panel
        return "" if part is None else part.name


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
            fits = "give a folder with *.yaml or *.yml part files; one with a shop.yaml is a shop and is skipped"
            faults.append(Fault(path, None, None, "folder", "holds no part", fits))
        files.extend(found)
    return tuple(files), tuple(faults)


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

    Raises Unusable before anything is done where a path holds no part or two parts, sound or not, have one name.
    """
    files, path_faults = find_files(paths)
    found = [FoundPart(fault.file, None, (fault,)) for fault in path_faults]
    names: dict[str, list[str]] = {}
    for file in files:
        try:
            root = _root(file)
        except Unusable as unusable:
            found.append(FoundPart(file, None, unusable.faults))
            continue
        try:
            leaf = leaf_name(root)
            roots = variants_of(root, collector_of(root, file), file)
        except Unusable as unusable:
            # Without sizes all it says is one part's, told at once; with sizes its values may wait for them.
            own = () if has_sizes(root) else _found(one_alone(root), file, shop, {}, of_family=False).faults
            found.append(FoundPart(file, None, (*unusable.faults, *own)))
            continue
        told: dict[Fault, None] = {}
        if leaf:
            names.setdefault(leaf, []).append(file)
        for root in roots:
            node = root.data.get("part") if isinstance(root.data, dict) else None
            if node is not None and node.text:
                names.setdefault(node.text, []).append(file)
            found.append(replace(_found(root, file, shop, told, of_family=len(roots) > 1), leaf=leaf))
    wrong, fits = "the name {!r} is also that of {}", "give each part of a run its own name"
    twice = [
        Fault(same[1], None, None, "part", wrong.format(name, same[0]), fits)
        for name, same in names.items()
        if len(same) > 1
    ]
    if twice:
        raise Unusable([*twice, *(fault for each in found for fault in each.faults)])
    return tuple(found)


def _found(root: Node, file: str, shop: Shop, told: dict[Fault, None], *, of_family: bool) -> FoundPart:
    """The part of one root of a file; what was `told` of the others of its family is not told again."""
    try:
        part = altered(part_of(root, file, shop), of_family=of_family)
    except Unusable as unusable:
        faults = tuple(fault for fault in unusable.faults if fault not in told)
        told.update(dict.fromkeys(faults))
        return FoundPart(file, None, faults)
    if not isinstance(part, Part):
        return FoundPart(file, None, (not_ordered(part),), part)
    return FoundPart(file, part)


def _root(file: str) -> Node:
    return read_yaml(decoded(_standard_input(), file) if file == STANDARD_INPUT else read_text(Path(file)), file)


def _standard_input() -> bytes:
    wrong = "is closed"
    if sys.stdin is not None:
        try:
            return sys.stdin.buffer.read(LARGEST_BYTES + 1)
        except OSError as error:
            wrong = f"cannot be read ({error.strerror})"
    raise Unusable([Fault(STANDARD_INPUT, None, None, "standard input", wrong, "give a part in YAML there")])
