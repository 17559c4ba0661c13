"""A law over many cases in one test fails as it would in a test a case, and tells all that fail."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from ..each import all_hold, of_each


def below_three(number: int) -> None:
    assert number < 3, f"it is {number}"


def left_out(number: int) -> None:
    pytest.skip("not today")


def broken(number: int) -> None:
    raise KeyError(number)


def not_raised(number: int) -> None:
    with pytest.raises(ValueError):
        below_three(number)


def test_what_holds_of_each_holds_and_each_is_looked_at() -> None:
    looked_at: list[int] = []
    all_hold(looked_at.append, range(3))
    assert looked_at == [0, 1, 2]
    of_each(range(3))(below_three)()


def test_every_case_that_fails_is_told() -> None:
    line = rf"AssertionError in line test_each\.py:{below_three.__code__.co_firstlineno + 1}: it is"
    told = rf"2 of 5 do not hold:\n3: {line} 3(?s:.)*\n4: {line} 4"
    with pytest.raises(pytest.fail.Exception, match=told):
        all_hold(below_three, range(5))
    with pytest.raises(pytest.fail.Exception, match=told):
        of_each(range(5))(below_three)()


@pytest.mark.parametrize(
    ("check", "told"), [(left_out, "not today"), (broken, "KeyError"), (not_raised, "DID NOT RAISE")]
)
def test_a_case_left_out_or_broken_or_that_raises_nothing_fails(check: Callable[[int], None], told: str) -> None:
    with pytest.raises(pytest.fail.Exception, match=told):
        all_hold(check, [1])


def test_a_case_of_several_things_is_taken_apart() -> None:
    def less(one: int, other: int) -> None:
        assert one < other

    all_hold(less, [(1, 2), (2, 3)])
    with pytest.raises(pytest.fail.Exception, match="1 of 2 do not hold"):
        all_hold(less, [(1, 2), (3, 2)])


def test_no_case_at_all_and_two_of_one_name_fail() -> None:
    with pytest.raises(AssertionError, match="nothing to look at"):
        all_hold(below_three, [])
    with pytest.raises(AssertionError, match="two cases are called 1"):
        all_hold(below_three, [1, 1])
