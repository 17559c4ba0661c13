"""Jobs put in order, machine by machine: each worked out by itself, and what its set-up needs read off its plan."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from flangewise.findings import Finding
from flangewise.jobs.estimate import estimate_of
from flangewise.jobs.machines import worked_out
from flangewise.part import Part
from flangewise.punch_die import SegmentUse, off_centre_force_kn
from flangewise.queue import Bed, Kind, Need, Queue, QueueJob, Standing, ToolKind, ToolRow, WorkingDays, queue_of
from flangewise.records import dataclass
from flangewise.sequence import Watch
from flangewise.setup import Setup, SetupStep
from flangewise.shop import Machine, Shop

if TYPE_CHECKING:
    from flangewise.jobs.panel_plan import PanelPlan
    from flangewise.part import PanelPart
    from flangewise.pattern import PanelBlank
    from flangewise.punch_die import Station


@dataclass(frozen=True)
class Waiting:
    """A part worked out for a queue: its machine, and the job, None where it has no plan; then the findings say why."""

    part: Part | PanelPart
    machine: str
    feasible: bool | None
    job: QueueJob | None
    findings: tuple[Finding, ...]


def waiting(part: Part | PanelPart, shop: Shop, watch: Watch) -> Waiting:
    """The part worked out on its machine as `plan` does it."""
    if not isinstance(part, Part):
        return _waiting_panel(part, shop, watch)
    job = worked_out(part, shop, watch)
    base = Waiting(part, job.machine.name, job.feasible, None, job.findings)
    if job.setup is None or not job.feasible:
        return base
    estimate = estimate_of(job)
    batch_s = None if estimate.batch is None else estimate.batch.machine_s
    run_s = None if batch_s is None else batch_s - job.setup.set_up_s
    length_mm = part.section.length_mm
    needs = {
        station: _need(station, steps, job.machine, least_mm=length_mm, reach_mm=(length_mm / 2, length_mm / 2))
        for station, steps in _by_station(job.setup).items()
    }
    kind = _kind(job.setup, job.machine, needs)
    queued = QueueJob(part, job.centre.quantity, kind, job.setup.set_up_s, run_s, estimate.proven)
    return Waiting(part, job.machine.name, True, queued, job.findings)


def _waiting_panel(part: PanelPart, shop: Shop, watch: Watch) -> Waiting:
    from flangewise.jobs.panel_plan import planned_panel

    plan = planned_panel(part, shop, watch)
    base = Waiting(part, plan.machine.name, plan.feasible, None, plan.findings)
    if plan.setup is None or plan.blank is None or plan.solution is None or not plan.feasible:
        return base
    setup = plan.setup
    # What a robot's run takes besides its cycle is not reckoned of panels.
    run_s = setup.quantity * setup.cycle_s if plan.handler.kind == "operator" else None
    kind = _kind(setup, plan.machine, _panel_needs(plan, setup, plan.blank))
    queued = QueueJob(part, setup.quantity, kind, setup.set_up_s, run_s, plan.solution.proven_least)
    return Waiting(part, plan.machine.name, True, queued, plan.findings)


def queues(every: Iterable[Waiting], shop: Shop, days: WorkingDays | None = None) -> tuple[Queue, ...]:
    """A queue for each machine that has jobs, in the order in which the machines first come."""
    by_machine: dict[str, list[QueueJob]] = {}
    for each in every:
        if each.job is not None:
            by_machine.setdefault(each.machine, []).append(each.job)
    held = rack_of(shop)
    return tuple(
        queue_of(jobs, Bed(shop.machines[name], shop.defaults.station_gap_mm, held), days)
        for name, jobs in by_machine.items()
    )


def _panel_needs(plan: PanelPlan, setup: Setup, blank: PanelBlank) -> dict[Station, Need]:
    from flangewise.jobs.panel_problem import EAR_S, SEGMENT_S
    from flangewise.setup import panel_step, reach_mm

    needs = {}
    for station, steps in _by_station(setup).items():
        low_mm, high_mm = reach_mm([panel_step(step.planned) for step in steps], blank)
        half_mm = (station.to_mm - station.from_mm) / 2
        needs[station] = _need(
            *(station, steps, plan.machine),
            least_mm=None,
            reach_mm=(half_mm - low_mm, high_mm - half_mm),
            segment_s=SEGMENT_S,
            ear_s=EAR_S,
        )
    return needs


def rack_of(shop: Shop) -> Mapping[tuple[str, str], Mapping[SegmentUse, int]]:
    """How many segments of each kind the rack holds, by kind and name of the tool."""
    tools = [("punch", punch.name, punch.segments) for punch in shop.punches.values()]
    tools += [("die", die.name, die.segments) for die in shop.dies.values()]
    held: dict[tuple[str, str], dict[SegmentUse, int]] = {}
    for kind, name, segments in tools:
        own = held.setdefault((kind, name), {})
        for segment in segments:
            use = SegmentUse(segment.length_mm, segment.ear)
            own[use] = own.get(use, 0) + segment.held
    return held


def _kind(setup: Setup, machine: Machine, needs: Mapping[Station, Need]) -> Kind:
    """What a set-up needs: all its stations at once, or one after the other where they do not stand together."""
    used = [step.station for step in setup.steps]
    if len({station.set_up for station in used}) <= 1:
        return Kind(tuple(needs[station] for station in dict.fromkeys(used)))
    first = needs[used[0]]
    inside_s = setup.set_up_s - machine.set_up_s - first.own.put_in_s
    return Kind((first,), needs[used[-1]], inside_s)


def _by_station(setup: Setup) -> dict[Station, list[SetupStep]]:
    by_station: dict[Station, list[SetupStep]] = {}
    for step in setup.steps:
        by_station.setdefault(step.station, []).append(step)
    return by_station


def _need(
    station: Station,
    steps: Sequence[SetupStep],
    machine: Machine,
    *,
    least_mm: float | None,
    reach_mm: tuple[float, float],
    segment_s: float = 0.0,
    ear_s: float = 0.0,
) -> Need:
    """A station as a set-up has it; `reach_mm`: what is bent there, to the left and right of the punch row's middle."""

    def row(kind: ToolKind, tool: str, segments: tuple[SegmentUse, ...], *, turned: bool) -> ToolRow:
        ears = sum(segment.ear is not None for segment in segments)
        put_in_s = machine.mount_s + segment_s * len(segments) + ear_s * ears
        return ToolRow(kind, tool, turned, segments, put_in_s)

    punch = row("punch", station.punch, station.segments, turned=station.turned)
    die = row("die", station.die, station.die_segments, turned=False)
    force_kn = max(step.force_kn or 0.0 for step in steps)
    own = Standing.of(
        *(punch, die, (station.die_from_mm + station.die_to_mm) / 2 - station.centre_mm),
        parts_mm=reach_mm,
        shut_height_mm=steps[0].pair.tools.shut_height_mm,
        heavy_kn=force_kn if force_kn > off_centre_force_kn(machine, machine.bed_length_mm / 2) else 0.0,
    )
    whole = bool(punch.segments and die.segments)
    return Need(
        *(own, least_mm if whole else None, *reach_mm),
        middle_mm=station.centre_mm,
        play_mm=_play_mm([z_mm for step in steps for z_mm in step.stops.z_mm], machine),
    )


def _play_mm(stops_mm: Sequence[float], machine: Machine) -> tuple[float, float]:
    """How far the fingers of a station can go along the bed from where its sheet has them; none go out further."""
    if not stops_mm:
        return -math.inf, math.inf
    least_mm, most_mm = machine.stop_z_mm
    return min(least_mm - min(stops_mm), 0.0), max(most_mm - max(stops_mm), 0.0)
