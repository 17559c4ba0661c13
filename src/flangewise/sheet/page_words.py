"""What of a sheet takes more than a value in its place: wrong ways of laying the blank, limits, cautions, notes.

Cautions are printed where their condition holds: short, and none that clears anything. What holds for every part stands
in the fixed notice; a caution is what this very part asks for besides. There is no way to turn either off.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from flangewise.findings import Finding, Severity
from flangewise.pattern import QUARTER, Misload, misloads
from flangewise.punch_die import Mounting, may_crack
from flangewise.setup import Load, first_piece, stands_behind
from flangewise.sheet.blank_picture import hole_name
from flangewise.sheet.data import AnySheet, Identity, SheetData
from flangewise.sheet.job_words import fact_cells, head_cells, segments_text, tool_cells
from flangewise.sheet.loading_view import hole_place
from flangewise.sheet.marks import with_marks
from flangewise.sheet.step_findings import common_signs, said_at_a_step, sentence
from flangewise.sheet.step_words import (
    common_cells,
    common_hand,
    common_ways,
    sizes_of,
)
from flangewise.sheet.wording import Wording
from flangewise.words import Phrase, phrase, say

PIECES = ("run.first", "run.fifth", "run.every", "run.last")
HOLES_LISTED = 8
"""More holes than these do not go beside the loading picture; their places stand in the drawing that rides along."""
FEW_MEASURES = 9
"""A longer record leaves out a row of the run."""


def page_words(sheet: SheetData, identity: Identity, wording: Wording) -> dict[str, Any]:
    """What the template prints by name: sentences and lists of them, said; all else it takes from the sheet itself."""
    wrong = misload_lines(sheet, wording)
    rules = sorted({zone.allowance.rule for zone in sheet.pattern.zones})
    return {
        **job_words(sheet, rules, wording),
        "head": head_cells(sheet.part, identity, wording),
        "facts": fact_cells(sheet, wording),
        "stands": stand_lines(sheet, wording),
        "holes": _hole_places(sheet, wording),
        "seen": _seen(sheet, wording),
        "misload": " ".join((wording.word("misload.head"), *wrong)) if wrong else "",
        "cautions": [*map(wording.said, cautions(sheet)), *finding_lines(sheet, "caution", wording)],
    }


def job_words(sheet: AnySheet, rules: Sequence[str], wording: Wording) -> dict[str, Any]:
    """What is said alike of a section and of a panel: tools, limits, what all steps have, first piece, run, notes.

    `rules`: after which the blank is made.
    """
    common, (hand, of_all) = common_cells(sheet, wording) + common_ways(sheet, wording), common_hand(sheet, wording)
    governing, *others = [_load(load, wording) for load in sorted(sheet.loads, key=lambda load: -load.share)] or [""]
    limits = wording.word("limit.governing", line=governing) if governing else wording.word("limit.none")
    loads = f"{wording.word('section.limits')} {' · '.join(others)}." if others else ""
    notes = " ".join(finding_lines(sheet, "note", wording))
    notes = f"{wording.word('section.notes')} {notes}" if notes else ""
    single = len(sheet.steps) == 1
    short = len(sheet.measures) <= FEW_MEASURES and not single
    return {
        "tools": [tool_cells(mounting, wording) for mounting in sheet.mountings],
        "checked": sentence(limits),
        "openings": wording.word("openings" if of_all else "openings-else", hand=hand) if hand else "",
        "seats": touch_off_lines(sheet, wording),
        "every_step": common_signs(sheet, wording),
        "common_line": f"{wording.word('common')} {' · '.join(common)}." if common else "",
        "first_piece": [sentence(wording.said(each)) for each in first_piece(sheet.setup.steps)][
            : 1 if single else None
        ],
        "advised": "" if single else wording.word("first.order"),
        "tolerances": _tolerances(sheet, rules, wording),
        "run": _run(sheet, wording),
        "told_last": " ".join(each for each in (loads, notes) if each),
        "pieces": PIECES if short else PIECES[:1] + PIECES[-1:],
    }


def stand_lines(sheet: SheetData, wording: Wording) -> list[list[str]]:
    """Of each pair where its stations stand on the bed, with their segments from left to right."""
    return [_stands(sheet, mounting, wording) for mounting in sheet.mountings]


def _stands(sheet: SheetData, mounting: Mounting, wording: Wording) -> list[str]:
    return [
        wording.word(
            "tool.station",
            start=wording.length(station.from_mm, 1.0),
            end=wording.length(station.to_mm, 1.0),
            punch=segments_text(station.segments, wording),
            die=segments_text(station.die_segments, wording),
        )
        for station in sheet.stations_of(mounting)
    ]


def _tolerances(sheet: AnySheet, rules: Sequence[str], wording: Wording) -> str:
    """Where the tolerances come from, and after which rule the blank is made."""
    told = sheet.part.tolerances
    legs = wording.word("tolerance-drawing" if told.legs_mm is not None else "tolerance-general")
    angles = wording.word("tolerance-drawing" if told.angle_deg is not None else "tolerance-general")
    sizes = wording.word(f"legs-{sizes_of(sheet.part)}")
    return wording.word("tolerances", angles=angles, legs=legs, sizes=sizes, rule=", ".join(rules))


def _run(sheet: AnySheet, wording: Wording) -> str:
    """What a part takes, the set-up, and both for the whole quantity: quantity times cycle and set-up."""
    setup, quantity = sheet.setup, sheet.part.quantity
    seconds, minutes = wording.plain(setup.cycle_s, 0), wording.plain(setup.set_up_s / 60, 0)
    said = wording.word("run.cycle", seconds=seconds, minutes=minutes)
    if quantity:
        hours = wording.plain((quantity * setup.cycle_s + setup.set_up_s) / 3600, 1)
        said += " " + wording.word("run.whole", quantity=str(quantity), hours=hours)
    return said


def cautions(sheet: SheetData) -> tuple[Phrase, ...]:
    """The cautions of a sheet, in the order in which they matter at the machine."""
    thickness_mm = sheet.part.thickness_mm
    trap = any(stands_behind(step.before.outline_mm, thickness_mm) for step in sheet.steps)
    return job_cautions(sheet, trap=trap, wants_two=sheet.pattern.wants_two, has_run=sheet.run is not None)


def job_cautions(sheet: AnySheet, *, trap: bool, wants_two: bool, has_run: bool = False) -> tuple[Phrase, ...]:
    """What this very job asks for besides: `trap`, a leg stands up behind; `wants_two`, heavy or long.

    `has_run`: a page of the run follows, which says what a robot asks for.
    """
    holds = {
        "trap": trap,
        "overload": any(load.is_near for load in sheet.loads),
        "cracking": may_crack(sheet.findings, sheet.material, sheet.part.thickness_mm),
        "heavy": wants_two,
        "clamps": any(station.has_short_segment for station in sheet.setup.stations),
        "turned": any(each.turned for each in sheet.mountings),
        "neck": _neck_is_loaded(sheet),
        "robot": sheet.handler.kind == "robot" and not has_run,
    }
    return tuple(phrase(f"sheet.caution.{code}") for code, asked in holds.items() if asked)


def _neck_is_loaded(sheet: AnySheet) -> bool:
    """Whether a punch with a neck carries so much of its rating that the user is told; where it stands low, it goes
    without saying."""
    necks = {each.pair.tools.punch_name for each in sheet.mountings if each.pair.is_set_back}
    carried = {phrase("sheet.limit.body.punch", name=name) for name in necks}
    return any(load.is_near and load.body in carried for load in sheet.loads)


def finding_lines(sheet: AnySheet, severity: Severity, wording: Wording) -> list[str]:
    """Cautions or notes of no one step, each with its place; what is said of several bends is said once."""
    there = said_at_a_step(sheet)
    return placed((each for each in sheet.findings if each.severity == severity and each not in there), wording)


def placed(findings: Iterable[Finding], wording: Wording) -> list[str]:
    """Findings in words with their places in front."""
    said: dict[tuple[str, str], list[str]] = {}
    for finding in findings:
        kind = finding.where.code if finding.where is not None else ""
        numbers = dict(with_marks(finding.where).values) if finding.where is not None else {}
        said.setdefault((kind, wording.said(finding.phrase)), []).append(str(numbers.get("number", "")))
    lines = []
    for (kind, text), places in said.items():
        where = say(phrase(kind, number=", ".join(places)), wording.lang) if kind else ""
        lines.append(sentence(wording.word("finding-at", place=where, text=text) if kind else text))
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
    return f"{wording.word('blank.hole-places')} {'; '.join(told)}" if told else ""


def misload_lines(sheet: SheetData, wording: Wording) -> list[str]:
    """The wrong ways in words, those told by the same look together; then what no hole can tell."""
    found = misloads(sheet.pattern, sheet.part)
    ways: dict[str, list[str]] = {}
    for each in found:
        ways.setdefault(_look(each, sheet, wording), []).append(wording.word(f"misload.{each.way}"))
    lines = [wording.word("misload.line", way="; ".join(names), look=look) for look, names in ways.items()]
    # The first goes on behind a colon.
    lines[1:] = map(sentence, lines[1:])
    # Where no hole tells, the look itself is the mark, and is said once.
    if any(each.face and each.hole is not None for each in found) and wording.word("misload.look-face") not in ways:
        lines.append(wording.word("misload.face"))
    return lines


def _seen(sheet: SheetData, wording: Wording) -> str:
    """What tells how the first blank lies: its mark from above, or, where that is underneath, what then can be seen."""
    step, part = sheet.steps[0], sheet.part
    if step.keyed.marked_face == "up":
        return wording.word("seen-up")
    told = []
    if sheet.pattern.holes:
        places = {hole: hole_place(hole, sheet.pattern, step) for hole in sheet.pattern.holes}
        nearest = min(places, key=lambda hole: (round(places[hole][1], 2), places[hole][0]))
        left, back = (wording.size(round(mm, 1)) for mm in places[nearest])
        told.append(wording.word("seen-hole", hole=hole_name(nearest), left=left, back=back))
    if part.burr != "unknown":
        told.append(wording.word("burr-up" if part.burr == "other" else "burr-down"))
    if part.film in ("marked", "other"):
        told.append(wording.word("film-up" if part.film == "other" else "film-down"))
    return wording.word("seen-down", what="; ".join(told) or wording.word("seen-nothing"))


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


def touch_off_lines(sheet: AnySheet, wording: Wording) -> list[str]:
    """Expected shut height of each pair, to be compared with what the machine reads after touch-off."""
    heights: dict[str, list[str]] = {}
    for number, mounting in enumerate(sheet.mountings, start=1):
        heights.setdefault(wording.length(mounting.pair.tools.shut_height_mm, 0.01), []).append(str(number))
    if len(heights) == 1:
        return [wording.word("touch-off.seats", height=height) for height in heights]
    return [
        wording.word("touch-off.pair", number=", ".join(numbers), height=height) for height, numbers in heights.items()
    ]


def _load(load: Load, wording: Wording) -> str:
    load_said, most_said = (wording.written(f"load_{load.unit}", each) for each in (load.load, load.most))
    values = {"load": load_said, "most": most_said, "share": wording.plain(load.share * 100, 0)}
    return wording.word(f"limit.{load.unit}", body=load.body, step=str(load.step), **values)
