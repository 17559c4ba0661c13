"""The page of a queue says what the queue has: places to scale, minutes, days."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.jobs import queues, waiting
from flangewise.part import read_part
from flangewise.queue import Queue
from flangewise.sequence import UNLIMITED
from flangewise.sheet.queue_page import BED_MM, bed_of, queue_page
from flangewise.sheet.wording import Wording
from flangewise.shop import load_shop
from flangewise.words import LANGUAGES

ANGLE = """part: {name}
material: DC01
thickness: {thickness}
machine: bench-310
due: {due}
section: {{length: 110, legs: [40, 40], bends: [{{turn: 90, punch: {punch}, die: {die}}}]}}
"""
JOBS = (
    ("one", 1.5, "straight-88", "vee-10-86", "2026-11-30"),
    ("two", 4, "round-nose-10", "vee-40-78", "2026-12-01"),
    ("three", 1.5, "straight-88", "vee-10-86", "2026-12-02"),
)


@pytest.fixture(scope="module")
def queue() -> Queue:
    """Three jobs by their days: the tools of the first stand on beside those of the second."""
    shop = load_shop(None)
    texts = [ANGLE.format(name=n, thickness=t, punch=punch, die=die, due=due) for n, t, punch, die, due in JOBS]
    (found,) = queues([waiting(read_part(text, "part.yaml", shop), shop, UNLIMITED) for text in texts], shop)
    return found


@pytest.mark.parametrize("lang", LANGUAGES)
def test_the_words_are_there_in_each_language(queue: Queue, lang: str) -> None:
    page = queue_page(queue, Wording(queue.bed.machine, lang))
    comma = "," if lang != "en" else "."
    assert [value for _, value in page.figures] == [f"{each}{comma}0" for each in ("51", "51", "0", "54")]
    (block,) = page.layouts
    assert [row.letter for row in block.stations] == ["A", "B"]
    assert [job.name for job in block.jobs] == ["one", "two", "three"]
    assert len(page.heads) == len(block.jobs[0].cells) + 2


def test_stations_are_drawn_to_scale(queue: Queue) -> None:
    """Rows of 110 and 110 with 20 between them about the middle of 900: from 330 and from 460."""
    wording = Wording(queue.bed.machine)
    picture = bed_of(queue.layouts[0], 900.0, wording)
    assert [text.words for text in picture.texts()] == ["A", "330 – 440", "B", "460 – 570"]
    scale = (BED_MM[0] - 2) / 900
    lefts = sorted({round(min(x for x, _ in line.points_mm), 3) for line in picture.lines() if line.closed})
    assert round(1 + 330 * scale, 3) in lefts and round(1 + 460 * scale, 3) in lefts


def test_inches_stand_in_hundredths(queue: Queue) -> None:
    page = queue_page(queue, Wording(queue.bed.machine, units="inch"))
    assert [row.place for row in page.layouts[0].stations] == ["12.99 – 17.32", "18.11 – 22.44"]


def test_what_is_not_proven_is_told_with_its_gap(queue: Queue) -> None:
    page = queue_page(replace(queue, least_s=queue.set_up_s - 120), Wording(queue.bed.machine))
    assert page.lines[0] == "Not proven: none takes less than 49.0 min, a gap of 2.0 min."
