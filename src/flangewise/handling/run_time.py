"""What a part, a run and a batch take, by hand and by robot; who is waited for, and from how many parts on it pays.

t_job = t_set_up + t_teach + n (1 + scrap) t_part / availability. People's time: a person stands by a hand-fed machine
all the while; a robot takes them for set-up, teaching, refills and changes of boxes. Source: sums; all times entered.
"""

import math
from typing import Any

from flangewise.records import dataclass
from flangewise.shop import Running

NOISE = 1e-9


@dataclass(frozen=True)
class RunTime:
    """One part's seconds and what they are made of, and the set-up's; `allowance_s` of all of it.

    `people` tend the machine; `kind` is operator or robot. `ram_s` is the strokes, `moves_s` what is done with the part
    between them or the stops' travel, the longer.
    """

    handler: str
    people: int
    kind: str
    load_s: float
    gauge_s: float
    ram_s: float
    moves_s: float
    unload_s: float
    allowance_s: float
    set_up_s: float

    @property
    def cycle_s(self) -> float:
        """All of it."""
        return self.load_s + self.gauge_s + self.ram_s + self.moves_s + self.unload_s + self.allowance_s

    @property
    def handled_s(self) -> float:
        """What is not the ram."""
        return self.cycle_s - self.ram_s

    @property
    def bottleneck(self) -> str:
        """Who is waited for: whoever handles the part, or the ram."""
        return self.kind if self.handled_s > self.ram_s else "ram"

    @property
    def handled_to_ram(self) -> float | None:
        """Handling over strokes."""
        return self.handled_s / self.ram_s if self.ram_s else None

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        made = {"cycle_s": self.cycle_s, "bottleneck": self.bottleneck, "handling_to_ram": self.handled_to_ram}
        return {**vars(self), **made}


@dataclass(frozen=True)
class Batch:
    """A whole batch: the machine's hours of time, and people's; None where something was not entered."""

    quantity: int
    machine_s: float | None
    people_s: float | None
    missing: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "missing": list(self.missing)}


def by_hand(time: RunTime, quantity: int) -> Batch:
    """A batch by hand: whoever tends the machine stands by all the while."""
    total_s = time.set_up_s + quantity * time.cycle_s
    return Batch(quantity, total_s, time.people * total_s)


@dataclass(frozen=True)
class Attended:
    """What a robot's run takes of people: to teach it, and for each part its share of refills and changes of boxes."""

    teach_s: float
    each_s: float
    availability_share: float
    scrap_share: float


def attended(running: Running, *, a_stack: int | None, a_box: int | None) -> Attended | tuple[str, ...]:
    """What people do for a run of so many blanks a refill and parts a box; or the names of what was not entered."""
    needed = ("teach_s", "availability_share", "scrap_share", "refill_s", "box_change_s")
    given = {key: getattr(running, key) for key in needed}
    counts = {"blanks_a_refill": a_stack or None, "parts_a_box": a_box or None}
    missing = tuple(key for key, value in (given | counts).items() if value is None)
    if missing or a_stack is None or a_box is None:
        return missing
    each_s = given["refill_s"] / a_stack + given["box_change_s"] / a_box
    return Attended(given["teach_s"], each_s, given["availability_share"], given["scrap_share"])


def job_s(part_s: float, quantity: int, *, set_up_s: float, scrap_share: float, availability_share: float) -> float:
    """t_set_up + n (1 + scrap) t_part / availability.

    >>> job_s(30, 100, set_up_s=1800, scrap_share=0.0, availability_share=1.0)
    4800.0
    """
    return set_up_s + quantity * (1 + scrap_share) * part_s / availability_share


def by_robot(time: RunTime, quantity: int, of_people: Attended | tuple[str, ...]) -> Batch:
    """A batch by robot, as far as what it takes of people was entered."""
    if not isinstance(of_people, Attended):
        return Batch(quantity, None, None, of_people)
    before_s = time.set_up_s + of_people.teach_s
    machine_s = job_s(
        time.cycle_s,
        quantity,
        set_up_s=before_s,
        scrap_share=of_people.scrap_share,
        availability_share=of_people.availability_share,
    )
    return Batch(quantity, machine_s, before_s + quantity * (1 + of_people.scrap_share) * of_people.each_s)


def breaks_even_at(before_s: float, other_before_s: float, *, each_s: float, other_each_s: float) -> int | None:
    """From how many parts on the first takes no more than the other; None where it never does.

    >>> breaks_even_at(3600, 1200, each_s=10, other_each_s=34), breaks_even_at(3600, 1200, each_s=40, other_each_s=34)
    (100, None)
    """
    if before_s <= other_before_s and each_s <= other_each_s:
        return 0
    if each_s >= other_each_s:
        return None
    return max(0, math.ceil((before_s - other_before_s) / (other_each_s - each_s) - NOISE))


@dataclass(frozen=True)
class Compared:
    """Hand and robot over one batch, and from how many parts on the robot takes no more of people, and of the machine.

    A quantity is None where it never does, or where the robot's batch lacks something.
    """

    hand: Batch
    robot: Batch
    people_from: int | None
    machine_from: int | None

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {**vars(self), "hand": self.hand.as_json(), "robot": self.robot.as_json()}


def compared(hand: RunTime, robot: RunTime, quantity: int, of_people: Attended | tuple[str, ...]) -> Compared:
    """A batch by hand and by robot."""
    own, other = by_hand(hand, quantity), by_robot(robot, quantity, of_people)
    if not isinstance(of_people, Attended):
        return Compared(own, other, None, None)
    before_s, again = robot.set_up_s + of_people.teach_s, 1 + of_people.scrap_share
    many = hand.people
    people = breaks_even_at(
        before_s, many * hand.set_up_s, each_s=again * of_people.each_s, other_each_s=many * hand.cycle_s
    )
    each_s = again * robot.cycle_s / of_people.availability_share
    machine = breaks_even_at(before_s, hand.set_up_s, each_s=each_s, other_each_s=hand.cycle_s)
    return Compared(own, other, people, machine)
