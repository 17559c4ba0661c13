"""YAML with line and column kept: the one place that reads it.

The reader takes plain data only: no tags, no anchors, no aliases, no key twice. Numbers are decimal; `yes`, `on`,
`010`, `1:30` and dates stay the text they are, so that a part number keeps its zeros and a bend its meaning.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from flangewise.faults import LONGEST_SHOWN, MOST_FAULTS, Fault, Node, Unusable

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


# A part file is some twenty lines and the largest shop table some thousand; beyond this it is another kind of file.
LARGEST_BYTES = 1_000_000
# Deeper than any table of ours by far; keeps a hostile file from exhausting the stack.
DEEPEST = 20
# Values in one file: a shop table has some thousands. More would only cost time before it is refused.
MOST_VALUES = 50_000

# So many texts are remembered with what they are: a table has the same keys and sizes in every row.
MOST_REMEMBERED = 2048

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)$")
_FLOAT = re.compile(r"[-+]?((0|[1-9][0-9]*)(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?$")
# What YAML 1.1 does not take in a text: control characters but tab and line ends, and halves of a surrogate pair.
_NOT_TAKEN = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# A key at the start of a line, with all lines up to the next.
_ENTRY = re.compile(r"^([^\s#:]+):.*\n(?:[ #].*\n|\n)*", re.MULTILINE)
_ODD_FLOAT = re.compile(r"([-+]?\.|-?)inf$|\.?nan$", re.IGNORECASE)


def read_file(path: Path) -> Node:
    """The YAML file as nodes. Raises Unusable with a fault for a file that cannot be read or is no plain YAML."""
    return read_yaml(read_text(path), str(path))


def read_text(path: Path) -> str:
    """A text file whole. Raises Unusable where it is missing, a folder, too large or not UTF-8."""
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        reason = "does not exist" if isinstance(error, FileNotFoundError) else f"cannot be read ({error.strerror})"
        raise Unusable([Fault(str(path), None, None, "file", reason, "give a file that can be read")]) from None
    return decoded(raw, str(path))


def decoded(raw: bytes, file: str) -> str:
    """Bytes as text. Raises Unusable where they are too many or not UTF-8 text."""
    if len(raw) > LARGEST_BYTES:
        wrong = f"is larger than {LARGEST_BYTES // 1000} kB"
        raise Unusable([Fault(file, None, None, "file", wrong, "a file of plain YAML text is some kilobytes at most")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        column = error.start - (raw.rfind(b"\n", 0, error.start) + 1) + 1
        raise Unusable([Fault(file, line, column, "file", "is not UTF-8 text", "save it as UTF-8")]) from None
    if "\0" in text:
        raise Unusable([Fault(file, None, None, "file", "is binary", "give a text file in YAML")])
    return text


def read_yaml(text: str, file: str) -> Node:
    """A YAML text as nodes. Raises Unusable with every fault of form: syntax, tags, aliases, keys given twice."""
    builder = _Builder(file)
    try:
        root = builder.document(yaml.parse(text, Loader=_LOADER))
    except (yaml.MarkedYAMLError, yaml.reader.ReaderError) as error:
        raise Unusable([*builder.faults, _syntax_fault(error, text, file)]) from None
    if builder.faults:
        raise Unusable(builder.faults)
    if root is None:
        raise Unusable([Fault(file, None, None, "file", "is empty", "write a mapping of keys and values")])
    return root


def read_plain(path: Path) -> dict[str, Any]:
    """A mapping from a file of our own that is known to be well formed; quick, no places kept."""
    return _plain(path.read_bytes())


def read_entries(path: Path) -> Mapping[str, Any]:
    """The same of a file that keeps each key plain at the start of a line: an entry is read when it is asked for."""
    return _Entries(path.read_text(encoding="utf-8"))


class _Entries(Mapping[str, Any]):
    def __init__(self, text: str) -> None:
        self._text = text
        self._written = {found[1]: found[0] for found in _ENTRY.finditer(text)}
        self._found: dict[str, Any] = {}

    def __getitem__(self, key: str) -> Any:
        if key not in self._found:
            self._found |= _plain(self._written[key])
        return self._found[key]

    def __iter__(self) -> Iterator[str]:
        self._found = _plain(self._text)  # who goes through them wants all
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._written)

    def __contains__(self, key: object) -> bool:
        return key in self._written


def _plain(text: str | bytes) -> dict[str, Any]:
    take = _LOADER(text).get_event
    while type(first := take()) is not yaml.MappingStartEvent:
        pass
    return dict(_value(first, take))


def _value(event: Any, take: Callable[[], Any]) -> Any:
    kind = type(event)
    if kind is yaml.ScalarEvent:
        return scalar(event.value, plain=event.implicit[0])
    if kind is yaml.SequenceStartEvent:
        items = []
        while type(each := take()) is not yaml.SequenceEndEvent:
            items.append(_value(each, take))
        return items
    found = {}
    while type(key := take()) is not yaml.MappingEndEvent:
        name = _value(key, take)
        found[name] = _value(take(), take)
    return found


def _syntax_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    mark, line, column = getattr(error, "problem_mark", None), None, None
    problem, fits = getattr(error, "problem", None) or "is no YAML", "mend the line or the one before it"
    if isinstance(error, yaml.reader.ReaderError):
        problem, fits = "holds a control character", "delete it, or write it as an escape in quotes"
        # The reader tells no line of a sign it does not take: it is looked for here.
        if at := _NOT_TAKEN.search(text):
            line, column = text.count("\n", 0, at.start()) + 1, at.start() - text.rfind("\n", 0, at.start())
    elif mark is not None:
        line, column = mark.line + 1, mark.column + 1
    return Fault(file, line, column, "YAML", str(problem), fits)


class _Builder:
    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self._values = 0

    def document(self, events: Iterator[Any]) -> Node | None:
        root: Node | None = None
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._fault(event, "file", "holds more than one YAML document", "keep one document a file")
                    break
                root = self._node(next(events), events, 0)
        blank = root is None or (root.data is None and not root.text)
        return None if blank and not self.faults else root

    def _node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        self._check_form(event, depth)
        line, column = event.start_mark.line + 1, event.start_mark.column + 1
        if isinstance(event, yaml.SequenceStartEvent):
            return Node(self._items(events, depth), line, column)
        if isinstance(event, yaml.MappingStartEvent):
            data, keys = self._entries(events, depth)
            return Node(data, line, column, keys=keys)
        if isinstance(event, yaml.AliasEvent):
            return Node(None, line, column)
        return Node(scalar(event.value, plain=event.implicit[0]), line, column, text=event.value)

    def _check_form(self, event: Any, depth: int) -> None:
        self._values += 1
        if self._values > MOST_VALUES:
            self._fault(event, "file", f"holds more than {MOST_VALUES} values", "split it, or give another file")
            raise Unusable(self.faults)
        is_alias = isinstance(event, yaml.AliasEvent)
        anchor = ("alias *", "out; aliases") if is_alias else ("anchor &", "plainly; anchors")
        for key, (told, fits) in {"anchor": anchor, "tag": ("tag ", "plainly; tags")}.items():
            if written := getattr(event, key, None):
                told += str(written)[:LONGEST_SHOWN]
                self._fault(event, "YAML", told, f"write the value {fits} are not read")
        if depth > DEEPEST:
            self._fault(event, "YAML", f"is nested more than {DEEPEST} deep", "flatten it")
            raise Unusable(self.faults)

    def _items(self, events: Iterator[Any], depth: int) -> list[Node]:
        items: list[Node] = []
        while not isinstance(event := next(events), yaml.SequenceEndEvent):
            items.append(self._node(event, events, depth + 1))
        return items

    def _entries(self, events: Iterator[Any], depth: int) -> tuple[dict[str, Node], tuple[tuple[str, int, int], ...]]:
        data: dict[str, Node] = {}
        keys: dict[str, tuple[int, int]] = {}
        while not isinstance(event := next(events), yaml.MappingEndEvent):
            key = self._node(event, events, depth + 1)
            value = self._node(next(events), events, depth + 1)
            if isinstance(key.data, (dict, list)):
                self._fault(event, "YAML", "a list or mapping stands as a key", "a key is one word")
            elif key.text in data:
                told = f"stands twice (first in line {keys[key.text][0]})"
                self._fault(event, key.text[:LONGEST_SHOWN], told, "keep one of them")
            else:
                data[key.text] = value
                keys[key.text] = (key.line, key.column)
        return data, tuple((name, *place) for name, place in keys.items())

    def _fault(self, event: Any, where: str, wrong: str, fits: str) -> None:
        mark = event.start_mark
        self.faults.append(Fault(self.file, mark.line + 1, mark.column + 1, where, wrong, fits))
        if len(self.faults) == MOST_FAULTS:
            raise Unusable([*self.faults, Fault(self.file, None, None, "file", "has more faults", "mend these first")])


def scalar(text: str, *, plain: bool) -> str | int | float | bool | None:
    """A scalar's value: quoted text stays text; plain text may be a decimal number, true, false or null."""
    return _unquoted(text) if plain else text


@lru_cache(maxsize=MOST_REMEMBERED)
def _unquoted(text: str) -> str | int | float | bool | None:
    if text in ("", "~", "null", "Null", "NULL"):
        return None
    lowered = text.lower()
    if lowered in ("true", "false"):
        return lowered == "true"
    if _ODD_FLOAT.match(text):
        return float(text.replace(".", ""))
    if _INTEGER.match(text) and len(text) < 20:
        return int(text)
    return float(text) if _FLOAT.match(text) else text
