"""The page of a queue, to be pinned to the wall: one layout of the bed after the other, and the jobs that it serves.

Computes nothing: order, places and minutes come with the queue.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flangewise import drawing as draw
from flangewise.punch_die import segment_texts
from flangewise.queue import LaidStation, Layout, Queue, QueuedJob, ToolRow
from flangewise.records import dataclass
from flangewise.sheet.data import Identity
from flangewise.sheet.record import Record
from flangewise.sheet.render import PAPERS, Printing, count_words, pdf_of, template
from flangewise.sheet.wording import Wording

BED_MM = (180.0, 18.0)
"""Size of the picture of a bed on paper."""
TOP_MM, ROW_MM, LETTER_MM, FIGURE_MM = 1.0, 4.5, 4.2, 2.9
"""Where the punches begin, how high a row is drawn, and letters."""
NARROW_MM = 3.5


@dataclass(frozen=True)
class StationRow:
    """A station in words: letter, each tool with its segments and whether it is put in, and where it stands."""

    letter: str
    tools: tuple[tuple[str, str, bool], ...]
    place: str


@dataclass(frozen=True)
class JobRow:
    """A job in words, each cell with its column's code; `after` says what must be known of it."""

    order: int
    name: str
    title: str
    cells: tuple[tuple[str, str], ...]
    after: str


@dataclass(frozen=True)
class LayoutBlock:
    """A layout in words, with the picture of its bed."""

    head: str
    picture: draw.Drawing
    stations: tuple[StationRow, ...]
    jobs: tuple[JobRow, ...]


@dataclass(frozen=True)
class QueuePage:
    """A machine's queue in words: figures with their labels, lines, and its layouts."""

    machine: str
    figures: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]
    cautions: tuple[str, ...]
    heads: tuple[tuple[str, str], ...]
    layouts: tuple[LayoutBlock, ...]


def queue_pdf(queues: Sequence[Queue], identity: Identity, settings: Printing) -> bytes:
    """A page or more for each machine: the same bytes for the same queues, identity and settings.

    Raises MissingPangoError where the system lacks the text library.
    """
    wordings = [Wording(queue.bed.machine, settings.lang, settings.units or "mm") for queue in queues]
    html = template("queue.html").render(
        pages=[queue_page(queue, wording) for queue, wording in zip(queues, wordings, strict=True)],
        identity=identity,
        lang=settings.lang,
        w=wordings[0].word,
        units=wordings[0].units,
        paper=PAPERS[settings.paper],
        count_words=count_words(wordings[0]),
    )
    return pdf_of(html, attachments=(), record=Record(identity.plan_hash), wording=wordings[0])


def queue_page(queue: Queue, wording: Wording) -> QueuePage:
    """What the page says, in the language and units asked for."""
    minutes = (("set-up", queue.set_up_s), ("given", queue.given_s), ("saved", queue.saved_s), ("alone", queue.alone_s))
    dated = any(each.job.due is not None for each in queue.jobs)
    proven = "proven-days" if dated else "proven"
    gap = {"least": _minutes(queue.least_s, wording), "gap": _minutes(queue.set_up_s - queue.least_s, wording)}
    lines = [wording.word(f"queue.{proven}") if queue.proven else wording.word("queue.not-proven", **gap)]
    if queue.saved_s < 0:
        lines.append(wording.word("queue.by-days"))
    if dated and queue.days is None:
        lines.append(wording.word("queue.no-days"))
    lines.append(wording.word("queue.moved"))
    days = ["due"] * dated + ["ends"] * (queue.days is not None)
    heads = ["job", "pieces", *days, "minutes", "places", "done"]
    return QueuePage(
        machine=queue.bed.machine.name,
        figures=tuple((wording.word(f"queue.{code}"), _minutes(seconds_s, wording)) for code, seconds_s in minutes),
        lines=tuple(lines),
        cautions=tuple(
            f"{each.place(wording.lang)}: {wording.said(each.phrase)}"
            for each in queue.findings
            if each.where is not None
        ),
        heads=tuple((code, wording.word(f"queue.{code}")) for code in heads),
        layouts=tuple(_blocks(queue, wording, days)),
    )


