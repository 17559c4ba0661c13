"""Working days: seconds to a day and back."""

from __future__ import annotations

import datetime

from flangewise.queue import WorkingDays

MONDAY = datetime.date(2026, 11, 30)
WEEK = WorkingDays(MONDAY, tuple(3600.0 * each for each in (8, 8, 8, 8, 6, 0, 0)))


def test_a_second_of_work_falls_on_its_day() -> None:
    assert WEEK.day_of(8 * 3600) == MONDAY
    assert WEEK.day_of(8 * 3600 + 1) == datetime.date(2026, 12, 1)
    assert WEEK.day_of(38 * 3600) == datetime.date(2026, 12, 4)
    assert WEEK.day_of(38 * 3600 + 1) == datetime.date(2026, 12, 7)


def test_a_weekend_adds_nothing_and_a_day_gone_by_is_none() -> None:
    assert WEEK.seconds_to(datetime.date(2026, 12, 6)) == 38 * 3600
    assert WEEK.seconds_to(datetime.date(2026, 12, 7)) == 46 * 3600
    assert WEEK.seconds_to(datetime.date(2026, 11, 29)) == 0
