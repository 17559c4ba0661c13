"""Every number of a plan is seen: changed, it changes record, page or drawing; what need not is named with why."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands.flat import bend_records
from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.commands.plan_panel import panel_plan_record
from flangewise.jobs import Job, work_out
from flangewise.jobs.panel_plan import planned_panel
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.pattern import dxf_bytes
from flangewise.sheet import Identity, Printing, SheetData
from flangewise.sheet.render import _templates, html_of
from flangewise.shop import load_shop

EXAMPLES = Path(__file__).parents[2] / "examples" / "parts"
ROOMS = ("setup", "part", "pattern")

UNSEEN = {
    r"setup\.steps\.planned\.step\.(operation|option|done|cost|moves\.cost)": "the search's own reckoning",
    r"setup\.steps\.planned\.step\.(stacks|gauged)\..*": "what the stops are set to from it is told",
    r"setup\.steps\.planned\.step\.(before|after)\.(outline|flats)_mm": "what the pictures are drawn from",
    r"setup\.steps\.planned\.step\.(lift|open_height|least_opening|reach)_mm": "opening and speed follow from it",
    r"setup\.steps\.planned\.step\.opening_piece": "the opening's reason names it",
    r"(setup\.steps\.planned\.bend|part\.section\.bends)\.radius_mm": "the radius that is formed is told",
    r"setup\.steps\.planned\.mounting\.pair\.(air|model)\..*": "what is keyed in follows from the model's answer",
    r"setup\.steps\.planned\.mounting\.pair\.tools\.opening_mm": "the sheet tells the opening stamped on the die",
    r"setup\.steps\.planned\.mounting\.pair\.(turn|loaded_turn)_deg": "the step's own angles are told",
    r"setup\.steps\.planned\.mounting\.pair\.(formed_radius|depth|least_leg|hard_leg)_mm": "judged before",
    r"setup\.steps\.planned\.mounting\.pair\.(force_kn|cost)": "the greater force is told",
    r"setup\.steps\.ram\.opening\.reason\.values.*": "the sentence says of its values those that it needs",
    r"setup\.(steps\.ram\.speed\.)?findings\..*": "what is told is the job's list of all findings",
    r"setup\.steps\.ram\.bow\.(bow_mm|left_deg)": "the crowning is told, what is left in a finding",
    r"setup\.steps\.spread\.(after_two|by_cause)_deg": "the spread after one correction and its cause are told",
    r"setup\.stations\.(die_from_mm|die_to_mm|set_up)": "told of each step's station",
    r"part\.section\.length_mm": "the blank's own length is told",
    r"part\.section\.holes\..*": "the blank's own holes are told",
    r"pattern\.zones\.allowance\.leg_setback_mm": "it makes the least leg, which is judged before",
    r"pattern\.(faces|zones)\.(number|face_from|face_to|outline_mm)": "which faces a zone lies between",
}
"""Paths, places in lists left out, of numbers that neither record nor page shows, and why that is right."""
ONCE = r"setup\.steps\.planned\.mounting\.pair\.tools\..*|pattern\.holes\.along"
"""Tools are told once a pair, whichever of its steps they stand in; which way a hole lies is told of those that are not
round."""
NAMES = ("holes-off-centre", "hat")

PAGE_ALONE = {
    r"setup\.steps\.planned\.mounting\.pair\.tools\.(nose|shoulder)_radius_mm": "the plan names its tools",
    r"setup\.steps\.planned\.mounting\.pair\.limit_force_kn_per_m": "the plan tells the force of the whole length",
    r"setup\.steps\.part_from_mm": "the plan tells where its stations stand",
    r"setup\.stations\.(from_mm|to_mm|(die_)?segments\.(length|apart)_mm)": "the plan tells them of a step's station",
    r"part\.section\.(legs_mm|bends\.(number|turn_deg))|part\.tolerances\..*": "wanted, and known to who asks",
    r"pattern\.(thickness_mm|zones\.line_mm|outline_mm|holes\..*)": "the drawing of the blank has them",
}
"""Paths of numbers that a plan's record does not tell, and why."""
RECORD_ALONE = {
    r"setup\.steps\.planned\.step\.(clearance_mm|hold\.(front_kg|behind_kg|moment_nm|breach)|wishes_s)": "for scripts",
    r"setup\.steps\.station\.((die_)?segments\.(length|apart)_mm|die_from_mm|die_to_mm|set_up)": "told once for all",
    r"setup\.steps\.ram\.(speed\.tip_speed_mm_per_s|bow\.mean_opening_mm)": "nothing that is keyed in",
    r"setup\.(steps\.seconds_s|quantity|loose_s|regrips)": "the page tells what a part and the whole run take",
    r"pattern\.(zones\.allowance\..*|area_mm2)": "the page has the lines and the mass that come of them",
}
"""Paths of numbers that a sheet does not print, and why."""

