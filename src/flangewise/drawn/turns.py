"""The turn of each drawn line: by an entry of the part file, a text beside it, or what the file says of the others."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence

from flangewise.drawn.blank import BendEntry, DrawnWish, LineBend, SaidBy
from flangewise.drawn.pieces import DrawnText
from flangewise.drawn.strokes import DrawnStroke
from flangewise.drawn.told import at, line_place, shown
from flangewise.findings import Finding, note, refuse
from flangewise.records import dataclass
from flangewise.units import trimmed

# An entry speaks of the nearest line, if that is no further off than this.
ENTRY_MM = 5.0
# A text stands beside a line if it is put in no further off than this.
BESIDE_MM = 25.0
# Of lines whose distances to a text differ by less than this, it is not known which is meant.
ALIKE_MM = 0.5
RIGHT_ANGLE_DEG = 90.0
FULL_FOLD_DEG = 180.0
# Of very many texts the first.
MOST_SHOWN = 5

_NUMBER = r"(\d{1,6}(?:[.,]\d{1,6})?)"
_SAID = re.compile(rf"(?:(turn|included)\s*)?{_NUMBER}\s*(?:°|deg)?(?:[\s,;]+r\s*{_NUMBER})?", re.IGNORECASE)


@dataclass(frozen=True)
class DrawnTurn:
    """What is said of one line: its bend, by whom, and which entry of the part file speaks of it."""

    bend: LineBend
    said_by: SaidBy
    entry: int | None


@dataclass(frozen=True)
class Turns:
    """What is said of each line, by its number; lines of which nothing is said are among the faults."""

    by_line: Mapping[int, DrawnTurn]
    findings: tuple[Finding, ...]


def turns_of(lines: Sequence[DrawnStroke], wish: DrawnWish, texts: Sequence[DrawnText], unit_mm: float) -> Turns:
    """The turn and radius of each line, each from the first that names it: entry, text, the file's `bend`.

    Lengths in a text are in the drawing's unit.
    """
    findings: list[Finding] = []
    entries = _entries(lines, wish.entries, findings)
    told = _texts(lines, texts, unit_mm, findings)
    by_line: dict[int, DrawnTurn] = {}
    for line in lines:
        place = entries.get(line.number)
        entry = None if place is None else wish.entries[place]
        text, rest = told.get(line.number), wish.bend
        saying: list[tuple[SaidBy, BendEntry | LineBend | None]] = [("entry", entry), ("text", text), ("file", rest)]
        said = [(said_by, each) for said_by, each in saying if each is not None]
        radii_mm = [each.radius_mm for _, each in said if each.radius_mm is not None]
        turns = [(each.turn_deg, said_by) for said_by, each in said if each.turn_deg is not None]
        if not turns:
            findings.append(refuse("drawn-no-turn", line_place(line.number), place=at(line.at_mm(line.length_mm / 2))))
        else:
            turn_deg, said_by = turns[0]
            by_line[line.number] = DrawnTurn(LineBend(turn_deg, radii_mm[0] if radii_mm else None), said_by, place)
    return Turns(by_line, tuple(findings))


def _entries(lines: Sequence[DrawnStroke], entries: Sequence[BendEntry], findings: list[Finding]) -> dict[int, int]:
    """The place of the entry that speaks of each line, by the line's number."""
    by_line: dict[int, int] = {}
    for place, entry in enumerate(entries):
        where = at(entry.near_mm)
        near = min(lines, key=lambda line: line.apart_mm(entry.near_mm), default=None)
        if near is None or not near.apart_mm(entry.near_mm) <= ENTRY_MM:
            findings.append(refuse("drawn-entry-far", where, entry=place + 1, most_mm=ENTRY_MM))
        elif near.number in by_line:
            told = {"entry": place + 1, "other": by_line[near.number] + 1, "line": near.number}
            findings.append(refuse("drawn-entries-meet", where, **told))
        else:
            by_line[near.number] = place
        if entry.turn_deg is not None and not 0 < entry.turn_deg < FULL_FOLD_DEG:
            findings.append(refuse("drawn-turn-range", where, turn_deg=entry.turn_deg))
    return by_line


def _texts(
    lines: Sequence[DrawnStroke], texts: Sequence[DrawnText], unit_mm: float, findings: list[Finding]
) -> dict[int, LineBend]:
    """What the texts say of each line, by its number."""
    by_line: dict[int, dict[LineBend, DrawnText]] = defaultdict(dict)
    silent: list[str] = []
    for text in texts:
        if not re.search(r"\d", text.text):
            silent.append(shown(text.text))
            continue
        bend, fault = _read(text, unit_mm)
        line, astray = _beside(lines, text)
        findings += [each for each in (fault, astray) if each is not None]
        if bend is not None and line is not None:
            by_line[line.number].setdefault(bend, text)
    for number, said in sorted(by_line.items()):
        if len(said) > 1:
            both = [f"'{shown(text.text)}'" for text in said.values()]
            findings.append(refuse("drawn-texts-differ", line_place(number), texts=", ".join(both[:MOST_SHOWN])))
    if silent:
        findings.append(note("drawn-texts-left", count=len(silent), texts=", ".join(silent[:MOST_SHOWN])))
    return {number: next(iter(said)) for number, said in by_line.items()}


def _read(text: DrawnText, unit_mm: float) -> tuple[LineBend | None, Finding | None]:
    """The bend that a text names, or what is wrong with it. A bare angle but 90 is read both ways."""
    found, where, told = _SAID.fullmatch(text.text.strip()), at(text.at_mm), shown(text.text)
    if found is None:
        return None, refuse("drawn-text-unread", where, said=told)
    kind, angle_deg = (found[1] or "").lower(), _number(found[2])
    if not kind and angle_deg != RIGHT_ANGLE_DEG:
        return None, refuse("drawn-text-bare", where, said=told, angle=trimmed(angle_deg, 3))
    turn_deg = FULL_FOLD_DEG - angle_deg if kind == "included" else angle_deg
    if not 0 < turn_deg < FULL_FOLD_DEG:
        return None, refuse("drawn-turn-range", where, turn_deg=turn_deg)
    return LineBend(turn_deg, None if found[3] is None else _number(found[3]) * unit_mm), None


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _beside(lines: Sequence[DrawnStroke], text: DrawnText) -> tuple[DrawnStroke | None, Finding | None]:
    """The line of its layer that a text stands beside, or why it is not known."""
    near = sorted((line.apart_mm(text.at_mm), line.number, line) for line in lines if line.toward == text.toward)
    told, where = shown(text.text), at(text.at_mm)
    if not near or not near[0][0] <= BESIDE_MM:
        return None, refuse("drawn-text-astray", where, said=told, most_mm=BESIDE_MM)
    if len(near) > 1 and near[1][0] - near[0][0] < ALIKE_MM and near[1][2].carrier != near[0][2].carrier:
        lines_told = {"line": near[0][1], "other": near[1][1]}
        return None, refuse("drawn-text-between", where, said=told, **lines_told)
    return near[0][2], None
