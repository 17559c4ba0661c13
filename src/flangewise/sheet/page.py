"""A sheet turned into what the template prints: words said, numbers written, pictures drawn. Still plain data."""

from dataclasses import dataclass

from flangewise.drawing import svg
from flangewise.findings import Severity
from flangewise.pattern import QUARTER, FlatHole, Misload, misloads
from flangewise.punch_die import Mounting, Station
from flangewise.setup import Load, first_piece
from flangewise.sheet.bed_picture import bed_picture, segments_text
from flangewise.sheet.blank_picture import blank_picture, hole_name
from flangewise.sheet.cautions import cautions
from flangewise.sheet.code import code_picture, identity_text
from flangewise.sheet.correction_words import correction_cell
from flangewise.sheet.data import Identity, SheetData
from flangewise.sheet.finish_picture import finish_picture
from flangewise.sheet.step_rows import Cell, StepRow, sentence, step_rows
from flangewise.sheet.top_view import hole_place
from flangewise.sheet.wording import MISSING, Wording
from flangewise.words import phrase, say

HOLES_LISTED = 8
"""More holes than these do not go beside the loading picture; their places stand in the drawing that rides along."""


@dataclass(frozen=True)
class ToolRow:
    """One pair to build: its cells, a line for each tool, and the segments of each station, left to right."""

    name: str
    punch: tuple[Cell, ...]
    die: tuple[Cell, ...]
    stations: tuple[str, ...]


@dataclass(frozen=True)
class MeasureRow:
    """One row of the first-piece record, its boxes empty."""

    what: str
    nominal: str
    allowed: str
    expected: str
    too_long: str
    instrument: str


@dataclass(frozen=True)
class Page:
    """All that the template prints."""

    part: str
    title: str
    revision: str
    units: str
    identity: str
    version: str
    replaces: str
    date: str
    code: str
    job: tuple[Cell, ...]
    notes: tuple[str, ...]
    material: tuple[Cell, ...]
    blank: tuple[Cell, ...]
    blank_picture: str
    misloads: tuple[str, ...]
    tools: tuple[ToolRow, ...]
    bed_picture: str
    touch_off: tuple[str, ...]
    governing: str
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    notes_on_part: tuple[str, ...]
    first_piece: tuple[str, ...]
    steps: tuple[StepRow, ...]
    finish_picture: str
    measures: tuple[MeasureRow, ...]
    cycle: str


def page(sheet: SheetData, identity: Identity, wording: Wording, *, loading_height_mm: float = 62.0) -> Page:
    """The whole sheet, said and drawn; the loading picture of page 1 as high as the paper leaves room for."""
    part = sheet.part
    code_words = identity_text(part.name, part.revision, identity.plan_hash)
    blank = blank_picture(sheet, sheet.steps[0], wording, width_mm=124.0, height_mm=loading_height_mm)
    return Page(
        part=part.name,
        title=part.title,
        revision=wording.word("revision", revision=part.revision) if part.revision else "",
        units=wording.word(f"units-{wording.units}"),
        identity=code_words.replace("|", " | "),
        version=wording.word("version", version=identity.version),
        replaces=wording.word("replaces", plan_hash=identity.replaces) if identity.replaces else "",
        date=identity.date,
        code=svg(code_picture(code_words, wording.word("alt.code"))),
        job=_job(sheet, wording),
        notes=part.notes,
        material=_material(sheet, wording),
        blank=_blank(sheet, wording),
        blank_picture=svg(blank),
        misloads=_misloads(sheet, wording),
        tools=tuple(_tools(sheet, each, number, wording) for number, each in enumerate(sheet.mountings, start=1)),
        bed_picture=svg(bed_picture(sheet, wording)),
        touch_off=tuple(_touch_off(sheet, wording)),
        governing=_governing(sheet.loads, wording),
        limits=tuple(_load(load, wording) for load in sorted(sheet.loads, key=lambda load: -load.share)),
        cautions=(*(wording.said(each) for each in cautions(sheet)), *_finding_words(sheet, "caution", wording)),
        notes_on_part=tuple(_finding_words(sheet, "note", wording)),
        first_piece=tuple(sentence(wording.said(each)) for each in first_piece(sheet.setup.steps)),
        steps=step_rows(sheet, wording),
        finish_picture=svg(finish_picture(sheet, wording)),
        measures=_measures(sheet, wording),
        cycle=wording.plain(sheet.setup.cycle_s, 0),
    )


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


def _cells(wording: Wording, *pairs: tuple[str, str]) -> tuple[Cell, ...]:
    """Cells by the code of their heading; an empty value makes no cell."""
    return tuple(Cell(wording.word(code), value) for code, value in pairs if value)


# Title and revision stand in the heading, and spares beside the quantity.
STAND_ELSEWHERE = ("title", "revision", "spares")


def _job(sheet: SheetData, wording: Wording) -> tuple[Cell, ...]:
    card = {key: "" if value is None else str(value) for key, value in sheet.part.job_card.items()}
    if card["quantity"] and sheet.part.spares:
        card["quantity"] = wording.word("quantity-spares", quantity=card["quantity"], spares=card["spares"])
    card |= {"machine": sheet.machine.name, "handler": sheet.handler.name}
    return _cells(wording, *((f"head.{key}", said) for key, said in card.items() if key not in STAND_ELSEWHERE))


