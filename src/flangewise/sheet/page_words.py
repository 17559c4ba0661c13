"""What of a sheet takes more than a value in its place: wrong ways of laying the blank, limits, cautions, notes."""

from typing import Any

from flangewise.findings import Severity
from flangewise.pattern import QUARTER, FlatHole, Misload, misloads
from flangewise.setup import Load, first_piece
from flangewise.sheet.blank_picture import hole_name
from flangewise.sheet.cautions import cautions
from flangewise.sheet.data import SheetData
from flangewise.sheet.step_words import sentence
from flangewise.sheet.top_view import hole_place
from flangewise.sheet.wording import Wording
from flangewise.words import phrase, say

HOLES_LISTED = 8
"""More holes than these do not go beside the loading picture; their places stand in the drawing that rides along."""


def page_words(sheet: SheetData, wording: Wording) -> dict[str, Any]:
    """What the template prints by name: sentences and lists of them, said; all else it takes from the sheet itself."""
    return {
        "hole_places": _hole_places(sheet, wording),
        "allowances": ", ".join(
            sorted({wording.word("named", words=zone.allowance.rule) for zone in sheet.pattern.zones})
        ),
        "misloads": _misloads(sheet, wording),
        "touch_off": _touch_off(sheet, wording),
        "limits": [_load(load, wording) for load in sorted(sheet.loads, key=lambda load: -load.share)],
        "cautions": [*map(wording.said, cautions(sheet)), *_finding_words(sheet, "caution", wording)],
        "notes": _finding_words(sheet, "note", wording),
        "first_piece": [sentence(wording.said(each)) for each in first_piece(sheet.setup.steps)],
    }


def _finding_words(sheet: SheetData, severity: Severity, wording: Wording) -> list[str]:
    """Cautions or notes of the plan, each with its place; what is said of several bends is said once."""
    said: dict[tuple[str, str], list[str]] = {}
    for finding in (each for each in sheet.findings if each.severity == severity):
        kind = finding.where.code if finding.where is not None else ""
        numbers = dict(finding.where.values) if finding.where is not None else {}
        said.setdefault((kind, finding.text(wording.lang, wording.units)), []).append(str(numbers.get("number", "")))
    return [_at(kind, numbers, text, wording) for (kind, text), numbers in said.items()]


def _at(kind: str, numbers: list[str], text: str, wording: Wording) -> str:
    if not kind:
        return text
    where = say(phrase(kind, number=", ".join(numbers)), wording.lang)
    return wording.word("finding-at", place=where, text=text)


def _hole_places(sheet: SheetData, wording: Wording) -> str:
    """Each hole by its letter with its size and place, as many as fit beside the picture."""
    holes = sheet.pattern.holes
    told = [
        wording.word(
            "blank.hole-at",
            hole=hole_name(hole),
            size=_hole_size(hole, wording),
            along=wording.size(hole.centre_mm[0]),
            developed=wording.size(hole.centre_mm[1]),
        )
        for hole in holes[:HOLES_LISTED]
    ]
    if len(holes) > HOLES_LISTED:
        told.append(wording.word("blank.holes-more", count=len(holes) - HOLES_LISTED))
    return "; ".join(told)


def _hole_size(hole: FlatHole, wording: Wording) -> str:
    if hole.size_mm is not None:
        return " × ".join(wording.size(size_mm) for size_mm in hole.size_mm)
    return f"Ø {wording.size(hole.diameter_mm)}"


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
        sides = {
            "along": wording.size(sheet.pattern.along_bends_mm),
            "across": wording.size(sheet.pattern.developed_mm),
        }
        looks = [wording.word("misload.look-grain")] if each.grain else []
        looks += [wording.word("misload.look-sides", **sides)] if each.lines else []
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
    return wording.word(
        f"limit.{load.unit}",
        body=load.body,
        load=wording.force(load.load) if load.unit == "kn" else wording.plain(load.load, 0),
        most=wording.force(load.most) if load.unit == "kn" else wording.plain(load.most, 0),
        share=wording.plain(load.share * 100, 0),
        step=str(load.step),
    )
