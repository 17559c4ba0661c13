"""What a part costs in time, on each machine and by each handler asked: set-up, cycle, batch, and most of it."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from flangewise.handling import Attended, Batch, Compared, RunTime, attended, by_hand, by_robot, compared
from flangewise.jobs.cell import cell_plan, run_time
from flangewise.jobs.job import Job
from flangewise.jobs.machines import worked_out
from flangewise.part import Part
from flangewise.records import dataclass, replace
from flangewise.sequence import Watch
from flangewise.shop import Running, Shop

# What a part's seconds are made of, its share of the set-up first.
ITEMS = ("set_up", "load", "gauge", "ram", "moves", "unload", "allowance")


@dataclass(frozen=True)
class Estimate:
    """A part on one machine by one handler. `time` is None where there is no plan; `proven` is the plan's.

    `against`: hand and robot over the batch, at a robot's line, where a person was asked as well.
    """

    part: str
    machine: str
    handler: str
    quantity: int
    feasible: bool | None
    proven: bool
    time: RunTime | None = None
    tool_changes: int | None = None
    regrips: int | None = None
    batch: Batch | None = None
    against: Compared | None = None

    @property
    def items_s(self) -> dict[str, float]:
        """What a part's seconds are made of, the set-up shared over the batch."""
        if self.time is None:
            return {}
        shared = {"set_up": self.time.set_up_s / self.quantity}
        return shared | {item: getattr(self.time, f"{item}_s") for item in ITEMS[1:]}

    @property
    def greatest(self) -> tuple[str, float] | None:
        """What takes most of a part's seconds, and its share of them."""
        items = self.items_s
        total = sum(items.values())
        if not total:
            return None
        name = max(items, key=lambda item: items[item])
        return name, items[name] / total

    def as_json(self) -> dict[str, Any]:
        """The estimate with its keys."""
        time, batch, greatest = self.time, self.batch, self.greatest
        batch_s = (None, None) if batch is None else (batch.machine_s, batch.people_s)
        hours = (None if each_s is None else each_s / 3600 for each_s in batch_s)
        return {
            "part": self.part,
            "machine": self.machine,
            "handler": self.handler,
            "persons": None if time is None else time.people,
            "quantity": self.quantity,
            "feasible": self.feasible,
            "proven_least": self.proven,
            "set_up_min": None if time is None else time.set_up_s / 60,
            "cycle_s": None if time is None else time.cycle_s,
            **dict(zip(("machine_h", "people_h"), hours, strict=True)),
            "tool_changes": self.tool_changes,
            "regrips": self.regrips,
            "greatest": None if greatest is None else greatest[0],
            "greatest_share": None if greatest is None else greatest[1],
            "pays_from": None if self.against is None else self.against.people_from,
            "missing": [] if batch is None else list(batch.missing),
        }


def estimates(
    part: Part, shop: Shop, watch: Watch, *, machines: Sequence[str], handlers: Sequence[str]
) -> Iterator[Estimate]:
    """One for each machine and handler; of a robot it is told from how many parts on it takes less of people."""
    for machine in machines:
        hand: RunTime | None = None
        for handler in handlers:
            found = _estimated(replace(part, machine=machine, machines=(), handler=handler), shop, watch, hand)
            if found.time is not None and found.time.kind == "operator" and hand is None:
                hand = found.time
            yield found


def people_first(handlers: Iterable[str], shop: Shop) -> tuple[str, ...]:
    """The handlers with people before robots, so that these can be held against them."""
    return tuple(sorted(handlers, key=lambda name: shop.handlers[name].kind == "robot"))


def _estimated(part: Part, shop: Shop, watch: Watch, hand: RunTime | None) -> Estimate:
    return estimate_of(worked_out(part, shop, watch), hand)


def estimate_of(job: Job, hand: RunTime | None = None) -> Estimate:
    """What a job that is worked out takes; `hand` is what a robot's is held against."""
    part = job.part
    proven = job.ordered is not None and job.ordered.solution.proven_least
    base = Estimate(part.name, job.machine.name, job.handler.name, job.centre.quantity, job.feasible, proven)
    if job.setup is None or not job.feasible:
        return replace(base, proven=False)
    time = run_time(job, job.setup)
    people = _attended(job) if time.kind == "robot" else None
    return replace(
        base,
        time=time,
        tool_changes=job.setup.count("tool-change"),
        regrips=job.setup.regrips,
        batch=by_hand(time, base.quantity) if people is None else by_robot(time, base.quantity, people),
        against=None if people is None or hand is None else compared(hand, time, base.quantity, people),
    )


def _attended(job: Job) -> Attended | tuple[str, ...]:
    """What a robot's run takes of people, or what was not entered of it."""
    plan, cell = cell_plan(job), job.handler.cell
    running = cell.running if cell is not None else Running.model_construct()
    return attended(running, a_stack=plan.stack.count, a_box=plan.out.count)
