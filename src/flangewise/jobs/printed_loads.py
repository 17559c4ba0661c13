"""The limits of a job in one list: each body's load against what it carries, at the step that loads it most."""

from __future__ import annotations

from collections.abc import Iterator

from flangewise.jobs.one import Job
from flangewise.punch_die import concentrated_kn_per_m, off_centre_force_kn
from flangewise.setup import Setup, SetupStep
from flangewise.sheet import Load
from flangewise.words import phrase


def loads(job: Job, setup: Setup) -> tuple[Load, ...]:
    """Each body once, at its most loaded step; a hit of which the force is not known loads nothing here."""
    most: dict[str, Load] = {}
    for step in setup.steps:
        for code, load in _of_step(job, step):
            if code not in most or load.share > most[code].share:
                most[code] = load
    return tuple(most.values())


def _of_step(job: Job, step: SetupStep) -> Iterator[tuple[str, Load]]:
    per_m, pair, machine = step.pair.limit_force_kn_per_m, step.pair, job.machine
    if per_m is None or step.force_kn is None or pair.punch is None or pair.die is None:
        return
    ratings = (
        ("punch", pair.punch.name, pair.punch.load_kn_per_m),
        ("die", pair.die.name, pair.die.load_kn_per_m),
        ("holder", machine.name, machine.holder_load_kn_per_m),
        ("concentrated", machine.name, concentrated_kn_per_m(machine, job.shop.defaults.concentrated_share)),
    )
    for body, name, rating in ratings:
        told = phrase(f"sheet.limit.body.{body}", name=name)
        yield f"{body} {name}", Load(told, per_m, rating, "kn_per_m", step.step)
    off_mm = step.stations[0].centre_mm - machine.bed_length_mm / 2 if step.stations else 0.0
    code = "machine-off-centre" if abs(off_mm) > 1.0 else "machine"
    told = phrase(f"sheet.limit.body.{code}", name=machine.name)
    yield code, Load(told, step.force_kn, off_centre_force_kn(machine, off_mm), "kn", step.step)
