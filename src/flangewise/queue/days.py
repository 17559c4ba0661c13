"""Working days: how many seconds are worked to the end of a day, and on which day a second of work falls."""

import datetime

from flangewise.records import dataclass

SAME_S = 1e-6
WEEK = 7


@dataclass(frozen=True)
class WorkingDays:
    """Work from the morning of the `first` day on: seconds of each day from Monday to Sunday, some at least."""

    first: datetime.date
    worked_s: tuple[float, ...]

    def seconds_to(self, day: datetime.date) -> float:
        """Seconds worked from the first day to the end of this one; 0 for a day before it.

        >>> friday = datetime.date(2026, 11, 27)
        >>> WorkingDays(friday, (8, 8, 8, 8, 6, 0, 0)).seconds_to(datetime.date(2026, 11, 30))
        14
        """
        count = (day - self.first).days + 1
        if count <= 0:
            return 0.0
        weeks, rest = divmod(count, WEEK)
        return weeks * sum(self.worked_s) + sum(self._worked_s(nth) for nth in range(rest))

    def day_of(self, seconds_s: float) -> datetime.date:
        """The day on which so many seconds are worked.

        >>> WorkingDays(datetime.date(2026, 11, 27), (8, 8, 8, 8, 6, 0, 0)).day_of(6.5).isoformat()
        '2026-11-30'
        """
        left_s = seconds_s
        weeks = int(max(left_s - SAME_S, 0.0) // (sum(self.worked_s)))
        left_s -= weeks * sum(self.worked_s)
        nth = 0
        while left_s > self._worked_s(nth) + SAME_S:
            left_s -= self._worked_s(nth)
            nth += 1
        while not self._worked_s(nth):
            nth += 1
        return self.first + datetime.timedelta(days=weeks * WEEK + nth)

    def _worked_s(self, nth: int) -> float:
        return self.worked_s[(self.first.weekday() + nth) % WEEK]
