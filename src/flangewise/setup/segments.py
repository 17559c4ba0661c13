"""Whether the segments put together for a hit reach its length and carry its force."""

from flangewise.findings import Finding, refuse
from flangewise.punch_die import Station
from flangewise.setup.hit import PlannedHit
from flangewise.setup.work import Work
from flangewise.shop import Die, Punch


def segment_findings(station: Station, hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """Refusals of tools whose segments do not reach the bend's length, or whose ears carry less than its force."""
    tools = (
        ("punch", hit.pair.tools.punch, station.segments),
        ("die", hit.pair.tools.die, station.die_segments),
    )
    found = []
    for body, tool, segments in tools:
        if tool is None:
            continue
        if not segments:
            found.append(refuse(f"{body}-too-short", hit.place, tool=tool.name, length_mm=work.piece.length_mm))
        elif any(segment.ear for segment in segments):
            found.extend(_over_ear_load(tool, hit))
    return tuple(found)


def _over_ear_load(tool: Punch | Die, hit: PlannedHit) -> list[Finding]:
    force, load = hit.pair.limit_force_kn_per_m or 0.0, tool.ear_load_kn_per_m
    if load is None or force <= load:
        return []
    return [refuse("over-ear-load", hit.place, tool=tool.name, force_kn_per_m=force, load_kn_per_m=load)]
