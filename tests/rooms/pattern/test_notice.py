"""What is told of a blank: rules beyond their table, holes near a bend."""

from __future__ import annotations

import pytest

from flangewise.findings import Finding

from .made import bend, blank, hem, hole, part


def codes(findings: tuple[Finding, ...]) -> list[tuple[str, str, str]]:
    return [(finding.severity, finding.code, finding.place()) for finding in findings]


def test_a_plain_part_has_nothing_to_tell() -> None:
    assert blank(part((40, 40), bend(1))).findings == ()


def test_din_k_is_held_below_its_table_and_says_so() -> None:
    found = blank(part((40, 40), bend(1)), radius_mm=1.0).findings
    assert codes(found) == [("caution", "din-k-held", "bend 1")]
    assert found[0].text() == (
        "the inside radius is 0.5 of the thickness. DIN 6935 gives its correction k from 0.65 on. "
        "k is held at that value"
    )


def test_din_k_is_not_held_at_the_edge_of_its_table() -> None:
    assert blank(part((40, 40), bend(1)), radius_mm=1.3).findings == ()


def test_no_word_of_din_where_another_rule_is_used() -> None:
    assert blank(part((40, 40), bend(1, k_factor=0.4)), radius_mm=1.0).findings == ()
    assert blank(part((40, 40), bend(1, 10.0)), rule="textbook").findings == ()
    assert blank(part((12, 40), hem(1))).findings == ()


def test_above_165_included_the_standard_s_zero_is_named() -> None:
    found = blank(part((40, 40), bend(1, 14.0))).findings
    assert codes(found) == [("note", "din-continuous", "bend 1")]
    assert found[0].text().startswith("at 166° included DIN 6935 prints a deduction of zero")
    assert blank(part((40, 40), bend(1, 15.0))).findings == ()


@pytest.mark.parametrize(
    ("gap_mm", "expected"),
    [
        (4.01, []),
        (3.99, ["hole-near-bend"]),
        (0.01, ["hole-near-bend"]),
        (0.0, ["hole-in-bend"]),
        (-2, ["hole-in-bend"]),
    ],
)
def test_a_round_hole_keeps_two_thicknesses_from_the_bend_zone(gap_mm: float, expected: list[str]) -> None:
    """Leg 1 of 40 is flat for 36; a hole of 10 whose edge is `gap_mm` before that."""
    found = blank(part((40, 40), bend(1), holes=(hole(1, 1, (50, 31 - gap_mm), diameter_mm=10.0),))).findings
    assert [finding.code for finding in found] == expected


@pytest.mark.parametrize(("gap_mm", "expected"), [(5.01, []), (4.99, ["hole-near-bend"])])
def test_a_slot_keeps_two_and_a_half(gap_mm: float, expected: list[str]) -> None:
    found = blank(part((40, 40), bend(1), holes=(hole(1, 1, (50, 31 - gap_mm), size_mm=(30.0, 10.0)),))).findings
    assert [finding.code for finding in found] == expected


def test_a_hole_near_two_bends_is_told_of_both() -> None:
    found = blank(part((40, 24, 40), bend(1), bend(2), holes=(hole(1, 2, (50, 12), diameter_mm=10.0),))).findings
    assert codes(found) == [("caution", "hole-near-bend", "hole 1")] * 2
    assert [finding.text().split(" from the zone of ")[1].split(" ")[1] for finding in found] == ["1", "2"]


def test_the_distance_and_the_least_are_told() -> None:
    found = blank(part((40, 40), bend(1), holes=(hole(1, 1, (50, 28), diameter_mm=10.0),))).findings
    assert found[0].text() == (
        "is 3 mm from the zone of bend 1 and may be drawn out of shape. Common practice keeps 4 mm clear"
    )


def test_a_hole_on_the_far_leg_counts_too() -> None:
    """On leg 2 the flat begins 4 mm from the leg's edge; a hole of 4 centred 8 mm in is 2 mm from the zone."""
    found = blank(part((40, 40), bend(1), holes=(hole(1, 2, (50, 8), diameter_mm=4.0),))).findings
    assert found[0].text().startswith("is 2 mm from the zone of bend 1")


def test_how_far_a_hole_reaches_into_the_zone() -> None:
    found = blank(part((40, 40), bend(1), holes=(hole(1, 1, (50, 33), diameter_mm=10.0),))).findings
    assert found[0].text().startswith("reaches 2 mm into the zone of bend 1")
