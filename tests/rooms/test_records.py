"""Records are what the library's are; one with other values in some fields, made without its `__init__`."""

from __future__ import annotations

import dataclasses
import inspect
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, replace
from functools import cached_property, partial
from typing import Any, ClassVar

import pytest

from flangewise.records import altered, dataclass


@dataclass(frozen=True)
class Strip:
    """A record that keeps what it worked out."""

    length_mm: float
    name: str = "strip"

    @cached_property
    def half_mm(self) -> float:
        return self.length_mm / 2


def test_it_is_what_replace_gives() -> None:
    strip = Strip(10.0)
    assert altered(strip, length_mm=12.0) == replace(strip, length_mm=12.0) == Strip(12.0)
    assert strip == Strip(10.0)


def test_what_was_worked_out_of_the_first_is_worked_out_anew() -> None:
    strip = Strip(10.0)
    assert strip.half_mm == 5.0
    assert altered(strip, length_mm=12.0).half_mm == 6.0


def test_what_is_no_field_is_told() -> None:
    with pytest.raises(TypeError, match="Strip has no width_mm"):
        altered(Strip(10.0), width_mm=1.0)


def _bare() -> type:
    class Record:
        LARGEST: ClassVar[int] = 9
        name: str
        size_mm: float = 1.0
        marks: list[int] = field(default_factory=list)
        kind: str = field(default="plain", kw_only=True)
        seen: int = field(default=0, repr=False, compare=False)
        sound: bool = field(default=True, init=False)

    return Record


def _checked() -> type:
    class Record:
        name: str
        size_mm: float = 1.0

        def __post_init__(self) -> None:
            if self.size_mm < 0:
                raise ValueError(self.name)

    return Record


def _alone() -> type:
    class Record:
        name: str

    return Record


ASKED: dict[str, dict[str, bool]] = {
    "bare": {},
    "frozen": {"frozen": True},
    "frozen, not compared": {"frozen": True, "eq": False},
    "frozen, by name": {"frozen": True, "kw_only": True},
    "ordered": {"frozen": True, "order": True},
}


def _both(body: Callable[[], type], asked: dict[str, bool]) -> tuple[Any, Any]:
    """A class of that body, made a record by the house and by the library."""
    return dataclass(**asked)(body()), dataclasses.dataclass(**asked)(body())


@pytest.mark.parametrize("asked", ASKED.values(), ids=ASKED)
def test_a_record_is_what_the_library_makes_of_it(asked: dict[str, bool]) -> None:
    ours, theirs = _both(_bare, asked)
    for values in ({"name": "a"}, {"name": "a", "size_mm": 2.0, "marks": [1], "kind": "odd", "seen": 4}):
        assert repr(ours(**values)).rpartition(".")[2] == repr(theirs(**values)).rpartition(".")[2]
        assert vars(ours(**values)) == vars(theirs(**values))
    assert ours(name="a").marks is not ours(name="a").marks
    assert list(inspect.signature(ours).parameters) == list(inspect.signature(theirs).parameters)
    assert [each.name for each in fields(ours)] == [each.name for each in fields(theirs)]
    assert ours.__match_args__ == theirs.__match_args__
    assert ours(name="a") != ours(name="b") and ours(name="a") != theirs(name="a")
    assert (ours(name="a", seen=1) == ours(name="a", seen=2)) is (theirs(name="a", seen=1) == theirs(name="a", seen=2))


@pytest.mark.parametrize("body", [_bare, _checked, _alone])
@pytest.mark.parametrize("asked", [each for each in ASKED.values() if each.get("eq", True)])
def test_a_record_hashes_to_what_the_library_makes_of_it(body: Callable[[], type], asked: dict[str, bool]) -> None:
    def hashed(kind: Any) -> object:
        record = kind(name="a")
        vars(record).update(marks=(1, 2))
        return _told(lambda: hash(record))

    ours, theirs = _both(body, asked)
    assert hashed(ours) == hashed(theirs)


@pytest.mark.parametrize("asked", ASKED.values(), ids=ASKED)
def test_a_record_refuses_what_the_library_refuses(asked: dict[str, bool]) -> None:
    ours, theirs = _both(_checked, asked)
    tries: list[Callable[[Any], object]] = [
        lambda kind: kind(),
        lambda kind: kind("a", 1.0, "odd"),
        lambda kind: kind(name="a", colour="red"),
        lambda kind: kind(name="a", size_mm=-1.0),
        lambda kind: setattr(kind(name="a"), "name", "b"),
        lambda kind: delattr(kind(name="a"), "name"),
    ]
    assert tries
    for each in tries:
        assert _told(partial(each, ours)) == _told(partial(each, theirs))


def _told(run: Callable[[], object]) -> object:
    try:
        return run()
    except Exception as error:
        return type(error), str(error)


def test_what_a_class_defines_itself_stays() -> None:
    @dataclass(frozen=True)
    class Named:
        name: str
        size_mm: float = 0.0

        def __hash__(self) -> int:
            return hash(self.name)

    assert hash(Named("a", 1.0)) == hash("a")
    assert Named("a", 1.0) != Named("a", 2.0)


def test_one_over_another_has_the_fields_of_both() -> None:
    @dataclass(frozen=True)
    class Longer(Strip):
        turns: int = 0

    assert (Longer(1.0, turns=2).half_mm, Longer(1.0, turns=2)) == (0.5, Longer(1.0, "strip", 2))
    with pytest.raises(FrozenInstanceError, match="turns"):
        Longer(1.0).turns = 3  # type: ignore[misc]


def test_a_record_goes_to_another_process_and_comes_back() -> None:
    assert pickle.loads(pickle.dumps(Strip(3.0))) == Strip(3.0)
