"""An input that cannot be used: a value with its place, what is wrong with it, and what would be right."""

import difflib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Any, TypeAlias, Union

from flangewise.records import dataclass

# A path of keys and list indices.
Steps = tuple[str | int, ...]
Data: TypeAlias = Union[str, int, float, bool, list["Node"], dict[str, "Node"], None]  # noqa: UP007 - refers to itself
# What a checker's code means in the user's words: what is wrong, what would be right; "" stands for every other code.
Said = Mapping[str, tuple[str, str]]
# More faults than this in one file help nobody: the first ones show what is the matter.
MOST_FAULTS = 200
# A key, name or value is quoted in a fault up to this many characters.
LONGEST_SHOWN = 60
UNKNOWN_KEY = ("extra_forbidden", "unexpected_keyword_argument")


@dataclass(frozen=True)
class Fault:
    """One thing in an input that cannot be used: where (in the user's words), what is wrong, what would be right."""

    file: str
    line: int | None
    column: int | None
    where: str
    wrong: str
    fits: str

    @property
    def text(self) -> str:
        """The fault as its one line: FILE:LINE:COLUMN: where: what is wrong, and what would be right."""
        place = ":".join(str(piece) for piece in (self.file, self.line, self.column) if piece is not None)
        return printable(": ".join(filter(None, (place, self.where, f"{self.wrong}, {self.fits}"))))


