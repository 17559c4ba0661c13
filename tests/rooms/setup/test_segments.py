"""Segments put together for a hit: long enough, and strong enough at the ears."""

from __future__ import annotations

from dataclasses import replace

from flangewise.punch_die import SegmentUse
from flangewise.setup.limits import segment_findings

from .made import chosen, codes, hit, pair, value, work


def station(**changes):  # type: ignore[no-untyped-def]
    return replace(work().stations[0], **changes)


def test_tools_that_reach_have_nothing_against_them() -> None:
    assert segment_findings(station(), hit(), work()) == ()


def test_a_punch_or_a_die_without_segments_is_refused_by_name() -> None:
    told = segment_findings(station(segments=()), hit(), work(length_mm=5000.0))
    assert codes(told) == {"punch-too-short"}
    assert value(told, "punch-too-short", "tool") == pair().tools.punch_name
    assert value(told, "punch-too-short", "length_mm") == 5000
    assert codes(segment_findings(station(die_segments=()), hit(), work())) == {"die-too-short"}


def test_ears_are_held_to_their_own_load() -> None:
    ears = station(segments=(SegmentUse(75, "left"), SegmentUse(220), SegmentUse(75, "right")))
    punch = pair().tools.punch
    assert punch is not None and punch.ear_load_kn_per_m is not None
    for force, told in ((punch.ear_load_kn_per_m - 1, set()), (punch.ear_load_kn_per_m + 1, {"over-ear-load"})):
        strong = replace(pair(), limit_force_kn_per_m=force)
        assert codes(segment_findings(ears, hit(chosen(strong)), work())) == told
