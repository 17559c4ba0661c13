"""What the page for a tablet adds to the printed leaf: readings to type in, and the strokes that move.

A reading is an option of `tryout` and a key of its file of readings. The page puts both together from what is typed; it
computes nothing but how far a reading is off its nominal value.
"""

from collections.abc import Iterator
from dataclasses import astuple
from pathlib import PurePath
from typing import Any

from flangewise.records import dataclass, replace
from flangewise.setup import SetupStep
from flangewise.sheet.data import AnySheet, AnyStep, Identity, Measure, SheetData
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.stroke_picture import StrokePicture, stroke_picture
from flangewise.sheet.wording import Wording
from flangewise.units import in_units

FROM_STANDARD_INPUT = "-"


@dataclass(frozen=True)
class Reading:
    """One reading to type in: its option of the command line, its key in the file, of which bend or leg, and its words.

    `kind` says how it is read: an angle, a length, a whole number, or plain text. `nominal` and `allowed` are numbers
    in the page's own units, None where there is none to compare with; `shown` says both. `number` is None for what is
    measured once a piece, `filled` what stands there at first. `said` is what the command line calls it by.
    """

    option: str
    key: str
    kind: str
    what: str
    number: int | None = None
    nominal: float | None = None
    allowed: float | None = None
    shown: str = ""
    filled: str = ""
    said: str = ""

    @property
    def name(self) -> str:
        """What it is kept under."""
        return self.key if self.number is None else f"{self.key}-{self.number}"


def piece_readings(sheet: AnySheet, wording: Wording) -> tuple[Reading, ...]:
    """What is read or named once a piece: lot, number, thickness, blank; and where the part file lies."""
    part = sheet.part
    file = PurePath(part.file).name
    named = file if file not in ("", FROM_STANDARD_INPUT) else f"{part.name}.yaml"
    thickness = _length("--measured-thickness", "measured_thickness_mm", "thickness", part.thickness_mm, wording)
    found = [
        Reading("--lot", "lot", "text", wording.word("tablet.lot")),
        Reading("--piece", "piece", "count", wording.word("tablet.piece"), filled="1"),
        thickness,
    ]
    if isinstance(sheet, SheetData):
        found.append(_length("--developed", "developed_mm", "developed", sheet.pattern.developed_mm, wording))
    return (*found, Reading("", "file", "text", wording.word("tablet.file"), filled=named))


def step_readings(sheet: AnySheet, step: AnyStep, wording: Wording) -> tuple[Reading, ...]:
    """What is read after one hit: its angle, and the legs that are whole by then."""
    return (*_angle(sheet, step, wording), *_legs(sheet, step.keyed, wording))


def step_settings(step: AnyStep, wording: Wording) -> tuple[Reading, ...]:
    """What was really set at one hit, depth and stop; of a bend in two hits the first makes its angle."""
    keyed, found = step.keyed, []
    if keyed.hit == "flatten":
        return ()
    if keyed.ram.depth_mm is not None:
        depth_mm = keyed.ram.depth_mm
        found += [_length("--depth", "depths_mm", "depth", depth_mm, wording, of=bend) for bend in keyed.bends]
    if keyed.stops.x_mm is not None:
        # Of bends hit together the first stands for the stop.
        found.append(_length("--stop", "stops_mm", "stop", keyed.stops.x_mm, wording, of=min(keyed.bends)))
    return tuple(found)


def other_readings(sheet: AnySheet, step: AnyStep, wording: Wording) -> tuple[Reading, ...]:
    """What else is read after one hit, a hem over its layers or the step of an offset; it corrects nothing.

    It goes into no file: the page says where it is written."""
    found, keyed = _bend_measure(sheet, step.keyed.bends[0]), step.keyed
    if found.unit != "mm" or keyed.hit not in ("flatten", "offset"):
        return ()
    what = f"{wording.said(found.what)}, {wording.said(found.instrument)}"
    return (_compared(found, wording, "", "over_mm", what, keyed.bends[0]),)


