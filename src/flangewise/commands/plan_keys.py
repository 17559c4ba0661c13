"""A plan as plain text in fixed columns, a line a step: what is typed in at a control's keyboard.

Always mm, degrees and kN with a decimal point. A line that begins with # tells what stands below it; a value that is
not known is a dash.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from flangewise.commands.output import Printer, Record

MOST_FINGERS = 2
UNKNOWN = "-"


class Column(NamedTuple):
    """A column: its head, the key of its value, how wide it is, how many decimals it has."""

    head: str
    key: str
    width: int
    decimals: int | None = None


COLUMNS = (
    Column("step", "step", 5),
    Column("bends", "bends", 8),
    Column("hit", "hit", 8),
    Column("face", "marked_face", 5),
    Column("x_mm", "x_mm", 10, 2),
    Column("r_mm", "r_mm", 9, 2),
    *(Column(f"z{number}_mm", f"z{number}_mm", 9, 2) for number in range(1, MOST_FINGERS + 1)),
    Column("retract_mm", "retract_mm", 11, 2),
    Column("slow_mm", "slow_from_mm", 9, 2),
    Column("depth_mm", "depth_mm", 9, 2),
    Column("bend_to_deg", "bend_to_deg", 12, 2),
    Column("finished_deg", "finished_deg", 13, 2),
    Column("open_mm", "open_height_mm", 9, 2),
    Column("force_kn", "force_kn", 9, 1),
    Column("crown_mm", "crowning_mm", 9, 2),
)
# Names stand last, where a long one moves nothing.
NAMES = (Column("punch", "punch", 25), Column("die", "die", 25))


class KeysPrinter(Printer):
    """A command's plans on their way out as lines to type in."""

    def text_of(self, record: Record, text: Callable[[str], str]) -> str:
        """The lines of a plan, in the place of its text."""
        return keys_text(record)


def keys_text(record: Record) -> str:
    """A plan's record as its lines: what part it is, the heads, a line a step. A part without a plan says so."""
    job = record.get("job_card") or {}
    told = {
        "part": record["part"],
        "revision": job.get("revision") or UNKNOWN,
        "machine": record["machine"],
        "material": record["material"],
        "thickness_mm": f"{record['thickness_mm']:.2f}",
        "steps": len(record["steps"]) if record["feasible"] else "no plan",
    }
    head = "# " + "  ".join(f"{name} {value}" for name, value in told.items())
    if not record["feasible"]:
        return head + "\n"
    # The sign of the line takes the place of the blank before the first head.
    heads = "#" + _line([column.head for column in COLUMNS], [column.head for column in NAMES])[1:]
    steps = [_flat(step) for step in record["steps"]]
    lines = [_line(*([_value(step, each) for each in columns] for columns in (COLUMNS, NAMES))) for step in steps]
    return "\n".join([head, heads, *lines]) + "\n"


def _line(values: Sequence[str], names: Sequence[str]) -> str:
    cells = [value.rjust(column.width) for value, column in zip(values, COLUMNS, strict=True)]
    named = [name.ljust(column.width) for name, column in zip(names, NAMES, strict=True)]
    return ("".join(cells) + "  " + " ".join(named)).rstrip()


def _flat(step: Mapping[str, Any]) -> dict[str, Any]:
    """A step with what its stops are set to beside the rest, each finger by its number."""
    fingers = {f"z{number}_mm": z_mm for number, z_mm in enumerate(step["stops"]["z_mm"] or (), start=1)}
    return {**step, **step["stops"], **fingers}


def _value(step: Mapping[str, Any], column: Column) -> str:
    found = step.get(column.key)
    if isinstance(found, (list, tuple)):
        return "+".join(str(each) for each in found) or UNKNOWN
    if found is None or found == "":
        return UNKNOWN
    return str(found) if column.decimals is None else f"{found + 0.0:.{column.decimals}f}"
