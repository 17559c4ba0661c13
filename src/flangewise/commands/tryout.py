"""The first piece: what was measured, and the corrections; remembered where asked."""

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flangewise.commands import Settings, output
from flangewise.commands.looking_on import USUAL_S
from flangewise.commands.options import OptionReader, Span
from flangewise.commands.paths import MEASURED
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.findings import Finding, caution, exit_status, note, place, refuse
from flangewise.jobs import Job, planned_panel, tag_of, tools_of, tried_panel, tried_piece, work_out
from flangewise.part import FoundPart, read_parts
from flangewise.records import dataclass, replace
from flangewise.sequence import Watch, watch_for
from flangewise.setup import size_names
from flangewise.shop import MeasuredBends, Shop, load_shop
from flangewise.tryout import (
    DEPTH_MM,
    LONGEST_MM,
    MOST_PIECE,
    STOP_MM,
    Readings,
    Remembered,
    TriedPiece,
    correct,
    is_suspect,
    part_read,
    place_to_record,
    read_readings,
    remember,
    rows_of,
)

LEG = Span(0.0, LONGEST_MM, "a length above 0, up to 10 m, is wanted", open_below=True)
DEPTH = Span(*DEPTH_MM, "a depth from -50 to 500 mm is wanted")
STOP = Span(*STOP_MM, "a stop position up to 10 m is wanted")
TURN = Span(0.0, 180.0, "a turn above 0 and up to 180 degrees is wanted", open_below=True)
INCLUDED = Span(0.0, 179.999, "an included angle from 0 to under 180 degrees is wanted")
# Of a name that is none so much is told.
LONGEST_NAME = 60
NOTHING_READ = Readings({}, {}, {}, {}, None, None, "", 1)

if TYPE_CHECKING:
    from flangewise.jobs import PanelPlan
    from flangewise.part import PanelPart, Part

    Card = Part | PanelPart

_Reading = Callable[[str], float | None]


@click.command("tryout", short_help="The first piece: what was measured, and the corrections.")
@click.argument("part", metavar="PART")
@click.option("--included", multiple=True, metavar="BEND=A", help="Included angle measured, like 1=91.5.")
@click.option("--turn", multiple=True, metavar="BEND=A", help="The same as a turn from flat, like 1=88.5.")
@click.option(
    "--leg", multiple=True, metavar="LEG=MEASURED", help="Leg measured, as the drawing sizes it; of a panel a face."
)
@click.option("--depth", multiple=True, metavar="BEND=SET", help="Depth that was set; left out: the plan's.")
@click.option("--stop", multiple=True, metavar="BEND=SET", help="Stop X that was set; left out: the plan's.")
@click.option("--developed", metavar="LENGTH", help="Blank measured across the bends, before bending.")
@click.option("--measured-thickness", metavar="T", help="Thickness of this piece.")
@click.option("--lot", default="", metavar="NAME", help="Lot or coil of the sheet.")
@click.option("--piece", type=int, metavar="N", help="Which piece of the lot it is; left out: the first.")
@click.option("--part", "name", metavar="NAME", help="Which part of a file with variants; left out: that of --from.")
@click.option("--from", "file", metavar="FILE", type=click.Path(path_type=Path), help="Readings from a sheet's page.")
@click.option("--record", is_flag=True, help="Remember it in the shop's measured.csv.")
@output.format_option
@click.pass_obj
def command(
    settings: Settings, /, part: str, name: str | None, record: bool, fmt: str, file: Path | None, **given: Any
) -> int:
    """What to change after a measured piece: depth, stops and blank, and the deduction and K that it shows.

    PART is a part file, or - for standard input. Bare lengths are in the part file's units. Angles first: what a
    wrong angle does to a leg is taken out before a stop is judged. With --from the readings are those that the page of
    an HTML sheet wrote; what is given here besides goes before them.
    """
    shop = load_shop(settings.shop_folder)
    if record:
        place_to_record(shop)
    found = _only_part(part, shop, name if name is not None or file is None else part_read(file))
    wanted = found.part or found.panel
    assert wanted is not None
    printer = output.Printer(settings, fmt).begun()
    measured = measured_of(found)
    read = readings(given, measured, NOTHING_READ if file is None else _of_file(file, wanted, measured))
    # The plan that the piece in hand was bent by: before its lot taught the shop anything.
    others = tuple(row for row in shop.measured.rows if row.lot != read.lot)
    taught, watch = replace(shop, measured=MeasuredBends(others)), watch_for(USUAL_S)
    job, piece = _tried(found, taught, watch, read)
    if piece is None:
        output.tell_findings(job.findings, settings, part=wanted.name)
        return exit_status(job.findings)
    told = correct(piece)
    head = {"part": wanted.name, "lot": read.lot, "piece": read.piece}
    sheet = {"thickness_mm": wanted.thickness_mm, "measured_thickness_mm": read.thickness_mm}
    answer: dict[str, Any] = {**head, **sheet, **told.as_json(piece)}
    findings = [*told.findings]
    if job.setup is None:
        findings.append(note("tryout-no-plan"))
    suspect = [bend for bend in piece.bends if is_suspect(bend)]
    if record and suspect:
        findings += [refuse("tryout-not-recorded", place("bend", bend.number)) for bend in suspect]
        answer["recorded"] = 0
    elif record:
        rows = rows_of(piece, told, tag=tag_of(job, read), tools=tools_of(job))
        remembered = remember(place_to_record(shop), rows)
        findings += [note("tryout-no-lot")] if not read.lot else []
        findings += _record_findings(remembered, lot=read.lot, piece=read.piece)
        answer["recorded"] = len(remembered.recorded)
    return printer.give(
        {**answer, "findings": output.finding_records(findings)},
        lambda units: tryout_text(answer, units) + "\n",
        findings,
        rows=[{**head, **bend} for bend in answer["bends"]],
        part=wanted.name,
    )


