"""Findings with room for a remedy: bare at first, filled in later."""

from __future__ import annotations

from flangewise.findings import note
from flangewise.punch_die.limits import caution_for_now, refuse_for_now, wants_remedy, with_remedy
from flangewise.words import phrase


def test_without_a_remedy_the_sentence_ends_bare() -> None:
    told = refuse_for_now("over-machine-force", None, force_kn=120.0, most_kn=100.0, machine="bench")
    assert told.text() == "120 kN is over the 100 kN of bench"
    assert (told.severity, wants_remedy(told)) == ("refuse", True)


def test_a_remedy_is_added_to_the_sentence() -> None:
    told = caution_for_now("over-machine-force", None, force_kn=120.0, most_kn=100.0, machine="bench")
    better = with_remedy(told, phrase("remedy.pair", punch="a", die="b"))
    assert better.text() == "120 kN is over the 100 kN of bench. a on b would do"
    assert with_remedy(better, "") == told


def test_a_finding_without_room_is_left_alone() -> None:
    assert not wants_remedy(note("ideal-nose", nose_mm=1.0))
