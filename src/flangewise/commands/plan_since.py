"""What changed at the machine since an earlier plan, told in the place of the plan itself."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from flangewise.commands import Settings, output
from flangewise.commands.columns import text_table
from flangewise.faults import Fault, Unusable
from flangewise.findings import Finding
from flangewise.jobs import PlanChange, changed_since, told_value
from flangewise.part import FoundPart, read_parts
from flangewise.reading import read_text
from flangewise.records import dataclass, field
from flangewise.shop import Shop

# Exit status where anything changed; nothing did: that of the findings.
CHANGED_STATUS = 3
COLUMNS = ("part", "where", "what", "before", "after")
PLANS_WANTED = "give plans as `plan --format json` writes them, one a line"


def plans_in(file: Path) -> dict[str, dict[str, Any]]:
    """The plans in a file by the names of their parts, one a line or one in all.

    Raises Unusable, saying where, for what is no plan.
    """
    text = read_text(file)
    found: dict[str, dict[str, Any]] = {}
    for line, one in _texts(text):
        try:
            plan = json.loads(one)
        except json.JSONDecodeError as error:
            fault = Fault(str(file), line + error.lineno - 1, error.colno, "JSON", error.msg, PLANS_WANTED)
            raise Unusable([fault]) from None
        except (RecursionError, ValueError):
            told = "is too deep or too long to be read"
            raise Unusable([Fault(str(file), line, None, "JSON", told, PLANS_WANTED)]) from None
        if not _is_plan(plan):
            raise Unusable([Fault(str(file), line, None, "plan", "has no part, or no list of steps", PLANS_WANTED)])
        found[plan["part"]] = plan
    if not found:
        raise Unusable([Fault(str(file), None, None, "plan", "holds no plan", PLANS_WANTED)])
    return found


def _texts(text: str) -> Iterator[tuple[int, str]]:
    """Each line that begins a plan and ends one, or the whole where a plan goes over several."""
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if all(line.lstrip().startswith("{") and line.rstrip().endswith("}") for _, line in lines):
        yield from lines
    else:
        yield 1, text


def _is_plan(plan: Any) -> bool:
    steps = plan.get("steps") if isinstance(plan, dict) and isinstance(plan.get("part"), str) else None
    return isinstance(steps, list) and all(
        isinstance(step, dict)
        and isinstance(step.get("bends"), list)
        and all(isinstance(bend, int) for bend in step["bends"])
        for step in steps
    )


@dataclass(frozen=True)
class Kept(output.Printer):
    """A command's plans kept by the names of their parts; nothing is printed but faults."""

    plans: dict[str, output.Record] = field(default_factory=dict)

    def give(
        self,
        record: output.Record,
        text: Callable[[str], str],
        findings: Iterable[Finding] = (),
        *,
        rows: Iterable[output.Record] | None = None,
        part: str = "",
    ) -> int:
        """The plan is kept."""
        self.plans[part] = json.loads(output.json_line(record))
        return 0


@dataclass(frozen=True)
class SincePrinter(output.Printer):
    """A command's plans on their way out as what changed since the plans `before`, by the names of their parts."""

    before: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def give(
        self,
        record: output.Record,
        text: Callable[[str], str],
        findings: Iterable[Finding] = (),
        *,
        rows: Iterable[output.Record] | None = None,
        part: str = "",
    ) -> int:
        """What changed: a line each, or that nothing did. The highest of both statuses."""
        old, record = self.before.get(part), json.loads(output.json_line(record))
        found = changed_since(old, record) if old is not None else (PlanChange("job", "part", None, part),)
        told = {"part": part, "changes": [each.as_json() for each in found]}
        listed = [{"part": part, **each.as_json()} for each in found]
        status = super().give(told, lambda units: changes_text(part, found, units) + "\n", (), rows=listed)
        return max(status, CHANGED_STATUS if found else status)


def changes_text(part: str, found: Iterable[PlanChange], units: str) -> str:
    """The changes as a table, lengths in `units`; a line where there are none."""
    lines = [
        [each.where, _what(each), " -> ".join(told_value(each.what, end, units) for end in (each.before, each.after))]
        for each in found
    ]
    if not lines:
        return f"{part}: nothing changed that matters at the machine"
    return f"{part}\n" + text_table(["where", "what", "was -> is"], lines)


def _what(change: PlanChange) -> str:
    plain = change.what.removeprefix("job_card.").replace(".", " ").replace("_", " ")
    return str(output.told("plan.changed").get(change.what, plain))


def since_printer(
    old: str,
    found: Sequence[FoundPart],
    settings: Settings,
    fmt: str,
    plan_all: Callable[[Sequence[FoundPart], output.Printer], int],
    shop: Shop,
) -> SincePrinter:
    """The printer of what changed since `old`: plans in JSON, or part files, which are planned first.

    One part before and one now are the same part, whatever its name. Raises Unusable where `old` cannot be used.
    """
    if old.endswith(".json"):
        before: Mapping[str, Mapping[str, Any]] = plans_in(Path(old))
    else:
        kept, parts = Kept(settings, "json"), read_parts([old], shop)
        plan_all(parts, kept)
        before = kept.plans
        if not before:
            raise Unusable([fault for each in parts for fault in each.faults])
    if len(before) == len(found) == 1 and found[0].name:
        before = {found[0].name: next(iter(before.values()))}
    return SincePrinter(settings, fmt, COLUMNS, before=before)
