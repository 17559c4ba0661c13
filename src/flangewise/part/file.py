"""Part files to parts: one text, or all the files of a run with every fault told first, in the user's words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from pydantic import ValidationError

from flangewise.faults import LONGEST_SHOWN, Said, Steps, Teller, Unusable
from flangewise.part.agreement import check_counts, check_machines, check_name
from flangewise.part.fit import check_sizes
from flangewise.part.model import LATER_KEYS, TEXT_KEYS, Part, PartFile, checker, keys_at
from flangewise.reading import Node, read_yaml
from flangewise.shop import ANY, Shop

_ITEM_OF = {"legs": "leg", "bends": "bend", "holes": "hole", "notes": "note", "order": "order"}
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


def where(steps: Steps) -> str:
    """A path in the user's words: section, bends, 0, turn is `bend 1: turn`."""
    told: list[str] = []
    for step in steps:
        if isinstance(step, int):
            list_name = told.pop() if told else ""
            told.append(f"{_ITEM_OF.get(list_name, list_name)} {step + 1}")
        else:
            told.append(step[:LONGEST_SHOWN])
    if len(told) > 1 and told[0] == "section":
        told = told[1:]
    return ": ".join(told) or "part"


def teller_of(root: Node, file: str) -> Teller:
    """Collects the faults of one part file."""
    return Teller(root, file, _SAID, where)


def read_part(text: str, file: str, shop: Shop) -> Part:
    """A part from the text of its file; `file` is how faults name it.

    Raises Unusable with every fault of the file, each with line and column.
    """
    return part_of(read_yaml(text, file), file, shop)


def part_of(root: Node, file: str, shop: Shop) -> Part:
    """A part from the nodes of its file. Raises Unusable with every fault of the file."""
    teller = teller_of(root, file)
    if not isinstance(root.data, dict):
        teller.value((), "is no mapping of keys and values", "write `part: name` and the other keys below it")
        raise Unusable(teller.found())
    raw = _without_empty(_raw(root))
    written = _written(raw, shop, teller)
    _check_names(raw, shop, teller)
    check_counts(raw, teller)
    if written is None or teller.found():
        raise Unusable(teller.found())
    check_sizes(written.section, written.thickness_mm, units=written.units, teller=teller)
    if teller.found():
        raise Unusable(teller.found())
    return _part(written, file)


def _raw(root: Node) -> dict[str, Any]:
    """The file as plain data; texts as they are written, items of a list of notes or machines too."""
    raw: dict[str, Any] = root.plain(TEXT_KEYS)
    for key in TEXT_KEYS:
        node = root.data.get(key) if isinstance(root.data, dict) else None
        if node is not None and isinstance(node.data, list):
            raw[key] = [
                item.text if item.data is not None and not isinstance(item.data, (dict, list)) else item.plain()
                for item in node.data
            ]
    return raw


def _without_empty(value: Any) -> Any:
    """The data without keys that hold nothing: an empty `title:` is a title not given."""
    if isinstance(value, dict):
        return {key: _without_empty(each) for key, each in value.items() if each is not None}
    if isinstance(value, list):
        return [_without_empty(each) for each in value]
    return value


def _written(raw: Mapping[str, Any], shop: Shop, teller: Teller) -> PartFile | None:
    later = [key for key in LATER_KEYS if key in raw]
    for key in later:
        teller.key((key,), "comes in a later version", "give the part as a section")
    known = {key: value for key, value in raw.items() if key not in later}
    units = "inch" if raw.get("units") == "inch" else "mm"
    try:
        return checker().validate_python(known, context={"units": units, "shop": shop})
    except ValidationError as error:
        errors = error.errors(include_url=False)
        instead = any(key in raw for key in ("panel", "blank"))
        teller.checked(
            [each for each in errors if not (instead and each["loc"] == ("section",) and each["type"] == "missing")],
            keys_at,
        )
        return None


def _check_names(raw: Mapping[str, Any], shop: Shop, teller: Teller) -> None:
    check_name(raw.get("material"), shop.materials, steps=("material",), table="materials", teller=teller)
    check_machines(raw.get("machine"), shop.machines, teller)
    check_name(raw.get("handler"), shop.handlers, steps=("handler",), table="handlers", teller=teller)
    section = raw.get("section")
    bends = section.get("bends") if isinstance(section, dict) else None
    for index, bend in enumerate(bends if isinstance(bends, list) else ()):
        if isinstance(bend, dict):
            steps = ("section", "bends", index)
            check_name(bend.get("punch"), shop.punches, steps=(*steps, "punch"), table="punches", teller=teller)
            check_name(bend.get("die"), shop.dies, steps=(*steps, "die"), table="dies", teller=teller)


def _part(written: PartFile, file: str) -> Part:
    """The part of a file; one machine named stands alone, one tolerance of legs is that of every leg."""
    given = {field.name: getattr(written, field.name) for field in fields(written)}
    if len(written.machines) == 1 and written.machines != (ANY,):
        given |= {"machine": written.machines[0], "machines": ()}
    legs_mm = written.tolerances.legs_mm
    if legs_mm is not None and len(legs_mm) == 1:
        given["tolerances"] = replace(written.tolerances, legs_mm=legs_mm * len(written.section.legs_mm))
    return Part(**given, file=file)
