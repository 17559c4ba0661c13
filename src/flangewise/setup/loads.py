"""The limits of a set-up: each body's load against what it carries, and whether segments reach and carry a hit."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from flangewise.findings import Finding, refuse
from flangewise.punch_die import NEAR_SHARE, Station, concentrated_kn_per_m, off_centre_force_kn
from flangewise.setup.step import SetupStep
from flangewise.setup.work import PlannedHit, Work
from flangewise.shop import Machine
from flangewise.words import Phrase, phrase


@dataclass(frozen=True)
class Load:
    """One limit: what carries it, the load and what it may be, and the step that loads it most."""

    body: Phrase
    load: float
    most: float
    unit: Literal["kn", "kn_per_m"]
    step: int

    @property
    def share(self) -> float:
        """Load over limit: 1 is all of it."""
        return self.load / self.most

    @property
    def is_near(self) -> bool:
        """Whether it is so close to its limit that the user is told."""
        return self.share > NEAR_SHARE


def most_loaded(steps: Sequence[SetupStep], machine: Machine, *, concentrated_share: float) -> tuple[Load, ...]:
    """Each body once, at its most loaded step; a hit of which the force is not known loads nothing here."""
    most: dict[str, Load] = {}
    for step in steps:
        for code, load in _of_step(step, machine, concentrated_share):
            if code not in most or load.share > most[code].share:
                most[code] = load
    return tuple(most.values())


def _of_step(step: SetupStep, machine: Machine, concentrated_share: float) -> Iterator[tuple[str, Load]]:
    per_m, pair = step.pair.limit_force_kn_per_m, step.pair
    if per_m is None or step.force_kn is None or pair.tools.punch is None or pair.tools.die is None:
        return
    ratings = (
        ("punch", pair.tools.punch.name, pair.tools.punch.load_kn_per_m),
        ("die", pair.tools.die.name, pair.tools.die.load_kn_per_m),
        ("holder", machine.name, machine.holder_load_kn_per_m),
        ("concentrated", machine.name, concentrated_kn_per_m(machine, concentrated_share)),
    )
    for body, name, rating in ratings:
        told = phrase(f"sheet.limit.body.{body}", name=name)
        yield f"{body} {name}", Load(told, per_m, rating, "kn_per_m", step.step)
    off_mm = step.station.centre_mm - machine.bed_length_mm / 2
    code = "machine-off-centre" if abs(off_mm) > 1.0 else "machine"
    told = phrase(f"sheet.limit.body.{code}", name=machine.name)
    yield code, Load(told, step.force_kn, off_centre_force_kn(machine, off_mm), "kn", step.step)


def segment_findings(station: Station, hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """Refusals of tools whose segments do not reach the bend's length, or whose ears carry less than its force."""
    tools, force = hit.pair.tools, hit.pair.limit_force_kn_per_m or 0.0
    bodies = (("punch", tools.punch, station.segments), ("die", tools.die, station.die_segments))
    found = []
    for body, tool, segments in bodies:
        if tool is None:
            continue
        load = tool.ear_load_kn_per_m
        if not segments:
            found.append(refuse(f"{body}-too-short", hit.place, tool=tool.name, length_mm=work.piece.length_mm))
        elif any(segment.ear for segment in segments) and load is not None and force > load:
            found.append(refuse("over-ear-load", hit.place, tool=tool.name, force_kn_per_m=force, load_kn_per_m=load))
    return tuple(found)
