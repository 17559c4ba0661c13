"""What stands upright behind and is longer than the tools open: such a part is not brought in level."""

import itertools
import math
from collections.abc import Iterator

from flangewise.clearance import tallest_gap_mm
from flangewise.sequence.candidates import Exclusion
from flangewise.sequence.moves import END, START
from flangewise.sequence.problem import Hit, SectionProblem
from flangewise.sequence.regions import Shapes

# So many bends to a side are looked at.
MOST_BESIDE = 4
# So much longer than any gap is surely longer: tools and part are drawn within a few hundredths.
SURELY_MM = 0.2
# An upright heading has no greater cosine.
LEVEL = 1e-9


def too_tall(problem: SectionProblem, *, shapes: Shapes) -> Iterator[Exclusion]:
    """What cannot be brought in level because something stands upright behind that is longer than the tools open.

    Of few bends in a row beside an operation, whatever else is bent; with slack, on every blank.
    """
    for index, operation in enumerate(problem.operations):
        # The gap is no less than the tools open: it need not be known where nothing is as long as that.
        opens_mm = min((_opens_mm(option.hits) for option in operation.options), default=math.inf)
        if not any(next(_uprights(problem, index, behind, opens_mm), None) for behind in (START, END)):
            continue
        gaps_mm = [_tallest_gap_mm(option.hits, shapes) for option in operation.options]
        # What is longer than the widest gap is so with all tools; tools that open less are caught by less.
        own = {each: [nth for nth, gap_mm in enumerate(gaps_mm) if gap_mm == each] for each in set(gaps_mm)}
        caught = {each: (None,) if each == max(gaps_mm) else own[each] for each in sorted(own) if math.isfinite(each)}
        for behind, (gap_mm, options) in itertools.product((START, END), caught.items()):
            for (mask, value), option in itertools.product(_uprights(problem, index, behind, gap_mm), options):
                yield Exclusion(index, mask, value, option, behind, is_caught=True)


def _opens_mm(hits: tuple[Hit, ...]) -> float:
    """How far the tools of one swing open, if that is limited."""
    limit_mm = hits[0].stack.open_limit_mm if len(hits) == 1 and hits[0].kind == "swing" else None
    return math.inf if limit_mm is None else limit_mm


def _tallest_gap_mm(hits: tuple[Hit, ...], shapes: Shapes) -> float:
    if math.isinf(opens_mm := _opens_mm(hits)):
        return opens_mm
    if (key := id(hits[0].stack)) not in shapes.gaps_mm:
        shapes.gaps_mm[key] = tallest_gap_mm(hits[0].stack.bodies, opens_mm)
    return shapes.gaps_mm[key]


def _uprights(problem: SectionProblem, index: int, behind: int, gap_mm: float) -> Iterator[tuple[int, int]]:
    """Bends beside an operation, as a set and those of it that are bent, with which something longer than a gap on
    every blank stands upright behind.

    Heading and how far in front at most are followed outward from the flat face beside the bend. A zone that turns back
    comes forward by no more than its sheet.
    """
    chain, operations, slack = problem.chain, problem.operations, problem.slack
    step, further = (-1, 0) if behind == START else (1, 1)
    if (zones := operations[index].zones)[1:]:
        return
    off_mm = slack[index].beside_mm if slack else 0.0
    todo = [(index, 0, 0, 0.0, -chain.flats_mm[zones[0] + further], 0.0, off_mm)]
    while todo:
        at, mask, value, heading_deg, ahead_mm, straight_mm, off_mm = todo.pop()
        at += step
        is_last = not 0 <= at < len(operations)
        if not is_last and slack:
            off_mm += slack[at].shape_mm
        cos = math.cos(math.radians(heading_deg))
        if abs(cos) < LEVEL and ahead_mm + off_mm < 0 and straight_mm - off_mm - SURELY_MM > gap_mm:
            yield mask, value
        elif not is_last and mask.bit_count() < MOST_BESIDE and not operations[at].zones[1:]:
            (zone,) = operations[at].zones
            zone_mm, flat_mm = chain.zones_mm[zone], chain.flats_mm[zone + further]
            flat = (heading_deg, ahead_mm - (zone_mm + flat_mm) * cos, straight_mm + zone_mm + flat_mm)
            turned_deg = heading_deg + chain.turns_deg[zone]
            turned = math.cos(math.radians(turned_deg))
            bent = (turned_deg, ahead_mm + (zone_mm if min(cos, turned) < -LEVEL else 0.0) - flat_mm * turned, flat_mm)
            todo += [(at, mask | 1 << at, value, *flat, off_mm), (at, mask | 1 << at, value | 1 << at, *bent, off_mm)]
