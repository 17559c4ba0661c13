"""The pictures of a sheet by position: left is left, the back is above, the part is folded as its file says."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from shapely.geometry import LineString, Point

from ..each import of_each
from ..sentence import sentences_in
from .paper import boxed, filled, middle, pictures, runs, the_picture, words_at
from .read_back import NAMES, PLAIN, WANTED, Record, flats, holes_of, in_mm, plans, signed_turns_deg, start_is_behind

NEAR_MM = 0.02
"""Two figures are drawn to a hundredth."""
CLOSE_MM = 26.0
"""Stops nearer than this leave no room for their words side by side."""


def loads(name: str) -> list[tuple[Record, ElementTree.Element]]:
    """The loading pictures of a sheet, each with its step."""
    told = [(sentences_in(title, "sheet.alt.blank", step=r"\d+"), picture) for title, picture in pictures(name)]
    return [(plans()[name]["steps"][int(said[0]["step"]) - 1], picture) for said, picture in told if said]


@of_each(NAMES)
def test_stops_datum_holes_and_lines_are_drawn_where_they_lie_under_the_operators_eye(name: str) -> None:
    """Marked face up and the start edge at the operator, the part's left end lies left; each turn swaps the two."""
    blank = plans()[name]["blank"]
    length, developed = blank["along_bends_mm"], blank["developed_mm"]
    looked_at = loads(name)
    assert looked_at
    for step, picture in looked_at:
        words, solid = words_at(picture), runs(picture, "0.5")
        told = dict(words)
        assert told["BACKGAUGE"][1] < told["OPERATOR"][1]
        ends = {run[0][0] for run in solid if len(run) == 2 and run[0][0] == run[1][0]}
        left, right = min(ends), max(ends)
        edges = [run for run in solid if len(run) == 2 and run[0][1] == run[1][1]]
        top, bottom = min(run[0][1] for run in edges), max(run[0][1] for run in edges)
        is_whole = max(run[1][0] - run[0][0] for run in edges) > right - left - NEAR_MM
        behind = start_is_behind(step)
        is_left = (step["marked_face"] == "up") != behind

        (station,) = step["stations"]
        part_from = (station["from_mm"] + station["to_mm"] - length) / 2
        fingers = sorted(middle(run)[0] for run in solid if len(run) == 5)
        numbered = [at for word, (at, _) in sorted(words) if re.match(r"Z\d? ?\d", word)]
        places = step["stops"]["z_mm"]
        assert len(fingers) == len(numbered) == len(places)
        for at, label, z in zip(fingers, numbered, places, strict=True):
            # Of stops close together the words may stand aside; a leader then leads to the right one.
            nearest = min(abs(label - other) for other in fingers)
            assert abs(label - at) == nearest or fingers[-1] - fingers[0] < CLOSE_MM
            if is_whole:
                assert at == pytest.approx(left + (right - left) * (z - part_from) / length, abs=NEAR_MM)

        (datum,) = (run[0] for run in filled(picture) if len(run) == 4 and run[0][1] == run[1][1])
        assert datum[0] == (left if is_left else right)
        assert datum[1] == pytest.approx(top if behind else bottom, abs=NEAR_MM) or step["step"] > 1

        alike = abs((bottom - top) / (right - left) * length / developed - 1) < 0.01
        rims = [run for run in runs(picture, "0.25") if len(run) > 4 and run[0] == run[-1]]
        letters = [(word, at) for word, at in words if re.fullmatch(r"h\d", word)]
        assert len(rims) == len(letters)
        shown = sorted(int(word[1:]) - 1 for word, _ in letters)
        wanted = []
        for along, up in (holes_of(name)[each] for each in shown):
            share, deep = (
                along / length if is_left else 1 - along / length,
                up / developed if behind else 1 - up / developed,
            )
            wanted.append((left + (right - left) * share, top + (bottom - top) * deep))
        if is_whole and step["step"] == 1:
            found = sorted(middle(rim) for rim in rims)
            assert [x for x, _ in found] == pytest.approx([x for x, _ in sorted(wanted)], abs=NEAR_MM)
            # Of a part that is not broken across, what is on it stands where the blank has it.
            if alike:
                assert sorted(y for _, y in found) == pytest.approx(sorted(y for _, y in wanted), abs=NEAR_MM)
        if step["step"] == 1:
            assert len(rims) == len(holes_of(name))
        if step["step"] == 1 and name in PLAIN and is_whole and alike:
            lines = [run[0][1] for run in runs(picture, "0.8") if run[0][0] < left - 1]
            lines += [run[0][1] for run in runs(picture, "0.25", dashed=True) if abs(run[0][0] - left) < NEAR_MM]
            for bend in flats()[name]["bends"]:
                share = bend["line_mm"] / developed if behind else 1 - bend["line_mm"] / developed
                level = min(lines, key=lambda line: abs(line - (top + (bottom - top) * share)))
                assert level == pytest.approx(top + (bottom - top) * share, abs=2 * NEAR_MM)
            # Letters crowded out from beside their lines have leaders; those beside them stand in the lines' order.
            beside = sorted((y, word) for word, (x, y) in words if re.fullmatch(r"[A-Z]", word) and x > right)
            order = ["ABCDEFGH"[bend["bend"] - 1] for bend in flats()[name]["bends"]][:: 1 if behind else -1]
            assert [word for _, word in beside] == [each for each in order if each in {word for _, word in beside}]
            assert set(order) <= {word for word, _ in words}


