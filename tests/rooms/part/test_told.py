"""Faults at their place in the text."""

from __future__ import annotations

import pytest

from flangewise.faults import MOST_FAULTS, FaultCollector, Steps
from flangewise.part.file import collector_of, where
from flangewise.part.schema import keys_at
from flangewise.reading import read_yaml

TEXT = "part: p\nsection:\n  legs: [25, 60]\n  bends:\n    - {turn: 45, raduis: 2}\n"


def collector() -> FaultCollector:
    return collector_of(read_yaml(TEXT, "p.yaml"), "p.yaml")


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ((), "part"),
        (("material",), "material"),
        (("section", "legs", 1), "leg 2"),
        (("section", "bends", 0, "turn"), "bend 1: turn"),
        (("section", "holes", 3, "at", 0), "hole 4: at 1"),
        (("tolerances", "legs", 1), "tolerances: leg 2"),
        (("section",), "section"),
        (("section", "radius"), "radius"),
        (("notes", 0), "note 1"),
        (("k" * 500,), "k" * 60),
    ],
)
def test_places_in_the_user_s_words(steps: Steps, words: str) -> None:
    assert where(steps) == words


def test_a_fault_of_a_value_stands_at_the_value() -> None:
    told = collector()
    told.value(("section", "legs", 1), "is wrong", "do it right")
    assert [fault.text for fault in told.found()] == ["p.yaml:3:14: leg 2: is wrong, do it right"]


def test_a_fault_of_a_key_stands_at_the_key() -> None:
    told = collector()
    told.key(("section", "bends", 0, "raduis"), "is wrong", "do it right")
    assert told.found()[0].text.startswith("p.yaml:5:18: bend 1: raduis")


def test_a_fault_of_what_is_not_there_stands_at_what_should_hold_it() -> None:
    told = collector()
    told.value(("section", "length"), "is missing", "write it")
    assert (told.found()[0].line, told.found()[0].column) == (3, 3)


def test_faults_come_in_the_order_of_the_text_none_twice() -> None:
    told = collector()
    told.value(("section", "legs", 1), "b", "b")
    told.value(("part",), "a", "a")
    told.value(("section", "legs", 1), "b", "b")
    assert [fault.wrong for fault in told.found()] == ["a", "b"]


def test_what_a_model_finds_is_translated() -> None:
    told = collector()
    told.checked(
        [
            {"type": "missing", "loc": ("section", "length"), "msg": ""},
            {"type": "extra_forbidden", "loc": ("section", "bends", 0, "raduis"), "msg": ""},
            {"type": "wrong", "loc": ("part",), "ctx": {"wrong": "w", "fits": "f", "key": None}},
            {"type": "too_short", "loc": ("section", "legs"), "ctx": {"actual_length": 1, "min_length": 2}, "msg": ""},
            {"type": "of_another_kind", "loc": ("part",), "msg": "Odd"},
        ],
        keys_at,
    )
    assert [fault.text.removeprefix("p.yaml:") for fault in told.found()] == [
        "1:7: part: w, f",
        "1:7: part: odd, see the JSON Schema of a part",
        "3:3: length: is missing, every part needs it",
        "3:9: legs: has 1 entry, it takes at least 2",
        "5:18: bend 1: raduis: is no key of this place, did you mean 'radius'?",
    ]


def test_more_faults_than_anybody_reads_are_counted() -> None:
    told = collector()
    for index in range(MOST_FAULTS + 30):
        told.value(("part",), f"fault {index}", "mend")
    assert len(told.found()) == MOST_FAULTS + 1
    assert told.found()[-1].text == "p.yaml: file: has 30 faults more, mend these first"
