"""The change of a size: which lengths are asked, and that none is asked twice."""

from __future__ import annotations

from flangewise.jobs.nearest import Nearest


def asked_of(works_from_mm: float, fails_to_mm: float) -> tuple[str, list[float]]:
    """The code of what is told of a size of 10 that works from a length on, and the lengths asked for a proof."""
    asked = list[float]()

    def ruled_out(length_mm: float) -> bool:
        asked.append(length_mm)
        return length_mm <= fails_to_mm

    size = Nearest(10.0, lambda mm: True if mm >= works_from_mm else None, lambda: False, ruled_out_mm=ruled_out)
    then_mm = size.nearest_mm(1, 5.0)
    assert then_mm == works_from_mm
    return size.finding("size", then_mm, sides=(-1, 1)).code, asked


def test_the_length_beside_is_asked_first_and_alone_where_it_is_not_proven() -> None:
    assert asked_of(11.0, 10.8) == ("size", [10.9])


def test_where_it_is_proven_so_are_the_others_those_near_to_it_first() -> None:
    code, asked = asked_of(10.5, 10.4)
    assert code == "size-smallest" and asked == [10.4, 10.3, 10.2, 10.1, 9.9, 9.8, 9.7, 9.6]


def test_of_a_large_change_the_length_beside_alone_is_asked() -> None:
    assert asked_of(13.0, 12.9) == ("size-edge", [12.9])
