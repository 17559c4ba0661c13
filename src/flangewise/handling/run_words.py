"""A run in words: what is said of it on paper and on the screen, as phrases, so that both say the same."""

from collections.abc import Collection, Iterator

from flangewise.handling.cell import Distance, bare
from flangewise.handling.cell_plan import CellLayout, CellPlan
from flangewise.handling.infeed import Stack
from flangewise.handling.run_table import STOPS, Hold, Phase, phases
from flangewise.shop import Supply
from flangewise.words import Phrase, Value, phrase

NOT_NAMED = phrase("cell.not-named")
NOT_STATED = phrase("cell.said.missing")


def opened(plan: CellPlan) -> tuple[Phrase, ...]:
    """What must hold before the run begins: the programs by name, both on step 1, opened, nothing in the tools."""
    own = plan.programs
    named = phrase("cell.programs", brake=own.brake or NOT_NAMED, robot=own.robot or NOT_NAMED)
    return (*((phrase("cell.start", open_mm=plan.hits[0].open_height_mm),) if plan.hits else ()), named)


def phase_cells(phase: Phase, hold: Hold, kept: Collection[Supply] = ()) -> tuple[Phrase, ...]:
    """A row of the run table: the phase, what brake and robot do, what ends it, and what is done after each stop."""
    code = phase.code
    robot = phrase(f"cell.robot.bent-{hold}") if code == "bent" else phrase(f"cell.robot.{code}")
    does = (phrase(f"cell.brake.{code}"), robot, phrase(f"cell.until.{code}"))
    after = (phase.after(stop, kept) for stop in STOPS)
    return (phrase(f"cell.phase.{code}"), *does, *(phrase(f"cell.after.{each}") for each in after))


def tables(plan: CellPlan) -> Iterator[tuple[Hold, tuple[int, ...], tuple[Phase, ...]]]:
    """The phases once for each way of holding there is, with the hits that they are for; none of hits by hand."""
    for hold in dict.fromkeys(hit.hold for hit in plan.hits if hit.hold != "by-hand"):
        yield hold, tuple(hit.step for hit in plan.hits if hit.hold == hold), phases(hold)


def lacking(names: tuple[str, ...]) -> Phrase:
    """That something is not computed, and what is missing for it."""
    return phrase("cell.not-computed", missing=tuple(map(bare, names)))


def without_cell(handler: str) -> Phrase:
    """That no distance is computed, as nothing of a cell was entered: which block is missing, and where."""
    return phrase("cell.no-block", handler=handler)


def infeed_lines(stack: Stack) -> tuple[Phrase, ...]:
    """What is told of the stack of blanks."""
    if stack.infeed is None or stack.count is None:
        return (lacking(stack.missing),)
    lines = [
        phrase(
            "cell.infeed",
            count=stack.count,
            refill_min=stack.refill_min,
            governs=phrase(f"cell.governs.{stack.governs}"),
        )
    ]
    said: dict[str, Value] = {
        "separation": _said("separation", stack.infeed.separation),
        "double_check": _said("double_check", stack.infeed.double_check),
        "centring": _said("centring", stack.infeed.centring),
    }
    return (*lines, phrase("cell.infeed-how", **said))


def _said(key: str, value: str | None) -> Phrase:
    return NOT_STATED if value is None else phrase(f"cell.{key}.{value}")