class Unusable(Exception):  # noqa: N818 - named for what the user is told, not for Python
    """Raised by a loader with all the faults of one input; it survives the way back from a worker process."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(fault.text for fault in self.faults)


def nearest(name: str, names: Iterable[str]) -> str | None:
    """The name among `names` most like `name`, or None where nothing comes near; upper and lower case count alike."""
    by_lower = {known.lower(): known for known in names}
    found = difflib.get_close_matches(name.lower(), by_lower, n=3, cutoff=0.5)
    best = max(
        (each for each in by_lower if each in found), key=lambda each: _likeness(name.lower(), each), default=None
    )
    return by_lower[best] if best is not None else None


def _likeness(name: str, known: str) -> tuple[float, float]:
    """How like two names are; of two as like, that of the same letters in another order, then the first."""
    in_order = difflib.SequenceMatcher(None, known, name).ratio()
    return in_order, difflib.SequenceMatcher(None, sorted(known), sorted(name)).ratio()


def name_fits(name: str, names: Iterable[str]) -> str:
    """What would be right instead of an unknown name: the nearest one, or the first few that exist."""
    known = tuple(names)
    near = nearest(name, known)
    if near is not None:
        return f"did you mean {near!r}?"
    return "known are " + ", ".join(known[:8]) + (" ..." if len(known) > 8 else "") if known else "none are known"


def printable(text: str) -> str:
    """The text with line breaks and control characters written out, so that one fault stays one line."""
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in text)


@dataclass(frozen=True)
class Node:
    """A value of a YAML text with its place: `line` and `column` count from 1.

    `data` is a plain value, a list of nodes, or a mapping of keys to nodes; `text` is a scalar as it was written, and
    `keys` gives the place of each key of a mapping. `file` names another file where the value comes from there.
    """

    data: Data
    line: int
    column: int
    text: str = ""
    keys: tuple[tuple[str, int, int], ...] = ()
    file: str = ""

    def plain(self, texts: Collection[str] = (), *, as_text: bool = False) -> Any:
        """The value without places: dicts, lists, scalars; those under a key of `texts`, or `as_text`, as written."""
        if isinstance(self.data, dict):
            return {key: node.plain(texts, as_text=key in texts) for key, node in self.data.items()}
        if isinstance(self.data, list):
            return [node.plain(texts) for node in self.data]
        return self.text if as_text and self.data is not None else self.data

    def at(self, path: Steps) -> "Node":
        """The node at a path of keys and list indices, or the nearest one above it that exists."""
        node = self
        for step in path:
            below = node._below(step)
            if below is None:
                return node
            node = below
        return node

    def place_of_key(self, path: Steps) -> tuple[int, int]:
        """Line and column of the key that ends the path; of the node itself where the path ends in no key."""
        above = self.at(path[:-1]) if path else self
        for key, line, column in above.keys:
            if path and key == path[-1]:
                return line, column
        node = self.at(path)
        return node.line, node.column

    def _below(self, step: str | int) -> "Node | None":
        if isinstance(self.data, dict):
            return self.data.get(str(step))
        if isinstance(self.data, list) and isinstance(step, int) and 0 <= step < len(self.data):
            return self.data[step]
        return None


class FaultCollector:
    """Collects the faults of one text, each at its place; what a checker found is put in the user's words."""

    def __init__(self, root: Node, file: str, said: Said, where: Callable[[Steps], str]) -> None:
        self._root = root
        self._file = file
        self._said = said
        self._where = where
        self._faults: list[Fault] = []

    def value(self, steps: Steps, wrong: str, fits: str) -> None:
        """A fault of the value at a path, or of what holds it where the value is not there."""
        self.node(self._root.at(steps), self._where(steps), wrong, fits)

    def node(self, spot: Node, where: str, wrong: str, fits: str) -> None:
        """A fault of a value at hand."""
        self._faults.append(Fault(spot.file or self._file, spot.line, spot.column, where, wrong, fits))

    def key(self, steps: Steps, wrong: str, fits: str) -> None:
        """A fault of the key itself."""
        line, column = self._root.place_of_key(steps)
        file = self._root.at(steps).file or self._file
        self._faults.append(Fault(file, line, column, self._where(steps), wrong, fits))

    def checked(
        self, errors: Sequence[Mapping[str, Any]], keys_at: Callable[[Steps], Iterable[str]], above: Steps = ()
    ) -> None:
        """The faults that a checker found below `above`; `keys_at` gives the keys known to the mapping at a path."""
        for error in errors[:MOST_FAULTS]:
            kind, context, path = error["type"], error.get("ctx", {}), tuple(error["loc"])
            steps = (*above, *self._places(path, kind, above))
            if kind in UNKNOWN_KEY:
                fits = name_fits(str(path[-1])[:LONGEST_SHOWN], keys_at(steps[len(above) : -1]))
                self.key(steps, self._said[UNKNOWN_KEY[0]][0], fits)
            elif kind == "wrong":
                self.value((*steps, context["key"]) if context["key"] else steps, context["wrong"], context["fits"])
            else:
                wrong, fits = self._said.get(kind, self._said[""])
                entries = counted(context.get("actual_length") or 0)
                given = {"message": str(error["msg"]).lower(), "input": quoted(error.get("input")), "entries": entries}
                self.value(steps, wrong.format(**given, **context), fits.format(**given, **context))

    def _places(self, path: Steps, kind: str, above: Steps) -> Steps:
        """A checker's path without its own steps, such as the branch of a union, which are no places in the text."""
        steps = above
        for place, step in enumerate(path, start=1):
            there = self._root.at((*steps, step)) is not self._root.at(steps)
            ends = place == len(path) and (isinstance(step, int) or kind in (*UNKNOWN_KEY, "missing"))
            steps = (*steps, step) if there or ends else steps
        return steps[len(above) :]

    def found(self) -> tuple[Fault, ...]:
        """All faults, in the order of the text, none twice; beyond the first many only how many more there are."""
        ordered = sorted(dict.fromkeys(self._faults), key=lambda fault: (fault.line or 0, fault.column or 0))
        more = len(ordered) - MOST_FAULTS
        if more <= 0:
            return tuple(ordered)
        return (
            *ordered[:MOST_FAULTS],
            Fault(self._file, None, None, "file", f"has {more} faults more", "mend these first"),
        )


def quoted(value: object) -> str:
    """A value as it is quoted in a fault, short."""
    text = "nothing" if value is None else repr(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def counted(entries: int) -> str:
    """How many entries a list has, in words."""
    return "no entry" if entries == 0 else "1 entry" if entries == 1 else f"{entries} entries"
