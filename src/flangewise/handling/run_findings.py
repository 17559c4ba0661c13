"""What is to be known of a run besides its figures: cautions, notes, and flags for somebody to assess; no verdicts."""

from collections.abc import Iterator

from flangewise.findings import Finding, caution, note
from flangewise.handling.cell import lowest_field_mm
from flangewise.handling.cell_plan import CellPlan
from flangewise.handling.packing import SOFT_DROP_MM
from flangewise.handling.people import Lift
from flangewise.part import Packing
from flangewise.shop import Cell
from flangewise.words import phrase


def findings_of(
    plan: CellPlan, cell: Cell | None, packing: Packing | None, *, soft: bool, good_face: str
) -> tuple[Finding, ...]:
    """All findings of a run. `soft`: the part carries a film or a good face; `good_face`: marked, other or none."""
    return (
        *_blanks(plan),
        *_parts(plan, packing, soft=soft, good_face=good_face),
        *(_lift(each) for each in plan.lifts if set(each.flags) - {"over-recommended"}),
        *(_over(each) for each in plan.lifts if "over-recommended" in each.flags),
        *(_asked(code, cell) for code in (plan.layout.questions if plan.layout is not None else ())),
    )


def _blanks(plan: CellPlan) -> Iterator[Finding]:
    if plan.stack.two_may_come:
        yield caution("two-blanks")
    if plan.layout is not None:
        yield note("sharp-part")
    if plan.by_hand:
        yield caution("not-run", steps=plan.by_hand)


def _parts(plan: CellPlan, packing: Packing | None, *, soft: bool, good_face: str) -> Iterator[Finding]:
    out = plan.out
    if packing is not None and packing.way == "pairs" and out.packed is not None and out.packed.way != "pairs":
        yield note("not-in-pairs")
    if soft and out.drop_mm is not None and out.drop_mm >= SOFT_DROP_MM:
        yield caution("drop-far", drop_mm=out.drop_mm, least_mm=SOFT_DROP_MM)
    up = "marked" if out.face == "up" else "other"
    if good_face not in ("none", up) and packing is not None:
        yield note("good-face-under")


def _lift(lift: Lift) -> Finding:
    return caution(
        "lift-to-assess",
        what=phrase(f"cell.lift.{lift.what}"),
        mass_kg=lift.mass_kg,
        longest_mm=lift.longest_mm,
        often=round(lift.lifts_per_min, 2),
    )


def _over(lift: Lift) -> Finding:
    what = phrase(f"cell.lift.{lift.what}")
    return caution("lift-over", what=what, mass_kg=lift.mass_kg, limit_kg=lift.recommended_kg)


def _asked(code: str, cell: Cell | None) -> Finding:
    watched = cell.watched if cell is not None else None
    if code == "field-low" and watched is not None and watched.resolution_mm is not None:
        lowest_mm, resolution_mm = lowest_field_mm(watched.resolution_mm), watched.resolution_mm
        return note("field-low", height_mm=watched.field_height_mm, lowest_mm=lowest_mm, resolution_mm=resolution_mm)
    if code == "field-high" and watched is not None:
        return note("field-high", height_mm=watched.field_height_mm)
    return note("restart-unseen") if code == "restart-unseen" else note("slow-not-monitored")
