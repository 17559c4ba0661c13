"""What of a sheet takes more than a value in its place: wrong ways of laying the blank, limits, cautions, notes, hits.

Cautions are printed where their condition holds: short, and none that clears anything. What holds for every part stands
in the fixed notice; a caution is what this very part asks for besides. There is no way to turn either off.
"""

from functools import partial
from typing import Any

from flangewise.findings import Severity
from flangewise.pattern import QUARTER, Misload, misloads
from flangewise.punch_die import may_crack
from flangewise.sequence import Hold
from flangewise.setup import Correction, Load, SetupStep, first_piece, stands_behind
from flangewise.sheet.blank_picture import hole_name
from flangewise.sheet.data import SheetData, SheetStep
from flangewise.sheet.loading_view import hole_place
from flangewise.sheet.wording import MISSING, Wording
from flangewise.units import trimmed
from flangewise.words import Phrase, Value, phrase, say

HOLES_LISTED = 8
"""More holes than these do not go beside the loading picture; their places stand in the drawing that rides along."""
MINUS = "−"
TIMES_DIGITS = 2


def page_words(sheet: SheetData, wording: Wording) -> dict[str, Any]:
    """What the template prints by name: sentences and lists of them, said; all else it takes from the sheet itself."""
    rules = {zone.allowance.rule for zone in sheet.pattern.zones}
    return {
        "hole_places": _hole_places(sheet, wording),
        "allowances": ", ".join(sorted({wording.word("named", words=rule) for rule in rules})),
        "misloads": _misloads(sheet, wording),
        "touch_off": _touch_off(sheet, wording),
        "limits": [_load(load, wording) for load in sorted(sheet.loads, key=lambda load: -load.share)],
        "cautions": [*map(wording.said, cautions(sheet)), *_finding_words(sheet, "caution", wording)],
        "notes": _finding_words(sheet, "note", wording),
        "first_piece": [sentence(wording.said(each)) for each in first_piece(sheet.setup.steps)],
    }


def cautions(sheet: SheetData) -> tuple[Phrase, ...]:
    """The cautions of a sheet, in the order in which they matter at the machine."""
    thickness_mm, mountings = sheet.part.thickness_mm, sheet.mountings
    holds = {
        "trap": any(stands_behind(step.before.outline_mm, thickness_mm) for step in sheet.steps),
        "overload": any(load.is_near for load in sheet.loads),
        "cracking": may_crack(sheet.findings, sheet.material, thickness_mm),
        "heavy": sheet.pattern.wants_two,
        "clamps": any(station.has_short_segment for station in sheet.setup.stations),
        "turned": any(each.turned for each in mountings),
        "neck": any(each.pair.is_set_back for each in mountings),
        "robot": sheet.handler.kind == "robot",
    }
    return tuple(phrase(f"sheet.caution.{code}") for code, asked in holds.items() if asked)


def _finding_words(sheet: SheetData, severity: Severity, wording: Wording) -> list[str]:
    """Cautions or notes of the plan, each with its place; what is said of several bends is said once."""
    said: dict[tuple[str, str], list[str]] = {}
    for finding in (each for each in sheet.findings if each.severity == severity):
        kind = finding.where.code if finding.where is not None else ""
        numbers = dict(finding.where.values) if finding.where is not None else {}
        said.setdefault((kind, finding.text(wording.lang, wording.units)), []).append(str(numbers.get("number", "")))
    lines = []
    for (kind, text), places in said.items():
        where = say(phrase(kind, number=", ".join(places)), wording.lang) if kind else ""
        lines.append(wording.word("finding-at", place=where, text=text) if kind else text)
    return lines


def _hole_places(sheet: SheetData, wording: Wording) -> str:
    """Each hole by its letter with its size and place, as many as fit beside the picture."""
    holes = sheet.pattern.holes
    told = []
    for hole in holes[:HOLES_LISTED]:
        along, developed = map(wording.size, hole.centre_mm)
        sides = " × ".join(map(wording.size, hole.size_mm)) if hole.size_mm is not None else ""
        values = {"hole": hole_name(hole), "size": sides or f"Ø {wording.size(hole.diameter_mm)}"}
        told.append(wording.word("blank.hole-at", along=along, developed=developed, **values))
    if len(holes) > HOLES_LISTED:
        told.append(wording.word("blank.holes-more", count=len(holes) - HOLES_LISTED))
    return "; ".join(told)


def _misloads(sheet: SheetData, wording: Wording) -> list[str]:
    """The wrong ways in words, those told by the same look together; then what no hole can tell."""
    found = misloads(sheet.pattern, sheet.part)
    ways: dict[str, list[str]] = {}
    for each in found:
        ways.setdefault(_look(each, sheet, wording), []).append(wording.word(f"misload.{each.way}"))
    lines = [wording.word("misload.line", way="; ".join(names), look=look) for look, names in ways.items()]
    if any(each.face and each.hole is not None for each in found):
        lines.append(wording.word("misload.face"))
    return lines


def _look(each: Misload, sheet: SheetData, wording: Wording) -> str:
    """The one thing that tells a wrong way best."""
    if each.hole is not None:
        left_mm, back_mm = hole_place(each.hole, sheet.pattern, sheet.steps[0])
        left, back = wording.size(round(left_mm, 1)), wording.size(round(back_mm, 1))
        return wording.word("misload.look-hole", hole=hole_name(each.hole), left=left, back=back)
    if each.face:
        return wording.word("misload.look-face")
    if each.way in QUARTER:
        along, across = wording.size(sheet.pattern.along_bends_mm), wording.size(sheet.pattern.developed_mm)
        looks = [wording.word("misload.look-grain")] if each.grain else []
        looks += [wording.word("misload.look-sides", along=along, across=across)] if each.lines else []
        return "; ".join(looks)
    return wording.word("misload.look-mark")


