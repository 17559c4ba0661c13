"""Records: `dataclasses.dataclass` that is quick to load, and frozen ones with some values changed.

The library writes and compiles up to six methods of every class when its module is loaded, which took longer than all
else of a short command. Here a method is compiled when it is first called, or is no code of the class's own. What a
record is, does, compares and hashes to stays the same.
"""

import dataclasses
from collections.abc import Callable
from dataclasses import field as field, fields as fields, replace as replace
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

RecordT = TypeVar("RecordT")
Method = Callable[..., Any]


def _made(kind: type | None = None, /, **asked: bool) -> Any:
    """The decorator: `frozen`, `eq`, `kw_only` as the library's, which makes at once whatever else is asked for."""
    if kind is None:
        return lambda kind: _made(kind, **asked)
    if not asked.keys() <= {"frozen", "eq", "kw_only"}:
        return dataclasses.dataclass(**asked)(kind)
    own, frozen = set(vars(kind)), asked.get("frozen", False)
    kind.__doc__ = kind.__doc__ or kind.__name__  # without one the library reads its `__init__` for it
    dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=asked.get("kw_only", False))(kind)
    methods: dict[str, Method | None] = {"__init__": _later(kind, "__init__", _set_init if frozen else _init)}
    methods["__repr__"] = _shown
    if frozen:
        methods |= {"__setattr__": _not_set, "__delattr__": _not_deleted}
    if asked.get("eq", True):
        methods["__eq__"] = _later(kind, "__eq__", _equal)
        methods["__hash__"] = _later(kind, "__hash__", _hash) if frozen else None
    for name, method in methods.items():
        if name not in own:
            setattr(kind, name, method)
    return kind


if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:
    dataclass = _made


def _later(kind: type, name: str, written: Callable[[Any, dict[str, Any]], str]) -> Method:
    """A method that is written and compiled when it is first called, and puts what it then is in its own place."""

    def first(*given: Any, **named: Any) -> Any:
        scope: dict[str, Any] = {}
        exec(written(kind, scope), scope)
        method = scope[name]
        method.__qualname__ = f"{kind.__qualname__}.{name}"
        setattr(kind, name, method)
        return method(*given, **named)

    return first


def _init(kind: Any, scope: dict[str, Any], setting: str = "self.{0} = {1}") -> str:
    """`__init__` as the library writes it; no field of the house is an `InitVar`."""
    scope["_missing"] = dataclasses.MISSING
    heads: tuple[list[str], list[str]] = (["self"], ["*"])
    body = []
    for each in dataclasses.fields(kind):
        if not each.init:
            continue  # its default stands in the class
        name = head = value = each.name
        if each.default is not dataclasses.MISSING:
            scope[f"_default_{name}"] = each.default
            head = f"{name}=_default_{name}"
        elif each.default_factory is not dataclasses.MISSING:
            scope[f"_make_{name}"] = each.default_factory
            head, value = f"{name}=_missing", f"_make_{name}() if {name} is _missing else {name}"
        heads[each.kw_only is True].append(head)
        body.append(setting.format(name, value))
    if hasattr(kind, "__post_init__"):
        body.append("self.__post_init__()")
    arguments = ", ".join([*heads[0], *(heads[1] if len(heads[1]) > 1 else [])])
    return "\n ".join([f"def __init__({arguments}):", *body, "return"])


def _set_init(kind: Any, scope: dict[str, Any]) -> str:
    scope["_set"] = object.__setattr__
    return _init(kind, scope, "_set(self, '{0}', {1})")


def _equal(kind: Any, _: dict[str, Any]) -> str:
    alike = f"{_values(kind, 'self')} == {_values(kind, 'other')}"
    return f"def __eq__(self, other):\n return {alike} if other.__class__ is self.__class__ else NotImplemented"


def _hash(kind: Any, _: dict[str, Any]) -> str:
    return f"def __hash__(self):\n return hash({_values(kind, 'self')})"


def _values(kind: Any, record: str) -> str:
    """A record's values as a tuple, those it is compared by."""
    compared = [each.name for each in dataclasses.fields(kind) if each.compare]
    return "".join(["(", *(f"{record}.{name}, " for name in compared), ")"])


def _shown(self: Any) -> str:
    shown = (f"{each.name}={getattr(self, each.name)!r}" for each in dataclasses.fields(self) if each.repr)
    return f"{self.__class__.__qualname__}({', '.join(shown)})"


def _not_set(self: object, name: str, value: object) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _not_deleted(self: object, name: str) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def altered(record: RecordT, **changes: Any) -> RecordT:
    """A frozen dataclass with other values in some fields; what it keeps beside its fields is worked out anew.

    For records that check nothing when they are made: the fields are taken as they are. TypeError for what is no field.
    """
    kind = type(record)
    names = kind.__dataclass_fields__  # type: ignore[attr-defined]
    new = object.__new__(kind)
    values = vars(new)
    values.update(vars(record), **changes)
    # As many as there are fields: it kept nothing beside them, and no name is one of no field.
    if len(values) != len(names):
        if not changes.keys() <= names.keys():
            raise TypeError(f"{kind.__name__} has no {', '.join(changes.keys() - names.keys())}")
        for name in [name for name in values if name not in names]:
            del values[name]
    return new