def _material(sheet: SheetData, wording: Wording) -> tuple[Cell, ...]:
    part, material = sheet.part, sheet.material
    thickness = wording.size(part.thickness_mm)
    if sheet.thickness_tolerance_mm is not None:
        thickness = f"{thickness} ± {wording.size(sheet.thickness_tolerance_mm)}"
    measured = part.measured_thickness_mm
    return _cells(
        wording,
        ("material.name", material.name),
        ("material.thickness", thickness),
        ("material.computed-with", "" if measured is None else wording.size(measured)),
        ("material.tensile", f"{material.tensile_mpa:.0f} N/mm²"),
        ("material.yield", f"{material.yield_mpa:.0f} N/mm²"),
        ("material.grain", wording.word(f"grain-{part.grain}")),
        ("material.good-face", wording.word(f"face-is-{part.good_face}")),
        ("material.burr", wording.word(f"burr-is-{part.burr}")),
        ("material.film", wording.word(f"film-is-{part.film}")),
    )


def _blank(sheet: SheetData, wording: Wording) -> tuple[Cell, ...]:
    pattern = sheet.pattern
    sized = wording.word(
        "blank.size-of", along=wording.size(pattern.along_bends_mm), developed=wording.size(pattern.developed_mm)
    )
    holes = [
        wording.word(
            "blank.hole-at",
            hole=hole_name(hole),
            size=_hole_size(hole, wording),
            along=wording.size(hole.centre_mm[0]),
            developed=wording.size(hole.centre_mm[1]),
        )
        for hole in pattern.holes[:HOLES_LISTED]
    ]
    if len(pattern.holes) > HOLES_LISTED:
        holes.append(wording.word("blank.holes-more", count=len(pattern.holes) - HOLES_LISTED))
    return _cells(
        wording,
        ("blank.size", sized),
        ("blank.diagonal", wording.size(round(pattern.diagonal_mm, 1))),
        ("blank.mass", f"{pattern.mass_kg:.3f} kg"),
        ("blank.holes", str(len(pattern.holes))),
        ("blank.hole-places", "; ".join(holes)),
        (
            "blank.allowance",
            ", ".join(sorted({wording.word("named", words=zone.allowance.rule) for zone in pattern.zones})),
        ),
    )


def _hole_size(hole: FlatHole, wording: Wording) -> str:
    if hole.size_mm is not None:
        return " × ".join(wording.size(size_mm) for size_mm in hole.size_mm)
    return f"Ø {wording.size(hole.diameter_mm)}"


def _misloads(sheet: SheetData, wording: Wording) -> tuple[str, ...]:
    """The wrong ways in words, those told by the same look together; then what no hole can tell."""
    found = misloads(sheet.pattern, sheet.part)
    ways: dict[str, list[str]] = {}
    for each in found:
        ways.setdefault(_look(each, sheet, wording), []).append(wording.word(f"misload.{each.way}"))
    lines = [wording.word("misload.line", way="; ".join(names), look=look) for look, names in ways.items()]
    if any(each.face and each.hole is not None for each in found):
        lines.append(wording.word("misload.face"))
    return tuple(lines)


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


def _tools(sheet: SheetData, mounting: Mounting, number: int, wording: Wording) -> ToolRow:
    pair = mounting.pair
    punch, die, is_vee = pair.tools.punch, pair.tools.die, pair.tools.opening_mm is not None
    assert punch is not None and die is not None
    return ToolRow(
        name=wording.word("tool.pair", number=str(number)),
        punch=_cells(
            wording,
            ("tool.punch", punch.name),
            ("tool.set", wording.word("tool.turned" if mounting.turned else "tool.not-turned")),
            ("tool.nose", _known(pair.tools.nose_radius_mm, wording)),
            ("tool.angle", wording.angle(punch.nose.included_deg) if is_vee else ""),
            ("tool.height", wording.size(punch.height_mm)),
            ("tool.load", wording.plain(punch.load_kn_per_m, 0)),
        ),
        die=_cells(
            wording,
            ("tool.die", die.name),
            ("tool.opening", _known(pair.tools.named_opening_mm, wording)),
            ("tool.shoulder", _known(pair.tools.shoulder_radius_mm, wording)),
            ("tool.angle", wording.angle(die.vee.included_deg) if is_vee else ""),
            ("tool.height", wording.size(die.height_mm)),
            ("tool.load", wording.plain(die.load_kn_per_m, 0)),
        ),
        stations=tuple(_station(station, wording) for station in sheet.stations_of(mounting)),
    )


def _known(size_mm: float | None, wording: Wording) -> str:
    """A size, or nothing where the tool has none."""
    return "" if size_mm is None else wording.size(size_mm)


def _station(station: Station, wording: Wording) -> str:
    return wording.word(
        "tool.station",
        start=wording.length(station.from_mm, 1.0),
        end=wording.length(station.to_mm, 1.0),
        punch=segments_text(station.segments, wording),
        die=segments_text(station.die_segments, wording),
    )


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


def _governing(loads: tuple[Load, ...], wording: Wording) -> str:
    if not loads:
        return wording.word("limit.none")
    return wording.word("limit.governing", line=_load(max(loads, key=lambda load: load.share), wording))


def _measures(sheet: SheetData, wording: Wording) -> tuple[MeasureRow, ...]:
    return tuple(
        MeasureRow(
            what=wording.said(row.what),
            nominal=wording.angle(row.nominal) if row.unit == "deg" else wording.size(row.nominal),
            allowed=_half_width(row.allowed, row.unit, wording),
            expected=MISSING if row.expected is None else _half_width(row.expected, row.unit, wording, digits=1),
            too_long="" if row.leg is None else correction_cell(sheet, row.leg, wording),
            instrument=wording.said(row.instrument),
        )
        for row in sheet.measures
    )


def _half_width(half: float | None, unit: str, wording: Wording, *, digits: int = 2) -> str:
    if half is None:
        return wording.word("not-known")
    return f"± {half:.{digits}f}°" if unit == "deg" else f"± {wording.size(half)}"