def _tried(found: FoundPart, shop: Shop, watch: Watch, read: Readings) -> "tuple[Job | PanelPlan, TriedPiece | None]":
    """The plan that the piece was bent by, and the piece; None where there is no blank."""
    if found.panel is not None:
        plan = planned_panel(found.panel, shop, watch)
        return plan, None if plan.blank is None else tried_panel(plan, plan.blank, shop, read)
    assert found.part is not None
    job = work_out(found.part, shop, watch)
    return job, None if job.pattern is None else tried_piece(job, job.pattern, read)


def _only_part(path: str, shop: Shop, name: str | None) -> FoundPart:
    """The part at a path; of several the one of that name."""
    found = read_parts([path], shop)
    if len(found) > 1:
        names = {each.name: each for each in found if each.name}
        if name not in names:
            known = name_fits((name or "")[:LONGEST_NAME], names)
            wrong, fits = f"holds {len(found)} parts", f"give the one measured with --part, {known}"
            raise Unusable([Fault(path, None, None, "tryout", wrong, fits)])
        found = (names[name],)
    if found[0].part is None and found[0].panel is None:
        raise Unusable(found[0].faults)
    return found[0]


def _record_findings(remembered: Remembered, *, lot: str, piece: int) -> list[Finding]:
    """What became of the rows: written, there before, there before with other figures."""
    file = str(remembered.file)
    if not (remembered.recorded or remembered.kept or remembered.differing):
        return [caution("tryout-nothing", None)]
    found = [note("tryout-recorded", None, count=len(remembered.recorded), file=file)] if remembered.recorded else []
    for code, rows in (("tryout-kept", remembered.kept), ("tryout-differs", remembered.differing)):
        make = note if code == "tryout-kept" else caution
        found += [make(code, place("bend", row.bend), lot=lot or "unnamed", piece=piece, file=file) for row in rows]
    return found


def tryout_text(record: dict[str, Any], units: str) -> str:
    """The whole answer as text, lengths in `units`."""
    blank, bends = record["blank"], record["bends"]
    ranges = output.told("tryout.ranges").items()
    shown = [{**bend, **{key: _shown(bend, *range_, units=units) for key, range_ in ranges}} for bend in bends]
    change = "change {correction_mm:+2/4}, cut {new_developed_mm}"
    if blank["correction_mm"] is None:
        change = "no correction, not all legs were measured"
    named = {leg["leg"]: leg.get("face", leg["leg"]) for leg in record["legs"]}
    settings = [{**bend, "leg": named.get(bend["leg"])} for bend in bends]
    blocks = [
        f"{record['part']}: piece {record['piece']} of lot {record['lot'] or 'unnamed'}",
        output.told_table("tryout.settings", settings, units),
        output.told_table("tryout.evidence", shown, units),
        output.told_table("tryout.legs", [{**leg, "leg": named[leg["leg"]]} for leg in record["legs"]], units),
    ]
    if blank["developed_mm"] is not None and math.isfinite(blank["developed_mm"]):
        blocks.append(output.sentence("blank {developed_mm}: " + change, blank, units))
    return "\n\n".join(blocks)


def _shown(bend: dict[str, Any], needed: str, template: str, *, units: str) -> str:
    return output.NOTHING if bend[needed] is None else output.sentence(template, bend, units)


@dataclass(frozen=True)
class Measured:
    """What can be measured of a part: how many bends, the names of its legs (of a section their numbers)."""

    units: str
    bends: int
    legs: tuple[str, ...]
    is_panel: bool = False


def measured_of(found: FoundPart) -> Measured:
    """What can be measured of the part of a file."""
    if found.panel is not None:
        return Measured(found.panel.units, len(found.panel.panel.bends), size_names(found.panel), is_panel=True)
    assert found.part is not None
    section = found.part.section
    return Measured(found.part.units, len(section.bends), tuple(map(str, range(1, len(section.legs_mm) + 1))))


