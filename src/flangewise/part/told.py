"""Checked values to faults: where in the part file, what is wrong there, and what would be right."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from flangewise.faults import Fault, name_fits
from flangewise.reading import LONGEST_SHOWN, Node

Steps = tuple[str | int, ...]
# More faults than this in one file help nobody: the first ones show what is the matter.
MOST_FAULTS = 200

_ITEM_OF = {"legs": "leg", "bends": "bend", "holes": "hole", "notes": "note", "order": "order"}


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


class Teller:
    """Collects the faults of one part file, each at its place in the text."""

    def __init__(self, root: Node, file: str) -> None:
        self._root = root
        self._file = file
        self._faults: list[Fault] = []
        self._untold = 0

    def value(self, steps: Steps, wrong: str, fits: str) -> None:
        """A fault of the value at a path, or of what holds it where the value is not there."""
        node = self._root.at(steps)
        self._faults.append(Fault(self._file, node.line, node.column, where(steps), wrong, fits))

    def key(self, steps: Steps, wrong: str, fits: str) -> None:
        """A fault of the key itself."""
        line, column = self._root.place_of_key(steps)
        self._faults.append(Fault(self._file, line, column, where(steps), wrong, fits))

    def checked(self, errors: Sequence[Mapping[str, Any]], model_at: Callable[[Steps], type[BaseModel]]) -> None:
        """The faults a model found; `model_at` gives the model of a mapping, for the keys it knows."""
        self._untold += max(len(errors) - MOST_FAULTS, 0)
        for error in errors[:MOST_FAULTS]:
            steps: Steps = tuple(error["loc"])
            kind = error["type"]
            if kind == "extra_forbidden":
                known = list(model_at(steps[:-1]).model_fields)
                self.key(steps, "is no key of this place", name_fits(str(steps[-1])[:LONGEST_SHOWN], known))
            elif kind == "wrong":
                context = error["ctx"]
                self.value((*steps, context["key"]) if context["key"] else steps, context["wrong"], context["fits"])
            else:
                self.value(steps, *_form(kind, error))

    def found(self) -> tuple[Fault, ...]:
        """All faults, in the order of the text, none twice."""
        ordered = sorted(dict.fromkeys(self._faults), key=lambda fault: (fault.line or 0, fault.column or 0))
        if len(ordered) <= MOST_FAULTS:
            return tuple(ordered)
        more = Fault(
            self._file, None, None, "file", f"has {len(ordered) - MOST_FAULTS} faults more", "mend these first"
        )
        return (*ordered[:MOST_FAULTS], more)


_FORM = {
    "missing": ("is missing", "every part needs it"),
    "model_type": ("is no mapping of keys and values", "write keys with their values below it"),
    "dict_type": ("is no mapping of keys and values", "write keys with their values below it"),
    "list_type": ("is no list", "write a list, such as [25, 60, 25]"),
    "tuple_type": ("is no list", "write a list, such as [25, 60, 25]"),
}


def _form(kind: str, error: Mapping[str, Any]) -> tuple[str, str]:
    context = error.get("ctx", {})
    if kind == "too_short":
        return f"has {_entries(context['actual_length'])}", f"it takes at least {context['min_length']}"
    if kind == "too_long":
        return f"has more than {_entries(context['max_length'])}", f"it takes at most {context['max_length']}"
    return _FORM.get(kind, (str(error["msg"]).lower(), "see the JSON Schema of a part"))


def _entries(count: int) -> str:
    return "no entry" if count == 0 else "1 entry" if count == 1 else f"{count} entries"