def _blocks(queue: Queue, wording: Wording, days: Sequence[str]) -> Iterator[LayoutBlock]:
    for number, layout in enumerate(queue.layouts):
        own = [(order, each) for order, each in enumerate(queue.jobs, start=1) if each.layout == number]
        head = wording.word("queue.layout", number=str(number + 1))
        if not own:
            head += ": " + wording.word("queue.last-set-up")
        yield LayoutBlock(
            head=head,
            picture=bed_of(layout, queue.bed.machine.bed_length_mm, wording),
            stations=tuple(_station(each, wording) for each in layout.stations),
            jobs=tuple(_job(order, each, wording, days) for order, each in own),
        )


def _station(each: LaidStation, wording: Wording) -> StationRow:
    def tool(row: ToolRow) -> tuple[str, str, bool]:
        name = f"{row.tool} {wording.word('tool.turned')}" if row.turned else row.tool
        return name, " + ".join(_segment(text, wording) for text in segment_texts(row.segments)), row in each.put_in

    places = [_place(mm, wording) for mm in each.ends_mm(each.standing.punch)]
    return StationRow(each.letter, tuple(map(tool, each.standing.rows)), " – ".join(places))


def _segment(text: str, wording: Wording) -> str:
    """A segment as it is stamped, in mm; an ear with its side, a gap as one."""
    if text.startswith("gap"):
        return wording.word("tool.gap", width=text.split()[1])
    if not text.startswith("ear"):
        return text
    _, length, side = text.split()
    return f"{length} {wording.word(f'queue.ear-{side}')}"


def _job(order: int, each: QueuedJob, wording: Wording, days: Sequence[str]) -> JobRow:
    part = each.job.part
    day = {"due": part.due or "–", "ends": "–" if each.day is None else each.day.isoformat()}
    places = ", ".join(letter + _moved(moved_mm, wording) for letter, moved_mm in each.moved_mm)
    cells = (
        ("pieces", str(each.job.quantity)),
        *((code, day[code]) for code in days),
        ("minutes", _minutes(each.set_up_s, wording)),
        ("places", places),
    )
    name = " · ".join(text for text in (part.name, part.revision, part.job) if text)
    after = [wording.word("queue.late")] * each.is_late + [wording.word("queue.changes")] * each.has_changes
    return JobRow(order, name, part.title, cells, " ".join(after))


def _moved(moved_mm: float, wording: Wording) -> str:
    text = _place(abs(moved_mm), wording)
    return "" if not any(digit in text for digit in "123456789") else f" {'+' if moved_mm > 0 else '−'}{text}"


def _place(length_mm: float, wording: Wording) -> str:
    return wording.length(length_mm, 1.0, 2)


def _minutes(seconds_s: float, wording: Wording) -> str:
    return wording.plain(seconds_s / 60, 1)


def bed_of(layout: Layout, bed_mm: float, wording: Wording) -> draw.Drawing:
    """A bed to scale from its left end: punches over dies, each station with its letter, what is put in hatched."""
    wide_mm, high_mm = BED_MM
    scale = (wide_mm - 2.0) / bed_mm
    drawing = draw.Drawing(wide_mm, high_mm, described=wording.word("alt.bed"))
    low = TOP_MM + 2 * ROW_MM + 1.0
    items: list[draw.Item] = [draw.Line(((1.0, low), (wide_mm - 1.0, low)), draw.BOLD)]
    for each in layout.stations:
        for row, top in zip(each.standing.rows, (TOP_MM, TOP_MM + ROW_MM + 1.0), strict=True):
            left, right = (1.0 + scale * mm for mm in each.ends_mm(row))
            box = draw.Box(left, top, right, top + ROW_MM)
            if row in each.put_in and box.width_mm > NARROW_MM:
                items += draw.hatch(box.corners_mm, pitch_mm=2.4, angle_deg=45.0)
            items.append(draw.Line(box.corners_mm, draw.MEDIUM, closed=True))
        middle = 1.0 + scale * each.middle_mm
        plate = draw.Box(middle - 2.2, TOP_MM + 0.3, middle + 2.2, TOP_MM + ROW_MM - 0.3)
        items.append(draw.Line(plate.corners_mm, draw.THIN, closed=True, fill="white"))
        items.append(draw.Text((middle, TOP_MM + ROW_MM - 0.8), each.letter, LETTER_MM, bold=True, anchor="middle"))
        places = " – ".join(_place(mm, wording) for mm in each.ends_mm(each.standing.punch))
        items.append(draw.Text((middle, low + 4.0), places, FIGURE_MM, anchor="middle"))
    return drawing.adding(items)
