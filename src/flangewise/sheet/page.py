"""A sheet turned into what the template prints: words said, numbers written, pictures drawn. Still plain data."""

from dataclasses import dataclass

from flangewise.drawing import svg
from flangewise.findings import Severity
from flangewise.sheet.bed_picture import bed_picture
from flangewise.sheet.blank_picture import blank_picture, hole_name
from flangewise.sheet.cautions import cautions
from flangewise.sheet.code import code_picture, identity_text
from flangewise.sheet.correction_words import correction_cell
from flangewise.sheet.data import Identity, Load, SheetData, Tools
from flangewise.sheet.finish_picture import finish_picture
from flangewise.sheet.misload import QUARTER, Misload, hole_place, misloads
from flangewise.sheet.step_rows import Cell, StepRow, sentence, step_rows
from flangewise.sheet.voice import MISSING, Voice
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
    places: int


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


def page(sheet: SheetData, identity: Identity, voice: Voice, *, loading_height_mm: float = 62.0) -> Page:
    """The whole sheet, said and drawn; the loading picture of page 1 as high as the paper leaves room for."""
    first = sheet.steps[0]
    code_words = identity_text(sheet.job.part, sheet.job.revision, identity.plan_hash)
    blank = blank_picture(sheet.blank, first, sheet.material, voice, width_mm=124.0, height_mm=loading_height_mm)
    bed = bed_picture(sheet.tools, sheet.steps, voice, bed_mm=sheet.bed_length_mm, along_mm=sheet.blank.along_mm)
    finish = finish_picture(sheet.finish, sheet.blank, voice, thickness_mm=sheet.material.thickness_mm)
    return Page(
        part=sheet.job.part,
        title=sheet.job.title,
        revision=voice.word("revision", revision=sheet.job.revision) if sheet.job.revision else "",
        units=voice.word(f"units-{voice.units}"),
        identity=code_words.replace("|", " | "),
        version=voice.word("version", version=identity.version),
        replaces=voice.word("replaces", plan_hash=identity.replaces) if identity.replaces else "",
        date=identity.date,
        code=svg(code_picture(code_words, voice.word("alt.code"))),
        job=_job(sheet, voice),
        notes=sheet.job.notes,
        material=_material(sheet, voice),
        blank=_blank(sheet, voice),
        blank_picture=svg(blank),
        misloads=_misloads(sheet, voice),
        tools=tuple(_tools(pair, number, voice) for number, pair in enumerate(sheet.tools, start=1)),
        bed_picture=svg(bed),
        touch_off=tuple(_touch_off(sheet, voice)),
        governing=_governing(sheet.loads, voice),
        limits=tuple(_load(load, voice) for load in sorted(sheet.loads, key=lambda load: -load.share)),
        cautions=(*(voice.said(each) for each in cautions(sheet)), *_finding_words(sheet, "caution", voice)),
        notes_on_part=tuple(_finding_words(sheet, "note", voice)),
        first_piece=tuple(sentence(voice.said(each)) for each in sheet.first_piece),
        steps=step_rows(sheet, voice),
        finish_picture=svg(finish),
        measures=_measures(sheet, voice),
        cycle=voice.plain(sheet.cycle_s, 0),
    )


def _finding_words(sheet: SheetData, severity: Severity, voice: Voice) -> list[str]:
    """Cautions or notes of the plan, each with its place; what is said of several bends is said once."""
    said: dict[tuple[str, str], list[str]] = {}
    for finding in (each for each in sheet.findings if each.severity == severity):
        kind = finding.where.code if finding.where is not None else ""
        numbers = dict(finding.where.values) if finding.where is not None else {}
        said.setdefault((kind, finding.text(voice.lang, voice.units)), []).append(str(numbers.get("number", "")))
    return [_at(kind, numbers, text, voice) for (kind, text), numbers in said.items()]


def _at(kind: str, numbers: list[str], text: str, voice: Voice) -> str:
    if not kind:
        return text
    where = say(phrase(kind, number=", ".join(numbers)), voice.lang)
    return voice.word("finding-at", place=where, text=text)


def _cells(voice: Voice, *pairs: tuple[str, str]) -> tuple[Cell, ...]:
    """Cells by the code of their heading; an empty value makes no cell."""
    return tuple(Cell(voice.word(code), value) for code, value in pairs if value)


