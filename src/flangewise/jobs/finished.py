"""The finished section of a blank, as it is drawn, measured and packed."""

from flangewise.geometry import section_path
from flangewise.jobs.problem import chain_of
from flangewise.pattern import FlatPattern
from flangewise.sequence import FoldedSection, folded_section
from flangewise.sheet import Flat, Profile


def finished_profile(pattern: FlatPattern) -> Profile:
    """The finished section, its longest leg level and the rest above it, seen from the left end of the blank.

    The blank lies with its marked face up and its start edge to the operator, so the section runs from right to left.
    """
    chain = chain_of(pattern)
    path = section_path(chain, chain.turns_deg).seen(marked_up=True, start_behind=False)
    base = max(range(chain.bends + 1), key=lambda face: (round(chain.flats_mm[face], 3), -face))
    level = path.levelled(2 * base)
    if sum(level.points_mm[:, 1]) < -1e-6:
        level = level.placed(rotate_deg=180.0, to_mm=(0.0, 0.0))
    return profile_of(folded_section(level, chain, start_behind=False), pattern)


def profile_of(section: FoldedSection, pattern: FlatPattern) -> Profile:
    """A folded section with the faces of its blank."""
    flats = zip(pattern.faces, section.flats_mm, strict=True)
    return Profile(section.outline_mm, tuple(Flat(face, *ends) for face, ends in flats))
