"""What a plan may get wrong before anything is moved: bends left out or made twice, faces, turns of the part."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from flangewise.findings import Finding, place, refuse
from flangewise.replay.plan import PlanStep
from flangewise.replay.section import SectionNumbers
from flangewise.words import Phrase, phrase

# What a move does to the part: does the face that is up change, does the end that is behind change.
_EFFECTS = {
    "turn": (False, True),
    "turn-in-plane": (False, True),
    "turn-over-bed": (True, True),
    "turn-over-front": (True, False),
}


@dataclass(frozen=True)
class Loading:
    """How the part lies: marked face up or down, the section's start or its end toward the backgauge."""

    marked_up: bool
    start_behind: bool


def loading_of(step: PlanStep) -> Loading:
    """How a step has the part lie: the end it is gauged on is the one behind, a flange gauged on lies behind too."""
    if step.gauged_on == "flange":
        before = step.gauged_bend is not None and bool(step.bends) and step.gauged_bend < step.bends[0]
        return Loading(step.marked_up, before)
    return Loading(step.marked_up, step.gauged_on == "start")


def order_findings(section: SectionNumbers, steps: Sequence[PlanStep]) -> tuple[Finding, ...]:
    """Every bend is made, none twice, a hem in two hits with nothing between, and every turn of the part is told."""
    return (*_count_findings(section, steps), *_hem_findings(section, steps), *_move_findings(steps))


def _count_findings(section: SectionNumbers, steps: Sequence[PlanStep]) -> list[Finding]:
    found: list[Finding] = []
    made = Counter(bend for step in steps for bend in step.bends)
    wanted = {bend.number: 2 if bend.kind == "hem" else 1 for bend in section.bends}
    for bend in sorted(made.keys() - wanted.keys()):
        found.append(refuse("replay-bend-unknown", place("bend", bend), bend=bend))
    for bend, hits in wanted.items():
        if made[bend] < hits:
            found.append(refuse("replay-bend-left-out", place("bend", bend), hits=hits, made=made[bend]))
        elif made[bend] > hits:
            found.append(refuse("replay-bend-again", place("bend", bend), hits=hits, made=made[bend]))
    return found


def _hem_findings(section: SectionNumbers, steps: Sequence[PlanStep]) -> list[Finding]:
    found = []
    for bend in section.bends:
        hits = [index for index, step in enumerate(steps) if bend.number in step.bends]
        if bend.kind == "hem" and len(hits) == 2 and hits[1] != hits[0] + 1:
            found.append(refuse("replay-hem-parted", place("bend", bend.number)).at_step(hits[1] + 1))
    return found


def _move_findings(steps: Sequence[PlanStep]) -> list[Finding]:
    found = []
    for before, step in pairwise(steps):
        told = _turned(loading_of(before), step.moves)
        if told != loading_of(step):
            where = place("step", step.step)
            said = refuse("replay-moves", where, told=_loading_phrase(told), wanted=_loading_phrase(loading_of(step)))
            found.append(said.at_step(step.step))
    return found


def _turned(loading: Loading, moves: Sequence[tuple[str, str]]) -> Loading:
    for move, axis in moves:
        face, end = _effect(move, axis)
        loading = Loading(loading.marked_up != face, loading.start_behind != end)
    return loading


def _effect(move: str, axis: str) -> tuple[bool, bool]:
    """A move's effect; a plain `turn-over` is told apart by its axis, and moves that turn nothing change nothing."""
    if move == "turn-over":
        return (True, False) if axis.startswith("front") else (True, True)
    return _EFFECTS.get(move, (False, False))


def _loading_phrase(loading: Loading) -> Phrase:
    face = "up" if loading.marked_up else "down"
    return phrase(f"replay.pose-{face}-{'start' if loading.start_behind else 'end'}")
