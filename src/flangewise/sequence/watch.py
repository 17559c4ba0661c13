"""How long may be searched for a part, and who looks on."""

import math
import time
from collections.abc import Callable

from flangewise.records import dataclass, replace

# What is being searched: names and values that stand until they are told anew.
Tell = Callable[..., None]


def never() -> bool:
    """No end to the search."""
    return False


def nobody(**_told: object) -> None:
    """Nobody looks on."""


@dataclass(frozen=True)
class Watch:
    """The end of the search for a part: a moment of a clock in seconds, or when somebody says so.

    Shares of what is left are of the processor's time: what else a machine does takes none of them away, and what is
    proven within one does not hang on it. `until` is the clock's; at `most_worked_s` of `worked_s`, what the
    searching thread has worked, it is over too. `tell` is told what is being searched: `machine`, `blank` (its number),
    `best_s` and `bound_s`. `any_plan`: whatever plan comes first is enough; `quick`: no more is wanted than beams find
    of many operations; `is_shut`: it is known that tools are in the way of every order, what blocks it is looked for;
    `first_reason`: no more of that is read than what comes first.
    """

    until: float = math.inf
    clock: Callable[[], float] = time.monotonic
    stopped: Callable[[], bool] = never
    tell: Tell = nobody
    any_plan: bool = False
    quick: bool = False
    is_shut: bool = False
    first_reason: bool = False
    worked_s: Callable[[], float] = time.thread_time
    most_worked_s: float = math.inf

    def over(self) -> bool:
        """Whether the search must come to its end."""
        return self.stopped() or self.clock() > self.until or self.worked_s() > self.most_worked_s

    def share(self, factor: float) -> "Watch":
        """The same with a part of the time that is left, worked in this thread."""
        if math.isinf(self.until):
            return self
        now = self.worked_s()
        left = max(min(self.until - self.clock(), self.most_worked_s - now), 0.0)
        return replace(self, most_worked_s=now + factor * left)


UNLIMITED = Watch()


def watch_for(seconds: float) -> Watch:
    """A watch that is over so many seconds from now."""
    return Watch(time.monotonic() + seconds)