def stroke_pictures(sheet: SheetData, wording: Wording) -> dict[int, StrokePicture]:
    """The moving picture of every hit by its step."""
    return {step.keyed.step: stroke_picture(step, wording) for step in sheet.steps}


def tablet_data(
    sheet: AnySheet, identity: Identity, wording: Wording, strokes: dict[int, StrokePicture]
) -> dict[str, Any]:
    """What the page's script needs: what readings are kept under, what both answers begin with, the moving strokes."""
    part = sheet.part
    head = {"part": part.name, "revision": part.revision, "plan": identity.plan_hash}
    return {
        "kept": f"flangewise|{part.job_card.get('job') or part.name}|{identity.plan_hash}",
        "command": ["flangewise", "tryout", *(("--part", part.name) if part.of_family else ())],
        "file": f"{part.name}.readings.json",
        "head": head,
        "mm": in_units(1.0, wording.units),
        "unit": "in" if wording.units == "inch" else "mm",
        "point": wording.plain(0.5, 1).strip("05"),
        "strokes": {step: [list(astuple(each)) for each in shown.moments] for step, shown in strokes.items()},
    }


def _angle(sheet: AnySheet, step: AnyStep, wording: Wording) -> Iterator[Reading]:
    if step.keyed.hit != "bend":
        return
    for bend in step.keyed.bends:
        found = _bend_measure(sheet, bend)
        allowed = "" if found.allowed is None else f" ± {wording.tolerance(found.allowed)}"
        shown = wording.angle(found.nominal) + allowed
        words = wording.word("tablet.angle", bend=bend_mark(bend))
        yield Reading("--included", "included_deg", "angle", words, bend, found.nominal, found.allowed, shown)


def _legs(sheet: AnySheet, keyed: SetupStep, wording: Wording) -> Iterator[Reading]:
    for measure in sheet.measures:
        if measure.leg is None or read_after(sheet, measure.leg) != keyed.step:
            continue
        found = _compared(measure, wording, "--leg", "legs_mm", wording.said(measure.what), measure.leg)
        yield replace(found, said=sheet.asked(measure.leg))


def _compared(measure: Measure, wording: Wording, option: str, key: str, what: str, number: int) -> Reading:
    """A length that is held against its nominal value and what is allowed."""
    allowed = "" if measure.allowed is None else f" ± {wording.size(measure.allowed)}"
    allowed_in = None if measure.allowed is None else in_units(measure.allowed, wording.units)
    nominal = in_units(measure.nominal, wording.units)
    return Reading(option, key, "length", what, number, nominal, allowed_in, wording.size(measure.nominal) + allowed)


def read_after(sheet: AnySheet, leg: int) -> int:
    """The step after which a leg can be read: as its correction says, else when the bends at its ends are made.

    A size that no bend ends is the blank's own: it is read with the first.
    """
    for keyed in sheet.setup.steps:
        if keyed.correction is not None and keyed.correction.leg == leg:
            return keyed.correction.read_after
    ends = sheet.ends_of(leg)
    first = sheet.setup.steps[0].step
    return max((keyed.step for keyed in sheet.setup.steps if ends.intersection(keyed.bends)), default=first)


def _bend_measure(sheet: AnySheet, bend: int) -> Measure:
    """What is measured of a bend: those of the bends stand first, in their order."""
    return [each for each in sheet.measures if each.leg is None][bend - 1]


def _length(option: str, key: str, word: str, nominal_mm: float, wording: Wording, *, of: int | None = None) -> Reading:
    nominal = in_units(nominal_mm, wording.units)
    number = {} if of is None else {"number": bend_mark(of)}
    what = wording.word(f"tablet.{word}", **number)
    written = {"depth": wording.depth, "stop": wording.stop}.get(word, wording.size)
    return Reading(option, key, "length", what, of, nominal, None, written(nominal_mm))