def _touch_off(sheet: SheetData, wording: Wording) -> list[str]:
    """Expected shut height of each pair, to be compared with what the machine reads after touch-off."""
    heights: dict[str, list[str]] = {}
    for number, mounting in enumerate(sheet.mountings, start=1):
        heights.setdefault(wording.length(mounting.pair.tools.shut_height_mm, 0.01), []).append(str(number))
    return [
        wording.word("touch-off.pair", number=", ".join(numbers), height=height) for height, numbers in heights.items()
    ]


def _load(load: Load, wording: Wording) -> str:
    written = wording.force if load.unit == "kn" else partial(wording.plain, digits=0)
    values = {"load": written(load.load), "most": written(load.most), "share": wording.plain(load.share * 100, 0)}
    return wording.word(f"limit.{load.unit}", body=load.body, step=str(load.step), **values)


def sentence(words: str) -> str:
    """Words that may stand alone: a capital in front, a point behind."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def moves_before(step: SheetStep, wording: Wording, *, first: bool) -> list[str]:
    """What is done with the part before the hit, a sentence a move; where nothing is, that it is not."""
    moves = [sentence(wording.said(move)) for move in step.moves]
    return moves or [wording.word("move-first" if first else "move-none")]


def heading(step: SheetStep, wording: Wording) -> str:
    """Which bends the hit makes, how far and which way they turn."""
    keyed, zone = step.keyed, step.zones[0]
    turn_deg = 180.0 - keyed.finished_deg if keyed.hit == "pre-bend" else zone.turn_deg
    way = wording.word("toward" if zone.toward else "away")
    return wording.word(f"hit.{keyed.hit}", bends=", ".join(step.labels), turn=f"{trimmed(turn_deg, 1)}°", way=way)


def step_lines(sheet: SheetData, step: SetupStep, wording: Wording) -> list[str]:
    """What needs a sentence: the edge on the stops, why this opening, the leg that comes out."""
    height, reason = wording.opening(step.ram.opening.open_height_mm), wording.said(step.ram.opening.reason)
    bend = {"bend": step.gauged_bend or 0} if step.gauged_on == "flange" else {}
    lines = [
        wording.word("step.gauged", edge=wording.word(f"gauge.{step.gauged_on or 'none'}", **bend)),
        wording.word("step.open-because", height=height, reason=reason),
        correction_line(sheet, step, wording),
        _held(step.hold, wording) if step.hold is not None else "",
    ]
    return [line for line in lines if line]


def _held(hold: Hold, wording: Wording) -> str:
    """How much of the part lies in front and how much behind, and what holds it."""
    values: dict[str, Value] = {
        "front": wording.size(hold.front_mm // 1),
        "front_kg": round(hold.front_kg, 2),
        "behind_kg": round(hold.behind_kg, 2),
        "by": wording.said(phrase(f"hold.{hold.by}")),
    }
    tips = {"moment_nm": hold.moment_nm} if hold.tips == "behind" else {}
    return wording.word("step.hold-tips" if tips else "step.hold", **tips, **values)


def correction_line(sheet: SheetData, step: SetupStep, wording: Wording) -> str:
    """What one hit says, empty without stops: its leg and the sign, what else changes, and when the leg can be read."""
    found = step.correction
    if found is None:
        return wording.word("step.correct-none") if step.hit == "flatten" else ""
    size = wording.size(found.nominal_mm)
    size += "" if found.plus_minus_mm is None else f" ±{wording.size(found.plus_minus_mm)}"
    said = [wording.word("step.correct", leg=str(found.leg), size=size, change=_change(found))]
    if found.also:
        rates = ((leg, f"{_sign(rate)}{trimmed(abs(rate), TIMES_DIGITS)}") for leg, rate in found.also)
        shifted = (wording.word("step.leg-by", leg=str(leg), by=rate) for leg, rate in rates)
        said.append(wording.word("step.correct-also", legs=", ".join(shifted)))
    if found.read_after != step.step:
        folded = step.hit == "pre-bend" and sheet.part.section.sizes == "outside"
        code = "step.read-fold" if folded else "step.read-after"
        said.append(wording.word(code, leg=str(found.leg), step=str(found.read_after)))
    return " ".join(said)


def correction_cell(sheet: SheetData, leg: int, wording: Wording) -> str:
    """What to do at which step where a leg is too long; of a leg that no stop sets, nothing: the blank does."""
    told = [
        wording.word("first.x-step", change=_change(step.correction), step=str(step.step))
        for step in sheet.setup.steps
        if step.correction is not None and step.correction.leg == leg
    ]
    return "; ".join(told) or MISSING


def _change(found: Correction) -> str:
    """X with its sign, and how many times the error where gauging past a slope makes it other than once."""
    sign = _sign(found.x_per_mm)
    times = trimmed(abs(found.x_per_mm), TIMES_DIGITS)
    return f"X {sign}" if times == "1" else f"X {sign} {times} ×"


def _sign(rate: float) -> str:
    return "+" if rate > 0 else MINUS