def _of_file(file: Path, part: "Card", measured: Measured) -> Readings:
    counts = {"bends": measured.bends, "legs": len(measured.legs)}
    return read_readings(file, part=part.name, revision=part.revision, **counts)


def readings(given: Mapping[str, Any], measured: Measured, before: Readings = NOTHING_READ) -> Readings:
    """The options understood, each before what was read `before`: bare lengths in the part file's units.

    Raises Unusable with every fault of them.
    """
    asked = _Pairs(OptionReader(measured.units), measured)
    included = asked.angles("--included", given["included"], INCLUDED)
    turns = asked.angles("--turn", given["turn"], TURN)
    for bend in sorted(included.keys() & turns.keys()):
        asked.plain.fault(f"bend {bend}", "has both --included and --turn", "give one of them")
    if measured.is_panel and given["developed"] is not None:
        asked.plain.fault("--developed", "a panel is cut in two directions", "give its base, like --leg near/far=200.1")
    developed_mm = asked.plain.length_mm("--developed", given["developed"], LEG)
    thickness_mm = asked.plain.length_mm("--measured-thickness", given["measured_thickness"], MEASURED)
    found = Readings(
        turns_deg=before.turns_deg | turns | {bend: 180.0 - angle for bend, angle in included.items()},
        legs_mm=before.legs_mm | asked.lengths("--leg", given["leg"], LEG, of="leg"),
        depths_mm=before.depths_mm | asked.lengths("--depth", given["depth"], DEPTH, of="bend"),
        stops_mm=before.stops_mm | asked.lengths("--stop", given["stop"], STOP, of="bend"),
        developed_mm=before.developed_mm if developed_mm is None else developed_mm,
        thickness_mm=before.thickness_mm if thickness_mm is None else thickness_mm,
        lot=given["lot"].strip() or before.lot,
        piece=before.piece if given["piece"] is None else given["piece"],
    )
    if not 1 <= found.piece <= MOST_PIECE:
        asked.plain.fault("--piece", f"{found.piece} cannot be", f"a whole number from 1 to {MOST_PIECE} is wanted")
    if not found.lot.isprintable():
        asked.plain.fault("--lot", "has signs that do not print", "a name in one line is wanted")
    if not (found.turns_deg or found.legs_mm or given["included"] or given["turn"] or given["leg"]):
        fits = "give what was measured, like --included 1=91.5 or --leg 1=25.2"
        asked.plain.fault("--included, --turn, --leg", "none of them is given", fits)
    asked.plain.done()
    return found


class _Pairs:
    """Reads options of the form NUMBER=VALUE, or NAME=VALUE, against the part's bends and legs."""

    def __init__(self, plain: OptionReader, measured: Measured) -> None:
        self.plain = plain
        bends = tuple(map(str, range(1, measured.bends + 1)))
        self._names = {"bend": bends, "leg": measured.legs}
        self._named = {"leg"} if measured.is_panel else set()

    def angles(self, option: str, texts: Sequence[str], span: Span) -> dict[int, float]:
        """Angles in degrees by bend."""
        return self._read(option, texts, "bend", lambda text: self._angle(option, text, span))

    def lengths(self, option: str, texts: Sequence[str], span: Span, *, of: str) -> dict[int, float]:
        """Lengths in mm by bend or leg."""
        return self._read(option, texts, of, lambda text: self.plain.length_mm(option, text, span))

    def _angle(self, option: str, text: str, span: Span) -> float | None:
        return self.plain.number(option, text.strip().removesuffix("°").removesuffix("deg"), span)

    def _read(self, option: str, texts: Sequence[str], of: str, read: _Reading) -> dict[int, float]:
        found: dict[int, float] = {}
        for text in texts:
            left, sign, right = text.partition("=")
            names, name = self._names[of], left.strip()
            if not names:
                self.plain.fault(option, "a drawn blank is cut as it is drawn", f"leave {option} out, angles are read")
                continue
            if of not in self._named and name.isdecimal() and len(name) < 6:
                name = str(int(name))
            if not sign or not (of in self._named or name.isdecimal()):
                example = f"{names[0]}={'25.2' if of == 'leg' else '91.5'}"
                self.plain.fault(option, f"{text!r} is not understood", f"write {of.upper()}=VALUE, like {example}")
            elif name not in names:
                fits = (
                    name_fits(name[:LONGEST_NAME], names)
                    if of in self._named
                    else f"the part has {of}s 1 to {len(names)}"
                )
                self.plain.fault(option, f"there is no {of} {name}", fits)
            elif (number := names.index(name) + 1) in found:
                self.plain.fault(option, f"{of} {number} is given twice", "keep one of them")
            else:
                value = read(right)
                found[number] = math.nan if value is None else value
        return found
