"""What is to be looked at, so that a blank laid wrong is found out: read from the printed line, and tried out by hand.

Holes are laid in each wrong way by turning the blank over in thought, here by swapping and mirroring its two sides.
Where the sheet says that a hole is, there it must be in the right lie, and no hole of its size in any wrong way named.
"""

import random
import re
from dataclasses import replace

import pytest

from flangewise.pattern import FlatHole
from flangewise.sheet import SheetData
from flangewise.sheet.page_words import misload_lines
from flangewise.words import LANGUAGES, catalogue

from .demo import channel, with_step, wording as wording_of

Place = tuple[float, float]
SIDE_MM = 120.0
WAYS = ("turned-180", "over-bed", "over-front", "turned-90", "turned-270", "over-diagonal-1", "over-diagonal-2")
LOOK = {
    "en": r"hole h(\d+) is ([\d.]+) from the left end, ([\d.]+) from the back edge",
    "de": r"Loch h(\d+) ([\d,]*\d) vom linken Ende, ([\d,]*\d) von der Hinterkante",
    "es": r"agujero h(\d+) está a ([\d,]*\d) del extremo izquierdo, ([\d,]*\d) del trasero",
}
QUARTER_APART = 6


def laid(place: Place, way: str) -> Place:
    """Where a place on the square comes to lie, from the left end and the back edge, laid wrong in a way."""
    left, back = place
    return {
        "turned-180": (SIDE_MM - left, SIDE_MM - back),
        "over-bed": (left, SIDE_MM - back),
        "over-front": (SIDE_MM - left, back),
        "turned-90": (back, SIDE_MM - left),
        "turned-270": (SIDE_MM - back, left),
        "over-diagonal-1": (back, left),
        "over-diagonal-2": (SIDE_MM - back, SIDE_MM - left),
    }[way]


def square(seed: int, *, start_at: str) -> tuple[SheetData, dict[int, Place]]:
    """A square sheet with three holes, its first step face up; where they lie as that step lays it."""
    dice = random.Random(seed)
    sheet = channel()
    centres = [(dice.uniform(10, 110), dice.uniform(10, 110)) for _ in range(3)]
    if seed == QUARTER_APART:
        # Turned left by a quarter, one hole stands where the other was: only the place of the first is left empty.
        centres = [(30.0, 40.0), (80.0, 30.0)]
    holes = tuple(FlatHole(number, 1, at, 6.0, None) for number, at in enumerate(centres, start=1))
    pattern = replace(sheet.pattern, along_bends_mm=SIDE_MM, developed_mm=SIDE_MM, holes=holes, zones=())
    first_up = with_step(sheet, 0, start_at=start_at, marked_face="up")
    # The start edge at the operator and the marked face up: left is left, and the back edge the far one. Turned about
    # so that the start edge lies at the back, left is right, and the back edge the near one.
    places = {
        hole.number: (hole.centre_mm[0], SIDE_MM - hole.centre_mm[1])
        if start_at == "operator"
        else (SIDE_MM - hole.centre_mm[0], hole.centre_mm[1])
        for hole in holes
    }
    return replace(first_up, pattern=pattern), places


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("start_at", ["operator", "backgauge"])
@pytest.mark.parametrize("seed", range(QUARTER_APART + 1))
def test_the_hole_named_tells_every_wrong_way_named_with_it(seed: int, start_at: str, lang: str) -> None:
    sheet, places = square(seed, start_at=start_at)
    said = catalogue(lang)
    wrong = {said[f"sheet.misload.{way}"]: way for way in WAYS}
    found = []
    for line in misload_lines(sheet, wording_of(lang)):
        told = re.search(LOOK[lang], line)
        if told is None:
            continue
        left, back = (float(told[key].replace(",", ".")) for key in (2, 3))
        assert (left, back) == pytest.approx(places[int(told[1])], abs=0.051)
        for name, way in wrong.items():
            if name.lower() in re.split("; |: ", line.lower()):
                found.append(way)
                apart = [max(abs(x - left), abs(y - back)) for x, y in (laid(place, way) for place in places.values())]
                assert min(apart) > 1.0, (way, line)
    assert sorted(found) == sorted(WAYS)