def _job(sheet: SheetData, voice: Voice) -> tuple[Cell, ...]:
    job = sheet.job
    quantity = "" if job.quantity is None else str(job.quantity)
    if quantity and job.spares:
        quantity = voice.word("quantity-spares", quantity=quantity, spares=str(job.spares))
    return _cells(
        voice,
        ("head.drawing", job.drawing),
        ("head.job", job.job),
        ("head.quantity", quantity),
        ("head.due", job.due),
        ("head.machine", job.machine),
        ("head.handler", job.handler),
    )


def _material(sheet: SheetData, voice: Voice) -> tuple[Cell, ...]:
    stock = sheet.material
    thickness = voice.size(stock.thickness_mm)
    if stock.thickness_tolerance_mm is not None:
        thickness = f"{thickness} ± {voice.size(stock.thickness_tolerance_mm)}"
    measured = stock.measured_thickness_mm
    return _cells(
        voice,
        ("material.name", stock.name),
        ("material.thickness", thickness),
        ("material.computed-with", "" if measured is None else voice.size(measured)),
        ("material.tensile", f"{stock.tensile_mpa:.0f} N/mm²"),
        ("material.yield", f"{stock.yield_mpa:.0f} N/mm²"),
        ("material.grain", voice.word(f"grain-{stock.grain}")),
        ("material.good-face", voice.word(f"face-is-{stock.good_face}")),
        ("material.burr", voice.word(f"burr-is-{stock.burr}")),
        ("material.film", voice.word(f"film-is-{stock.film}")),
    )


def _blank(sheet: SheetData, voice: Voice) -> tuple[Cell, ...]:
    blank = sheet.blank
    sized = voice.word("blank.size-of", along=voice.size(blank.along_mm), developed=voice.size(blank.developed_mm))
    holes = [
        voice.word(
            "blank.hole-at",
            hole=hole_name(hole),
            size=_hole_size(hole.diameter_mm, hole.size_mm, voice),
            along=voice.size(hole.centre_mm[0]),
            developed=voice.size(hole.centre_mm[1]),
        )
        for hole in blank.holes[:HOLES_LISTED]
    ]
    if len(blank.holes) > HOLES_LISTED:
        holes.append(voice.word("blank.holes-more", count=len(blank.holes) - HOLES_LISTED))
    return _cells(
        voice,
        ("blank.size", sized),
        ("blank.diagonal", voice.size(round(blank.diagonal_mm, 1))),
        ("blank.mass", f"{blank.mass_kg:.3f} kg"),
        ("blank.holes", str(len(blank.holes))),
        ("blank.hole-places", "; ".join(holes)),
        ("blank.allowance", ", ".join(sorted({voice.said(line.allowance_from) for line in blank.lines}))),
    )


def _hole_size(diameter_mm: float | None, size_mm: tuple[float, float] | None, voice: Voice) -> str:
    if size_mm is not None:
        return f"{voice.size(size_mm[0])} × {voice.size(size_mm[1])}"
    return f"Ø {voice.size(diameter_mm)}"


def _misloads(sheet: SheetData, voice: Voice) -> tuple[str, ...]:
    """The wrong ways in words, those told by the same look together; then what no hole can tell."""
    found = misloads(sheet.blank, sheet.material)
    ways: dict[str, list[str]] = {}
    for each in found:
        ways.setdefault(_look(each, sheet, voice), []).append(voice.word(f"misload.{each.way}"))
    lines = [voice.word("misload.line", way="; ".join(names), look=look) for look, names in ways.items()]
    if any(each.face and each.hole is not None for each in found):
        lines.append(voice.word("misload.face"))
    return tuple(lines)


def _look(each: Misload, sheet: SheetData, voice: Voice) -> str:
    """The one thing that tells a wrong way best."""
    if each.hole is not None:
        left_mm, back_mm = hole_place(each.hole, sheet.blank, sheet.steps[0])
        left, back = voice.size(round(left_mm, 1)), voice.size(round(back_mm, 1))
        return voice.word("misload.look-hole", hole=hole_name(each.hole), left=left, back=back)
    if each.face:
        return voice.word("misload.look-face")
    if each.way in QUARTER:
        sides = {"along": voice.size(sheet.blank.along_mm), "across": voice.size(sheet.blank.developed_mm)}
        looks = [voice.word("misload.look-grain")] if each.grain else []
        looks += [voice.word("misload.look-sides", **sides)] if each.lines else []
        return "; ".join(looks)
    return voice.word("misload.look-mark")