OF_PANELS = {
    r"setup\.steps\.planned\.(step\.)?mounting\..*": "its tools are named, what is keyed in follows from them",
    r"setup\.steps\.planned\.step\.(cost|least_opening_mm|reach_mm|station|moves\.cost)": "the search's own reckoning",
    r"setup\.steps\.planned\.step\.(operation|leaving|gauged)\..*": "what the machine is set to from it is told",
    r"setup\.steps\.planned\.step\.(punch|die)\.row\..*": "the station tells its segments",
    r"setup\.steps\.planned\.bend\.(number|radius_mm)": "the step tells its bends, the blank the radius",
    r"setup\.(steps\.ram\.(speed|opening)\.)?findings\..*": "what is told is the plan's list of all findings",
    r"setup\.steps\.ram\.opening\.reason\..*": "the sentence says of its values those that it needs",
    r"setup\.steps\.ram\.bow\.(bow_mm|left_deg)|setup\.steps\.spread\.(after_two|by_cause)_deg": "as of a section",
    r"setup\.stations\..*": "told of each step's station",
    r"sizes\.(face|nominal_mm|terms|bends)": "wanted, or where the others come from",
}
"""Paths of numbers of a panel's set-up and sizes that its record does not tell, and why."""


NO_PLAN = (ArithmeticError, LookupError, ValueError, StopIteration, AssertionError)


@cache
def job_of(name: str) -> Job:
    """An example worked out, with every number of a job card."""
    shop = load_shop(None)
    (found,) = read_parts([str(EXAMPLES / f"{name}.yaml")], shop)
    assert found.part is not None
    return work_out(dataclasses.replace(found.part, quantity=40, spares=3), shop)


def paths_of(job: Job) -> dict[str, list[tuple[str | int, ...]]]:
    """The paths of all numbers of a job by their kind."""
    kinds: dict[str, list[tuple[str | int, ...]]] = {}
    for room in ROOMS:
        for path in numbers_of(getattr(job, room), (room,)):
            kinds.setdefault(kind_of(path), []).append(path)
    return kinds