def folded(name: str) -> list[tuple[float, float]]:
    """The section of the part file, folded sharp, seen from the left end: the start edge right, the marked face up.

    Turned in its plane, never mirrored, until its longest leg is level.
    """
    legs = [in_mm(name, leg) for leg in WANTED[name]["section"]["legs"]]
    ways = [math.pi]
    for turn in signed_turns_deg(name):
        ways.append(ways[-1] - math.radians(turn))
    level = math.pi - ways[legs.index(max(legs))]
    points = [(0.0, 0.0)]
    for leg, way in zip(legs, ways, strict=True):
        x, y = points[-1]
        points.append((x + leg * math.cos(way + level), y + leg * math.sin(way + level)))
    return points


@of_each(PLAIN)
def test_the_finished_part_is_folded_as_its_file_says_and_not_its_mirror(name: str) -> None:
    """The section, its points taken back from the paper, lies along the legs; the rest stands above."""
    picture = the_picture(pictures(name), "The finished part in cross-section")
    end = max(filled(picture), key=len)
    assert len(end) > 8
    taken = [(x, -y) for x, y in end]
    wanted = folded(name)
    radius = max(bend["inside_radius_mm"] for bend in flats()[name]["bends"])
    thick = in_mm(name, WANTED[name]["thickness"])
    # A sharp corner stands outside a round one by less than 0.42 of its radius.
    near = 1.5 * thick + 0.42 * (radius + thick)
    ways = [_off(taken, [(sign * x, sign * y) for x, y in wanted]) for sign in (1, -1)]
    assert min(ways) < near
    mirrored = [_off(taken, [(-sign * x, sign * y) for x, y in wanted]) for sign in (1, -1)]
    assert min(mirrored) > near or name in ("sensor-rail", "tray-16ga")


def _off(taken: list[tuple[float, float]], wanted: list[tuple[float, float]]) -> float:
    """How far a drawn outline lies off the legs at most, both laid in the same box."""
    drawn, meant = boxed(taken), boxed(wanted)
    scale = max((meant[2] - meant[0]) / (drawn[2] - drawn[0]), (meant[3] - meant[1]) / (drawn[3] - drawn[1]))
    (x, y), (u, v) = middle(taken), middle(wanted)
    legs = LineString(wanted)
    there = LineString([(u + (a - x) * scale, v + (b - y) * scale) for a, b in taken])
    return max(*(legs.distance(Point(each)) for each in there.coords), *(there.distance(Point(p)) for p in wanted))


def test_the_holes_of_the_finished_part_are_as_far_behind_its_left_end_as_its_file_says() -> None:
    """Of the bracket the hole in the level leg shows: 100 from the left end, 40 from the outside of the corner."""
    name = "wind-vane-bracket"
    picture = the_picture(pictures(name), "The finished part in isometric")
    end = next(run for run in runs(picture, "0.5") if len(run) > 8 and run[0] == run[-1])
    scale = (boxed(end)[2] - boxed(end)[0]) / (WANTED[name]["section"]["legs"][1] * math.cos(math.pi / 6))
    strokes = [run for run in runs(picture, "0.25") if len(run) == 2 and math.dist(*run) < 1.0]
    chains = [run for run in strokes if any(run[0] == other[1] for other in strokes)]
    assert len(chains) > 8 and all(one != other for one, other in pairwise(chains))
    x, _ = middle([point for run in chains for point in run])
    behind = (x - boxed(end)[2]) / (scale * math.cos(math.pi / 6))
    # The hole that shows lies in the leg that stands: its plane is the right-hand end of the section.
    assert behind == pytest.approx(WANTED[name]["section"]["holes"][0]["at"][0], abs=3)