def out_lines(plan: CellPlan) -> tuple[Phrase, ...]:
    """How finished parts lie in each other, which face is up, and how far the first falls."""
    out, nest = plan.out, plan.out.nest
    code = "cell.nests" if nest.nests else "cell.nests-not"
    values: dict[str, Value] = {"high_mm": nest.high_mm}
    if nest.nests:
        values["pitch_mm"] = nest.pitch_mm
    if out.box_round_mm is not None:
        long_mm, wide_mm, high_mm = out.box_round_mm
        code, values = "cell.as-a-box", {"long_mm": long_mm, "wide_mm": wide_mm, "high_mm": high_mm}
    lines = [phrase(code, **values)]
    if out.paired is not None:
        lines.append(phrase("cell.pairs", pair_mm=out.paired.high_mm, shift_mm=out.paired.shift_mm))
    lines.append(phrase(f"cell.face.{out.face}"))
    if plan.layout is not None:
        fallen = out.drop_mm
        lines.append(
            phrase("cell.drop-unknown", why=lacking(out.missing))
            if fallen is None
            else phrase("cell.drop", drop_mm=fallen)
        )
    return tuple(lines)


def box_lines(plan: CellPlan) -> tuple[Phrase, ...]:
    """What the box takes and which limit governs."""
    packed, box = plan.out.packed, plan.out.box
    if packed is None or box is None:
        return (lacking(("packing",)),)
    if packed.count is None:
        return (lacking(packed.missing),)
    first = phrase("cell.in-box", box=box.name, count=packed.count, governs=phrase(f"cell.governs.{packed.governs}"))
    if packed.way == "dropped":
        return (first, phrase("cell.dropped-in"))
    code = "cell.in-pairs" if packed.way == "pairs" else "cell.in-stacks"
    return (first, phrase(code, a_layer=packed.a_layer, layers=packed.layers, room=packed.limits["space"]))


def label_line(plan: CellPlan) -> Phrase | None:
    """What is written on a full box; None as long as its count is not known."""
    packed = plan.out.packed
    if packed is None or packed.count is None:
        return None
    return phrase(
        "cell.label", part=f"{plan.part} {plan.revision}".strip(), count=packed.count, gross_kg=packed.gross_kg
    )


def alone_line(plan: CellPlan) -> Phrase:
    """How long the run goes without a person."""
    if plan.by_hand:
        return phrase("finding.not-run", steps=plan.by_hand)
    if plan.alone_min is not None:
        return phrase("cell.alone", alone_min=plan.alone_min)
    both = (("infeed", plan.stack.count), ("packing", plan.out.count))
    return lacking(tuple(name for name, count in both if count is None))


def distance_said(distance: Distance) -> tuple[Phrase, Phrase | None]:
    """A distance's name, and that it is not computed, where something is missing for it; a length without sign."""
    beyond = distance.code == "box-change" and (distance.distance_mm or 0.0) < 0
    name = phrase("cell.distance.box-beyond") if beyond else phrase(f"cell.distance.{distance.code}")
    return name, lacking(distance.missing) if distance.missing else None


def layout_lines(layout: CellLayout, handler: str) -> tuple[Phrase, ...]:
    """From where distances count, what was stated, what people cost; what is missing and where it is entered."""
    lines = [phrase("cell.measured-from", reach_mm=layout.part_reach_mm)]
    if layout.arm_reach_mm is not None:
        lines.append(phrase("cell.from-flange", arm_mm=layout.arm_reach_mm))
    lines.append(phrase("cell.no-joints"))
    stated = dict(layout.stated)
    said = {
        "slow": _stated(stated["restart_from_slow"]),
        "stop": _stated(stated["restart_from_stop"]),
        "unseen": _stated(stated["undetected_person"]),
    }
    lines.append(phrase("cell.stated", slow=said["slow"], stop=said["stop"], unseen=said["unseen"]))
    if layout.has_cell and layout.missing:
        lines.append(phrase("cell.where-to-enter", handler=handler))
    return tuple(lines)


def _stated(value: float | str | bool | None) -> Phrase:
    return NOT_STATED if value is None else phrase(f"cell.said.{value}")


def lost_line(layout: CellLayout) -> Phrase:
    """What people who come in cost of the run."""
    lost = layout.lost
    if lost.missing:
        return lacking(lost.missing)
    return phrase("cell.lost", each_s=lost.each_s, lost_min=lost.an_hour_min)