def numbers_of(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The paths of all numbers in a record, through records and tuples."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from numbers_of(getattr(value, field.name), (*path, field.name))
    elif isinstance(value, tuple):
        for place, each in enumerate(value):
            yield from numbers_of(each, (*path, place))


def other(number: float) -> float:
    """A number that it is not."""
    return number + 1 if isinstance(number, int) else number * 1.37 + 0.11


def with_other(value: Any, path: tuple[str | int, ...]) -> Any:
    """The record with the number at a path changed."""
    if not path:
        return other(value)
    first, *rest = path
    if isinstance(first, int):
        return (*value[:first], with_other(value[first], tuple(rest)), *value[first + 1 :])
    return dataclasses.replace(value, **{first: with_other(getattr(value, first), tuple(rest))})


def kind_of(path: tuple[str | int, ...]) -> str:
    """A path without the places in lists."""
    return ".".join(each for each in path if isinstance(each, str))


def reason_of(kind: str, reasons: Mapping[str, str] = UNSEEN) -> str | None:
    """Why a number need not show; None where it must."""
    return next((why for pattern, why in reasons.items() if re.fullmatch(pattern, kind)), None)


def record_of(job: Job) -> str:
    """The plan and the bends of the blank as the commands write them."""
    return json_line({**plan_record(job), "bends": bend_records(job.pattern)})


def page_of(sheet: SheetData) -> str:
    """The sheet as one text."""
    return html_of(sheet, Identity("plan", "version"), Printing(html=True), record=None)


def words_of(sheet: SheetData) -> str:
    """The sheet without its pictures, which take most of the time: a part of the page that holds most numbers."""
    made = _templates()
    drawn = {name: each for name, each in made.globals.items() if name.endswith("_picture")}
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(made.filters, "picture", lambda drawing: "")
        for name in drawn:
            patch.setitem(made.globals, name, lambda *asked, **sizes: None)
        return page_of(sheet)


def drawing_of(job: Job) -> bytes:
    """The blank's drawing."""
    assert job.pattern is not None
    return dxf_bytes(job.pattern)


@dataclasses.dataclass(frozen=True)
class Shown:
    """All that is told of a job: its record, the words and the whole of its page, the drawing of its blank."""

    record: str
    words: str
    page: str
    drawing: bytes


def shown_of(job: Job) -> Shown:
    """What is told of a job."""
    sheet = printed(job)
    return Shown(record_of(job), words_of(sheet), page_of(sheet), drawing_of(job))


def shows(job: Job, path: tuple[str | int, ...], told: Shown) -> bool:
    """Whether a changed number is seen in record, page or drawing, or no plan can be told with it at all.

    What is made quickly is looked at first.
    """
    return in_record(job, path, told) or on_page(job, path, told)


def in_record(job: Job, path: tuple[str | int, ...], told: Shown) -> bool:
    """Whether a changed number is seen in the plan's record, or no record can be made with it."""
    try:
        return record_of(with_other(job, path)) != told.record
    except NO_PLAN:
        return True


def on_page(job: Job, path: tuple[str | int, ...], told: Shown) -> bool:
    """Whether a changed number is seen on the page or in the drawing that rides with it, or neither can be made."""
    try:
        changed = with_other(job, path)
        sheet = printed(changed)
        return words_of(sheet) != told.words or drawing_of(changed) != told.drawing or page_of(sheet) != told.page
    except NO_PLAN:
        return True


def test_words_and_page_are_the_same_twice_and_a_page_holds_pictures() -> None:
    """What differs differs because a number does; words are all there is of a page but its pictures."""
    job = job_of(NAMES[0])
    told = shown_of(job)
    assert told == shown_of(job)
    assert "<svg" in told.page and told.page.count("<svg") > told.words.count("<svg")


@pytest.mark.parametrize("name", NAMES)
def test_every_number_of_a_plan_shows_in_its_record_or_on_its_sheet(name: str) -> None:
    job = job_of(name)
    told = shown_of(job)
    looked_at = {kind: paths for kind, paths in paths_of(job).items() if reason_of(kind) is None}
    assert len(looked_at) > 60
    unseen = []
    for kind, paths in looked_at.items():
        # Of numbers that lie side by side in lists the first and the last speak for all.
        seen = [shows(job, path, told) for path in dict.fromkeys((paths[-1], paths[0]))]
        if not (any(seen) if re.fullmatch(ONCE, kind) else all(seen)):
            unseen.append(kind)
    assert unseen == []


def test_a_number_shows_in_the_record_and_on_the_sheet() -> None:
    """Not in one of them alone, unless that is said with its reason; of each kind in the first plan that shows it."""
    seen, kinds = set[tuple[str, str]](), set[str]()
    for name in NAMES:
        job = job_of(name)
        told = shown_of(job)
        for kind, paths in paths_of(job).items():
            if reason_of(kind) is not None:
                continue
            kinds.add(kind)
            ends = tuple(dict.fromkeys((paths[-1], paths[0])))
            for shown, reasons in ((in_record, PAGE_ALONE), (on_page, RECORD_ALONE)):
                key = kind, shown.__name__
                if key not in seen and (reason_of(kind, reasons) or any(shown(job, path, told) for path in ends)):
                    seen.add(key)
    assert sorted({(kind, shown.__name__) for kind in kinds for shown in (in_record, on_page)} - seen) == []
    assert len(kinds) > 60
    reasons = [*PAGE_ALONE, *RECORD_ALONE]
    assert [each for each in reasons if not any(re.fullmatch(each, kind) for kind in kinds)] == []


def test_a_number_of_a_panel_s_set_up_shows_in_its_record() -> None:
    shop = load_shop(None)
    (found,) = read_parts([str(EXAMPLES.parent / "panels" / "collector-pan.yaml")], shop)
    assert found.panel is not None
    plan = planned_panel(found.panel, shop)
    told = json_line(panel_plan_record(plan, {}))
    kinds: dict[str, list[tuple[str | int, ...]]] = {}
    for root in ("setup", "sizes"):
        for path in numbers_of(getattr(plan, root), (root,)):
            kinds.setdefault(kind_of(path), []).append(path)
    looked_at = {kind: paths for kind, paths in kinds.items() if reason_of(kind, OF_PANELS) is None}
    assert len(looked_at) > 30
    changed = {kind: with_other(plan, paths[-1]) for kind, paths in looked_at.items()}
    assert [kind for kind, each in changed.items() if json_line(panel_plan_record(each, {})) == told] == []
    assert [each for each in OF_PANELS if not any(re.fullmatch(each, kind) for kind in kinds)] == []


def test_what_need_not_show_is_there_to_be_left_out() -> None:
    kinds = {kind for name in NAMES for kind in paths_of(job_of(name))}
    assert [pattern for pattern in UNSEEN if not any(re.fullmatch(pattern, kind) for kind in kinds)] == []
