"""The words for what a checker finds wrong in a part file, and for where it stands there."""

from __future__ import annotations

from flangewise.faults import LONGEST_SHOWN, Said, Steps, Teller
from flangewise.reading import Node

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