def _tools(pair: Tools, number: int, voice: Voice) -> ToolRow:
    return ToolRow(
        name=voice.word("tool.pair", number=str(number)),
        punch=_cells(
            voice,
            ("tool.punch", pair.punch),
            ("tool.set", voice.word("tool.turned") if pair.punch_turned else voice.word("tool.not-turned")),
            ("tool.nose", _known(pair.nose_radius_mm, voice)),
            ("tool.angle", "" if pair.punch_included_deg is None else voice.angle(pair.punch_included_deg)),
            ("tool.height", voice.size(pair.punch_height_mm)),
            ("tool.load", voice.plain(pair.punch_load_kn_per_m, 0)),
        ),
        die=_cells(
            voice,
            ("tool.die", pair.die),
            ("tool.opening", _known(pair.named_opening_mm, voice)),
            ("tool.shoulder", _known(pair.shoulder_radius_mm, voice)),
            ("tool.angle", "" if pair.die_included_deg is None else voice.angle(pair.die_included_deg)),
            ("tool.height", voice.size(pair.die_height_mm)),
            ("tool.load", voice.plain(pair.die_load_kn_per_m, 0)),
        ),
        stations=tuple(_stations(pair, voice)),
    )


def _known(size_mm: float | None, voice: Voice) -> str:
    """A size, or nothing where the tool has none."""
    return "" if size_mm is None else voice.size(size_mm)


def _stations(pair: Tools, voice: Voice) -> list[str]:
    return [
        voice.word(
            "tool.station",
            start=voice.length(station.from_mm, 1.0),
            end=voice.length(station.to_mm, 1.0),
            punch=" + ".join(voice.length(each, 1.0) for each in station.punch_segments_mm),
            die=" + ".join(voice.length(each, 1.0) for each in station.die_segments_mm),
        )
        for station in pair.stations
    ]


def _touch_off(sheet: SheetData, voice: Voice) -> list[str]:
    """Expected shut height of each pair, to be compared with what the machine reads after touch-off."""
    heights: dict[str, list[str]] = {}
    for number, pair in enumerate(sheet.tools, start=1):
        heights.setdefault(voice.length(pair.shut_height_mm, 0.01), []).append(str(number))
    return [
        voice.word("touch-off.pair", number=", ".join(numbers), height=height) for height, numbers in heights.items()
    ]


def _load(load: Load, voice: Voice) -> str:
    return voice.word(
        f"limit.{load.unit}",
        body=load.body,
        load=voice.force(load.load) if load.unit == "kn" else voice.plain(load.load, 0),
        most=voice.force(load.most) if load.unit == "kn" else voice.plain(load.most, 0),
        share=voice.plain(load.share * 100, 0),
        step=str(load.step),
    )


def _governing(loads: tuple[Load, ...], voice: Voice) -> str:
    if not loads:
        return voice.word("limit.none")
    return voice.word("limit.governing", line=_load(max(loads, key=lambda load: load.share), voice))


def _measures(sheet: SheetData, voice: Voice) -> tuple[MeasureRow, ...]:
    return tuple(
        MeasureRow(
            what=voice.said(row.what),
            nominal=voice.angle(row.nominal) if row.unit == "deg" else voice.size(row.nominal),
            allowed=_half_width(row.allowed, row.unit, voice),
            expected=MISSING if row.expected is None else _half_width(row.expected, row.unit, voice, digits=1),
            too_long="" if row.leg is None else correction_cell(sheet, row.leg, voice),
            instrument=voice.said(row.instrument),
            places=row.places,
        )
        for row in sheet.measures
    )


def _half_width(half: float | None, unit: str, voice: Voice, *, digits: int = 2) -> str:
    if half is None:
        return voice.word("not-known")
    return f"± {half:.{digits}f}°" if unit == "deg" else f"± {voice.size(half)}"
