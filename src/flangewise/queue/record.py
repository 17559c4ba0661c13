"""A queue as a script reads it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flangewise.punch_die import segment_texts
from flangewise.queue.layouts import LaidStation
from flangewise.queue.queued import Queue, QueuedJob


def queue_record(queue: Queue) -> dict[str, Any]:
    """A machine's queue with its keys: minutes, the jobs in order, the layouts with stations and who uses them."""
    return {
        "machine": queue.bed.machine.name,
        "set_up_min": queue.set_up_s / 60,
        "given_min": queue.given_s / 60,
        "alone_min": queue.alone_s / 60,
        "saved_min": queue.saved_s / 60,
        "lower_bound_min": queue.least_s / 60,
        "gap_min": max(queue.set_up_s - queue.least_s, 0.0) / 60,
        "proven_least": queue.proven,
        "kinds": queue.kinds,
        "jobs": list(job_records(queue)),
        "layouts": [
            {
                "layout": number,
                "stations": [_station(queue, number - 1, each) for each in layout.stations],
            }
            for number, layout in enumerate(queue.layouts, start=1)
        ],
    }


def job_records(queue: Queue) -> Iterator[dict[str, Any]]:
    """The jobs of a queue in order, a row each."""
    for order, each in enumerate(queue.jobs, start=1):
        yield _job(queue, order, each)


def _job(queue: Queue, order: int, each: QueuedJob) -> dict[str, Any]:
    return {
        "machine": queue.bed.machine.name,
        "order": order,
        "part": each.job.part.name,
        "quantity": each.job.quantity,
        "due": each.job.part.due or None,
        "ends": None if each.day is None else each.day.isoformat(),
        "late": each.is_late if each.day is not None and each.job.due is not None else None,
        "layout": each.layout + 1,
        "stations": [{"station": letter, "moved_mm": moved_mm} for letter, moved_mm in each.moved_mm],
        "put_in": [f"{row.kind} {row.tool}" for row in each.put_in],
        "changes_inside": each.has_changes,
        "set_up_min": each.set_up_s / 60,
        "alone_min": each.job.set_up_s / 60,
        "run_h": None if each.job.run_s is None else each.job.run_s / 3600,
    }


def _station(queue: Queue, layout: int, each: LaidStation) -> dict[str, Any]:
    punch, die = each.standing.rows
    (from_mm, to_mm), (die_from_mm, die_to_mm) = each.ends_mm(punch), each.ends_mm(die)
    return {
        "station": each.letter,
        "punch": punch.tool,
        "punch_turned": punch.turned,
        "die": die.tool,
        "from_mm": from_mm,
        "to_mm": to_mm,
        "segments": list(segment_texts(punch.segments)),
        "die_from_mm": die_from_mm,
        "die_to_mm": die_to_mm,
        "die_segments": list(segment_texts(die.segments)),
        "put_in": [row.kind for row in each.put_in],
        "jobs": [job.job.part.name for job in queue.served_by(layout, each)],
    }
