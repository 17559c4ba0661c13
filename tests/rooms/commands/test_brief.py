"""The findings of a run at the terminal: what needs a look a line each, what repeats and notes counted."""

from __future__ import annotations

import pytest

from flangewise.commands import Settings
from flangewise.commands.brief import Brief


def told(capsys: pytest.CaptureFixture[str], lang: str, *findings: tuple[str, str, str]) -> list[str]:
    brief = Brief(Settings(None, "mm", quiet=False), lang)
    for part, severity, sentence in findings:
        brief.tell(part, severity, sentence)
    brief.end()
    return capsys.readouterr().err.splitlines()


def test_a_sentence_of_many_parts_is_told_once_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    same = [(part, "caution", "bend 1: too near") for part in "abcd"]
    assert told(capsys, "en", *same, ("b", "refuse", "bend 2: no tools")) == [
        "caution: a: bend 1: too near",
        "refused: b: bend 2: no tools",
        "caution: also of 3 more: bend 1: too near",
    ]


def test_a_terminal_is_told_in_lines_no_wider_than_it_is(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And nothing else is: who reads a pipe gets a finding a line."""
    long = "step 2: only 57 mm of sheet in front at this hit. No order leaves more. Hold it with a tool"
    assert told(capsys, "en", ("rain-gauge-foot", "caution", long)) == [f"caution: rain-gauge-foot: {long}"]
    monkeypatch.setattr(Settings, "is_watched", True)
    monkeypatch.setenv("COLUMNS", "60")
    assert told(capsys, "en", ("rain-gauge-foot", "caution", long)) == [
        "caution: rain-gauge-foot: step 2: only 57 mm of sheet in",
        "  front at this hit. No order leaves more. Hold it with a",
        "  tool",
    ]


def test_a_sentence_told_twice_of_one_part_is_no_other_part_s(capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "en", ("a", "caution", "x"), ("a", "caution", "x")) == ["caution: a: x"]


def test_notes_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    notes = [("a", "note", "one"), ("a", "note", "two"), ("b", "note", "one")]
    assert told(capsys, "en", *notes) == ["notes: 3, parts: 2. `flangewise check` tells them"]
    assert told(capsys, "de", *notes) == ["Hinweise: 3, Teile: 2. `flangewise check` zeigt sie"]


def test_nothing_found_is_nothing_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "es") == []
