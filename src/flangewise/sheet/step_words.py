"""The words of a step: its moves, its heading, what lies on the stops, what to read and how to put it right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from flangewise.part import Part
from flangewise.sequence import Hold
from flangewise.setup import Correction, SetupStep
from flangewise.sheet.data import AnySheet, AnyStep, Measure
from flangewise.sheet.marks import bend_mark, bend_marks
from flangewise.sheet.step_findings import concerns, sentence
from flangewise.sheet.wording import MISSING, Wording
from flangewise.units import trimmed
from flangewise.words import Phrase, Value, catalogue, phrase

if TYPE_CHECKING:
    from flangewise.part import PanelPart

MINUS, BETWEEN = "−", " · "
SHIFTS = ("move.shift-left", "move.shift-right")
TIMES_DIGITS = 2
LITTLE_IN_FRONT = "hold-little-in-front"


def bends_of(step: AnyStep) -> str:
    """The letters of the bends a hit makes."""
    return ", ".join(dict.fromkeys(bend_mark(zone.bend) for zone in step.zones))


def boxes_of(step: AnyStep) -> list[str]:
    """The boxes of a hit to write in: what is keyed in and what is read, as far as it has them."""
    keyed = step.keyed
    asked = {
        "box.depth": True,
        "box.angle": keyed.hit in ("bend", "pre-bend"),
        "box.x": keyed.stops.x_mm is not None,
        "box.leg": keyed.correction is not None,
    }
    return [code for code, is_asked in asked.items() if is_asked]


def moves_before(step: AnyStep, wording: Wording, *, first: bool) -> list[tuple[str, str]]:
    """What is done with the part before the hit: the sign of each move and its words, or that it is left."""
    moves = [(move.code, _move_words(move.code, dict(move.values), wording)) for move in step.moves]
    return moves or [("", wording.word("move-first" if first else "move-none"))]


def _move_words(code: str, values: dict[str, Value], wording: Wording) -> str:
    """The short words of a move that stand beside its sign; a phrase without such words as it came."""
    if code in SHIFTS:
        # Where tools stand is told as it is told where they are to be collected.
        ends = (float(str(values[name])) for name in ("from_mm", "to_mm"))
        start, end = (wording.length(mm, 1.0) for mm in ends)
        return wording.word(code, start=start, end=end)
    if f"sheet.{code}" in catalogue(wording.lang):
        if "open_mm" in values:
            values["open"] = wording.opening(float(str(values.pop("open_mm"))))
        return wording.said(phrase(f"sheet.{code}", **values))
    return sentence(wording.said(phrase(code, **values)))


def heading(step: AnyStep, wording: Wording) -> str:
    """How far the hit bends and which way."""
    keyed, zone = step.keyed, step.zones[0]
    turn_deg = 180.0 - keyed.finished_deg if keyed.hit == "pre-bend" else zone.turn_deg
    way = wording.word("toward" if zone.toward else "away")
    return wording.word(f"hit.{keyed.hit}", turn=wording.written("turn_deg", turn_deg), way=way)


def gauged_on(step: SetupStep, wording: Wording) -> str:
    """What lies on the stops, or how a hem goes in without."""
    if step.hit == "flatten":
        return wording.word("step.hem-by-hand")
    bend = {"bend": bend_mark(step.gauged_bend or 1)} if step.gauged_on == "flange" else {}
    return wording.word("step.gauged", edge=wording.word(f"gauge.{step.gauged_on or 'none'}", **bend))


def common_cells(sheet: AnySheet, wording: Wording) -> list[str]:
    """What does not change from step to step, said once; what is nothing on this machine is left out."""
    rows = [dict(lesser_cells(step.keyed, wording)) for step in sheet.steps]
    names = dict.fromkeys(name for row in rows for name in row)
    return [rows[0][name] for name in names if len({row.get(name) for row in rows}) == 1]


def common_hand(sheet: AnySheet, wording: Wording) -> tuple[str, bool]:
    """By how much more than must pass the tools open, said once where it is said alike of most steps, else nothing;
    and whether it holds for all."""
    told = [_hand_words(step.keyed.ram.opening.reason, wording) for step in sheet.steps]
    most = max(told, key=told.count)
    if not most or 2 * told.count(most) <= len(told):
        return "", False
    return most, told.count(most) == len(told)


def _hand_words(reason: Phrase, wording: Wording) -> str:
    """What the reason of an opening says of what is kept in hand."""
    hand = dict(reason.values).get("hand")
    return wording.said(hand) if isinstance(hand, Phrase) else ""


def common_ways(sheet: AnySheet, wording: Wording) -> list[str]:
    """What holds the part and the angle under load, said once where they are the same at all of several steps."""
    held, loaded = _same_hold(sheet), _same_load(sheet, wording)
    told = [wording.word("every-hold", by=wording.said(phrase(f"hold.{held}")))] if held else []
    return told + ([f"{wording.word('step.loaded')} {loaded}"] if loaded else [])


def _same_hold(sheet: AnySheet) -> str:
    return _the_same([_by(sheet, step) for step in sheet.steps])


def _same_load(sheet: AnySheet, wording: Wording) -> str:
    return _the_same([_loaded(sheet, step, wording) for step in sheet.steps])


def _the_same(told: Sequence[str]) -> str:
    """What is told of all of several steps, else nothing."""
    return told[0] if len(told) > 1 and len(set(told)) == 1 else ""


def _by(sheet: AnySheet, step: AnyStep) -> str:
    """What holds the part at a step, where that is all there is to say of it."""
    hold = step.keyed.hold
    told = hold is not None and step.keyed.gripped is None and hold.tips != "behind" and not _little(sheet, step)
    return hold.by if hold is not None and told else ""


def _loaded(sheet: AnySheet, step: AnyStep, wording: Wording) -> str:
    """The angle under load, where it is not what is keyed in."""
    ram = step.keyed.ram
    if sheet.machine.keyed == "angle" or ram.bend_to_deg is None or ram.depth_mm is None:
        return ""
    return wording.angle(ram.bend_to_deg)


def _little(sheet: AnySheet, step: AnyStep) -> bool:
    """Whether too little lies in front, which its caution says with the hold it asks for."""
    return any(each.code == LITTLE_IN_FRONT and concerns(sheet, each, step) for each in sheet.findings)


def _own_cells(sheet: AnySheet, step: SetupStep, wording: Wording) -> list[str]:
    """What is not the same at every step."""
    common = common_cells(sheet, wording)
    return [words for _, words in lesser_cells(step, wording) if words not in common]


def lesser_cells(step: SetupStep, wording: Wording) -> Iterator[tuple[str, str]]:
    """What is keyed in beside the row of figures, by name; nothing for a zero."""
    ram = step.ram
    cells = {
        "slow": wording.length(ram.slow_from_mm, 0.1),
        "speed": wording.speed(ram.speed.ram_speed_mm_per_s),
        "retract": wording.retract(step.stops.retract_mm) if step.stops.retract_mm else "",
        "crowning": wording.length(ram.bow.crowning_mm, 0.01) if round(ram.bow.crowning_mm or 0.0, 2) else "",
    }
    for name, value in cells.items():
        if value:
            yield name, f"{wording.word(f'step.{name}')} {value}"


def keyed_line(sheet: AnySheet, step: AnyStep, wording: Wording) -> str:
    """What else is keyed in at this step and is not the same at every one; below the figures, as large as these are."""
    own = _own_cells(sheet, step.keyed, wording)
    if sheet.machine.keyed == "angle" and step.keyed.ram.bend_to_deg is not None:
        own += [f"{wording.word('step.depth')} {wording.depth(step.keyed.ram.depth_mm)}"] * (
            step.keyed.ram.depth_mm is not None
        )
    return sentence(BETWEEN.join(own)) if own else ""


def step_lines(sheet: AnySheet, step: AnyStep, wording: Wording) -> list[str]:
    """What need not be large: the angle under load, why this opening, how the part is held."""
    keyed, angle = step.keyed, "" if _same_load(sheet, wording) else _loaded(sheet, step, wording)
    loaded = sentence(f"{wording.word('step.loaded')} {angle}") if angle else ""
    height, reason = wording.opening(keyed.ram.opening.open_height_mm), keyed.ram.opening.reason
    if _hand_words(reason, wording) == common_hand(sheet, wording)[0]:
        reason = phrase(reason.code, **{**dict(reason.values), "hand": ""})
    held, once = keyed.hold is not None and not _little(sheet, step), bool(_same_hold(sheet))
    lines = [
        _held(keyed, keyed.hold, wording, once=once) if keyed.hold is not None and held else "",
        loaded,
        wording.word("step.open-because", height=height, reason=wording.said(reason).rstrip(". ")),
    ]
    return [line for line in lines if line]


def _held(keyed: SetupStep, hold: Hold, wording: Wording, *, once: bool) -> str:
    """How much of the part lies in front and how much behind, and what holds it: a gripper, where and whereby; a hand
    or a tool not where that is said `once` for all steps."""
    if keyed.gripped is not None:
        return wording.word("step.gripped", front=wording.size(hold.told_front_mm), grip=wording.said(keyed.gripped))
    if once:
        return wording.word("step.front", front=wording.size(hold.told_front_mm))
    values: dict[str, Value] = {
        "front": wording.size(hold.told_front_mm),
        "by": wording.said(phrase(f"hold.{hold.by}")),
    }
    tips = {"moment_nm": hold.moment_nm, "behind_kg": round(hold.behind_kg, 2)} if hold.tips == "behind" else {}
    return wording.word("step.hold-tips" if tips else "step.hold", **tips, **values)


def reads(sheet: AnySheet, step: AnyStep, wording: Wording) -> list[str]:
    """What to measure now: the angle with its tolerance and what corrects it, then the leg that X makes."""
    return [line for line in (_angle_line(sheet, step, wording), correction_line(sheet, step, wording)) if line]


def _angle_line(sheet: AnySheet, step: AnyStep, wording: Wording) -> str:
    """The angle at rest, what it may be off by, and the depth for each degree that it is too open."""
    keyed = step.keyed
    if keyed.hit not in ("bend", "pre-bend"):
        return ""
    half = keyed.planned.tolerance_deg
    size = f"{bends_of(step)} {wording.angle(keyed.finished_deg)}"
    size += "" if half is None else f" ±{wording.tolerance(half)}"
    said = [wording.word("step.read-angle", size=size)]
    if sheet.machine.keyed == "angle":
        said.append(wording.word("step.angle-open", change=f"{MINUS}1°"))
    elif keyed.mm_per_deg is not None:
        said.append(wording.word("step.too-open", change=f"+{wording.length(keyed.mm_per_deg, 0.001, 4)}"))
    return " ".join(said)


def correction_line(sheet: AnySheet, shown: AnyStep, wording: Wording) -> str:
    """What one hit says, empty without stops: its leg and the sign, what else changes, and when the leg can be read."""
    step = shown.keyed
    found = step.correction
    if found is None:
        return ""
    size = wording.size(found.nominal_mm)
    size += "" if found.plus_minus_mm is None else f" ±{wording.size(found.plus_minus_mm)}"
    said = [
        wording.word(
            f"{sheet.sizes_key}.correct", leg=sheet.sized(found.leg), size=size, change=_change(found, wording)
        )
    ]
    if found.also:
        rates = ((leg, f"{_sign(rate)}{wording.number(trimmed(abs(rate), TIMES_DIGITS))}") for leg, rate in found.also)
        shifted = (wording.word(f"{sheet.sizes_key}.leg-by", leg=sheet.sized(leg), by=rate) for leg, rate in rates)
        said.append(wording.word("step.correct-also", legs=", ".join(shifted)))
    if found.read_after != step.step:
        folded = step.hit == "pre-bend" and sizes_of(sheet.part) == "outside"
        code = "read-fold" if folded else "read-after"
        told = {"leg": sheet.sized(found.leg), "step": str(found.read_after)}
        said.append(wording.word(f"{sheet.sizes_key}.{code}", **told))
    return " ".join(said)


def sizes_of(part: Part | PanelPart) -> str:
    """Whether the legs, or the faces of a panel, are sized outside or inside."""
    return part.section.sizes if isinstance(part, Part) else part.panel.sizes


def correction_cell(sheet: AnySheet, leg: int, wording: Wording) -> str:
    """What to do at which step where a leg is too long; of a leg that no stop sets, nothing: the blank does."""
    told = [
        wording.word("first.x-step", change=_change(step.correction, wording), step=str(step.step))
        for step in sheet.setup.steps
        if step.correction is not None and step.correction.leg == leg
    ]
    return "; ".join(told) or MISSING


def _change(found: Correction, wording: Wording) -> str:
    """X with its sign, and how many times the error where gauging past a slope makes it other than once."""
    sign = _sign(found.x_per_mm)
    times = wording.number(trimmed(abs(found.x_per_mm), TIMES_DIGITS))
    return f"X {sign}" if times == "1" else f"X {sign} {times} ×"


def _sign(rate: float) -> str:
    return "+" if rate > 0 else MINUS


def measured(row: Measure, wording: Wording) -> str:
    """What a row of the record measures, by its mark: a leg L1, a bend A; a hem and an offset with a word more."""
    if row.leg is not None:
        return f"L{row.leg}"
    return bend_marks(str(dict(row.what.values)["number"])) if row.what.code == "place.bend" else wording.said(row.what)
