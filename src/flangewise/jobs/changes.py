"""What changed between two plans of a part that matters at the machine, in the order in which the sheet tells it.

A change is what a setter would see: figures that are written alike are the same, and what a plan costs or how it was
found is none. Steps go by the bends they make, so that another order does not make every figure a change.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from flangewise.part import JOB_CARD
from flangewise.records import dataclass
from flangewise.units import written

# In the order of the sheet: of the whole job, and of each step. A name ends in its unit; a path leads to what it holds.
OF_THE_JOB = (
    *("part", *(f"job_card.{key}" for key in JOB_CARD), "material", "thickness_mm", "measured_thickness_mm"),
    *("machine", "handler", "blank.developed_mm", "blank.along_bends_mm", "feasible"),
)
OF_A_STEP = (
    *("step", "marked_face", "behind", "gauged_on.on", "gauged_on.bend", "gauged_on.face", "moves", "punch"),
    *("punch_turned", "die", "stations", "part_from_mm", "stops.x_mm", "stops.r_mm", "stops.z_mm"),
    *("stops.retract_mm", "depth_mm", "bend_to_deg", "finished_deg", "force_kn", "open_height_mm", "slow_from_mm"),
    *("ram_speed_mm_per_s", "crowning_mm", "hold.by", "leaves"),
)
Plan = Mapping[str, Any]


@dataclass(frozen=True)
class PlanChange:
    """One thing that is other than it was: where (the job, or a step by its bends), what, before, after.

    None stands for nothing; a step that is new has nothing before, one that is gone nothing after.
    """

    where: str
    what: str
    before: Any
    after: Any

    def as_json(self) -> dict[str, Any]:
        """The change as JSON carries it."""
        return dict(vars(self))


def changed_since(before: Plan, after: Plan) -> tuple[PlanChange, ...]:
    """What of a plan is other than it was in one before, both as `plan --format json` writes them."""
    found = list(_of("job", OF_THE_JOB, before, after))
    orders = [_in_order(step["bends"] for step in plan["steps"]) for plan in (before, after)]
    if orders[0] != orders[1]:
        found.append(PlanChange("job", "order", *orders))
    were, are = _by_hit(before["steps"]), _by_hit(after["steps"])
    for key in dict.fromkeys((*are, *were)):
        old, new = were.get(key), are.get(key)
        where = f"bend {_in_order([key[0]])}" + (f", hit {key[1] + 1}" if key[1] else "")
        if old is None or new is None:
            found.append(PlanChange(where, "step", *(None if step is None else step["step"] for step in (old, new))))
        else:
            found.extend(_of(where, OF_A_STEP, old, new))
    return (*found, *_of_findings(before, after))


def _by_hit(steps: Iterable[Plan]) -> dict[tuple[tuple[int, ...], int], Plan]:
    """The steps by the bends they make and the how many-th hit on these it is."""
    made: dict[tuple[tuple[int, ...], int], Plan] = {}
    for step in steps:
        bends = tuple(step["bends"])
        made[bends, sum(known[0] == bends for known in made)] = step
    return made


def _in_order(order: Iterable[Sequence[int]]) -> str:
    return " ".join("+".join(map(str, bends)) for bends in order)


def _of(where: str, paths: Iterable[str], before: Plan, after: Plan) -> Iterator[PlanChange]:
    for path in paths:
        known, old, new = _at(before, path), _at(before, path)[1], _at(after, path)[1]
        # A plan written before a key was there says nothing of it.
        if known[0] and told_value(path, old) != told_value(path, new):
            yield PlanChange(where, path, old, new)


def _at(record: Any, path: str) -> tuple[bool, Any]:
    for key in path.split("."):
        if not isinstance(record, Mapping) or key not in record:
            return False, None
        record = record[key]
    return True, record


def told_value(path: str, value: Any, units: str = "mm") -> str:
    """A value as a setter reads it."""
    name = path.rsplit(".", maxsplit=1)[-1]
    if value is None or value == "" or value == []:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return written(name, float(value), units)
    if not isinstance(value, list):
        return str(value)
    if name in ("stations", "moves"):
        tell = _row if name == "stations" else _move
        return "; ".join(tell(each, units) if isinstance(each, Mapping) else str(each) for each in value)
    return " and ".join(told_value(name, each, units) for each in value)


def _row(station: Plan, units: str) -> str:
    """A station as it is built: segments of punch and die, and where they stand on the bed."""
    rows = (station.get(key) for key in ("segments", "die_segments"))
    punch, die = (" + ".join(map(str, row)) if isinstance(row, list) else str(row) for row in rows)
    at, die_at = (told_value("x_mm", station.get(key), units) for key in ("from_mm", "die_from_mm"))
    return f"{punch} at {at} over {die} at {die_at}"


def _move(move: Plan, _: str) -> str:
    return str(move.get("words", move.get("move", "")))


def _of_findings(before: Plan, after: Plan) -> Iterator[PlanChange]:
    """Refusals and cautions that are new, gone, or told with other figures; notes change with every figure."""
    old, new = (
        {(each["where"], each["code"]): each["text"] for each in plan.get("findings", ()) if each["severity"] != "note"}
        for plan in (before, after)
    )
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield PlanChange(key[0], "finding", old.get(key), new.get(key))
