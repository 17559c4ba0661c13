"""YAML with its places: what values become, and what is no plain YAML."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, strategies as st

import flangewise
from flangewise.faults import Unusable
from flangewise.reading import (
    DEEPEST,
    LARGEST_BYTES,
    MOST_FAULTS,
    MOST_VALUES,
    decoded,
    read_entries,
    read_file,
    read_plain,
    read_text,
    read_yaml,
    scalar,
)

PACKAGE = Path(flangewise.__file__).parent
KEPT_IN_LINES = [*sorted(PACKAGE.glob("catalogue/*.yaml")), PACKAGE / "commands" / "told.yaml"]

TEXT = """\
# a comment
part: 00123
section:
  legs: [25, 60.5,
    25]
  bends:
    - 90
    - {turn: 45, away: true}
title: "quoted: 7"
"""


def plain(text: str, *, texts: tuple[str, ...] = ()) -> Any:
    return read_yaml(text, "p.yaml").plain(texts)


def faults(text: str) -> list[str]:
    with pytest.raises(Unusable) as unusable:
        read_yaml(text, "p.yaml")
    return [fault.text.removeprefix("p.yaml:") for fault in unusable.value.faults]


def test_values_without_places() -> None:
    assert plain(TEXT) == {
        "part": "00123",
        "section": {"legs": [25, 60.5, 25], "bends": [90, {"turn": 45, "away": True}]},
        "title": "quoted: 7",
    }


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (["part"], (2, 7)),
        (["section", "legs", 2], (5, 5)),
        (["section", "bends", 1, "turn"], (8, 14)),
        (["title"], (9, 8)),
        ([], (2, 1)),
        # What is not there has the place of what should hold it.
        (["section", "radius"], (4, 3)),
        (["section", "legs", 9], (4, 9)),
        (["section", "legs", 0, "x"], (4, 10)),
    ],
)
def test_places_count_from_1(path: list[str | int], place: tuple[int, int]) -> None:
    node = read_yaml(TEXT, "p.yaml").at(path)
    assert (node.line, node.column) == place


def test_a_key_has_a_place_of_its_own() -> None:
    root = read_yaml(TEXT, "p.yaml")
    assert root.place_of_key(["section", "bends", 1, "away"]) == (8, 18)
    assert root.place_of_key(["title"]) == (9, 1)
    assert root.place_of_key(["section", "legs", 1]) == (4, 14)
    assert root.place_of_key([]) == (2, 1)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1", 1),
        ("-1", -1),
        ("+1", 1),
        ("0", 0),
        ("2.50", 2.5),
        (".5", 0.5),
        ("5.", 5.0),
        ("1e3", 1000.0),
        ("1E-3", 0.001),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("", None),
        # These stay text: a part number keeps its zeros, a bend its meaning.
        ("007", "007"),
        ("010", "010"),
        ("0x10", "0x10"),
        ("0o17", "0o17"),
        ("1_000", "1_000"),
        ("1:30", "1:30"),
        ("2031-04-30", "2031-04-30"),
        ("yes", "yes"),
        ("no", "no"),
        ("on", "on"),
        ("1,5", "1,5"),
        ("1/8", "1/8"),
        ("16ga", "16ga"),
        ("1.4301.2", "1.4301.2"),
        ("e5", "e5"),
        ("falsely", "falsely"),
        ("Infinity", "Infinity"),
        ("False", False),
        ("12345678901234567890123", 1.2345678901234568e22),
    ],
)
def test_plain_scalars(text: str, value: Any) -> None:
    assert scalar(text, plain=True) == value
    assert type(scalar(text, plain=True)) is type(value)


@pytest.mark.parametrize("text", [".inf", "inf", "-.inf", "-inf", "+.inf", ".Inf", ".INF"])
def test_infinity_is_a_number_that_no_field_will_take(text: str) -> None:
    value = scalar(text, plain=True)
    assert isinstance(value, float) and value in (float("inf"), float("-inf"))


@pytest.mark.parametrize("text", [".nan", "nan", ".NaN", ".NAN"])
def test_so_is_what_is_no_number(text: str) -> None:
    value = scalar(text, plain=True)
    assert isinstance(value, float) and value != value


@given(st.text())
def test_quoted_scalars_stay_as_they_are(text: str) -> None:
    assert scalar(text, plain=False) == text


@given(st.text(alphabet=st.characters(codec="ascii")))
def test_any_plain_scalar_is_some_value(text: str) -> None:
    assert isinstance(scalar(text, plain=True), (str, int, float, bool, type(None)))


def test_texts_under_named_keys_stay_as_written() -> None:
    text = "job: 2241\nrevision: 1.50\nflag: true\nempty:\nnotes: [1]\n"
    told = plain(text, texts=("job", "revision", "flag", "empty", "notes"))
    assert told == {"job": "2241", "revision": "1.50", "flag": "true", "empty": None, "notes": [1]}


JSONLIKE = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**15), 10**15) | st.text(alphabet="abc xyz-", max_size=6),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(alphabet="abc", min_size=1, max_size=3), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(st.dictionaries(st.text(alphabet="klm", min_size=1, max_size=3), JSONLIKE, min_size=1, max_size=4))
def test_what_another_writer_wrote_is_read_back(data: dict[str, Any]) -> None:
    assert plain(yaml.safe_dump(data, default_flow_style=None)) == data


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", "---\n", "\ufeff"])
def test_an_empty_file(text: str) -> None:
    assert faults(text.lstrip("\ufeff")) == [" file: is empty, write a mapping of keys and values"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a: 1\na: 2\n", ["2:1: a: stands twice (first in line 1), keep one of them"]),
        ("a: {b: 1, b: 2}\n", ["1:11: b: stands twice (first in line 1), keep one of them"]),
        ("a: *x\n", ["1:4: YAML: alias *x, write the value out; aliases are not read"]),
        ("a: &x 1\n", ["1:4: YAML: anchor &x, write the value plainly; anchors are not read"]),
        ("a: !t 1\n", ["1:4: YAML: tag !t, write the value plainly; tags are not read"]),
        ("a: !!int 1\n", ["1:4: YAML: tag tag:yaml.org,2002:int, write the value plainly; tags are not read"]),
        ("a: ! x\n", ["1:4: YAML: tag !, write the value plainly; tags are not read"]),
        ("[1, 2]: 3\n", ["1:1: YAML: a list or mapping stands as a key, a key is one word"]),
        ("a: 1\n---\nb: 2\n", ["2:1: file: holds more than one YAML document, keep one document a file"]),
    ],
)
def test_faults_of_form(text: str, told: list[str]) -> None:
    assert faults(text) == told


def test_faults_of_form_are_told_at_once() -> None:
    assert len(faults("a: &x 1\nb: *x\nb: !t 2\n")) == 4


def test_a_fault_of_syntax_comes_after_those_of_form() -> None:
    told = faults("a: &x 1\nb: [1\n")
    assert told[0].startswith("1:4: YAML: anchor")
    assert told[-1].startswith("3:1: YAML: ")


@pytest.mark.parametrize("text", ["a: [1\n", 'a: "x\n', "a: b: c\n", "\ta: 1\n", "a: %x\n@", "- a\nb\n", "a: 'x' y\n"])
def test_syntax(text: str) -> None:
    (told,) = faults(text)
    assert told.endswith(", mend the line or the one before it")
    assert told.split(": ")[1] == "YAML"


def test_control_characters_have_a_place() -> None:
    assert faults("a: 1\nbc: x\x07y\n") == [
        "2:6: YAML: holds a control character, delete it, or write it as an escape in quotes"
    ]


def test_nesting_has_an_end() -> None:
    assert plain("a: " + "[" * (DEEPEST - 1) + "]" * (DEEPEST - 1))
    (told,) = faults("a: " + "[" * (DEEPEST + 5) + "]" * (DEEPEST + 5))
    assert f"is nested more than {DEEPEST} deep" in told


def test_values_have_an_end() -> None:
    assert len(plain("[" + "1," * (MOST_VALUES - 10) + "]")) == MOST_VALUES - 10
    (told,) = faults("[" + "1," * (MOST_VALUES + 10) + "]")
    assert f"holds more than {MOST_VALUES} values" in told


def test_faults_have_an_end() -> None:
    told = faults("".join(f"k{n}: !t 1\n" for n in range(MOST_FAULTS + 50)))
    assert len(told) == MOST_FAULTS + 1
    assert told[-1] == " file: has more faults, mend these first"


@pytest.mark.parametrize("bom", ["", "\ufeff"])
def test_a_byte_order_mark_is_taken(bom: str) -> None:
    assert decoded((bom + "a: ü").encode(), "p.yaml") == "a: ü"


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"a: 1\nb: \xe9\n", "p.yaml:2:4: file: is not UTF-8 text, save it as UTF-8"),
        ("a: 1".encode("utf-16"), "p.yaml:1:1: file: is not UTF-8 text, save it as UTF-8"),
        (b"a\0b", "p.yaml: file: is binary, give a text file in YAML"),
        (
            b" " * (LARGEST_BYTES + 1),
            "p.yaml: file: is larger than 1000 kB, a file of plain YAML text is some kilobytes at most",
        ),
    ],
)
def test_bytes_that_are_no_text(raw: bytes, told: str) -> None:
    with pytest.raises(Unusable) as unusable:
        decoded(raw, "p.yaml")
    assert str(unusable.value) == told


def test_a_file_is_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "p.yaml"
    path.write_text(TEXT, encoding="utf-8")
    assert read_file(path).plain() == plain(TEXT)
    assert read_text(path) == TEXT
    assert read_plain(path)["title"] == "quoted: 7"


@pytest.mark.parametrize("path", KEPT_IN_LINES, ids=lambda path: path.name)
def test_entries_read_one_by_one_are_those_of_the_file(path: Path) -> None:
    """The catalogues and what the commands print: each key plain at the start of a line."""
    whole, one_by_one = read_plain(path), read_entries(path)
    assert len(whole) > 40 and len(one_by_one) == len(whole)
    assert {key: one_by_one[key] for key in whole} == whole
    assert list(read_entries(path).items()) == list(whole.items())
    assert next(iter(whole)) in one_by_one and "no.such.key" not in one_by_one
    with pytest.raises(KeyError):
        one_by_one["no.such.key"]


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(Unusable) as unusable:
        read_text(tmp_path / "no.yaml")
    assert str(unusable.value) == f"{tmp_path / 'no.yaml'}: file: does not exist, give a file that can be read"
    with pytest.raises(Unusable) as unusable:
        read_text(tmp_path)
    assert "cannot be read (Is a directory)" in str(unusable.value)


def test_a_file_s_faults_name_it(tmp_path: Path) -> None:
    path = tmp_path / "p.yaml"
    path.write_text("a: 1\na: 2\n")
    with pytest.raises(Unusable) as unusable:
        read_file(path)
    assert str(unusable.value).startswith(f"{path}:2:1: a: stands twice")
