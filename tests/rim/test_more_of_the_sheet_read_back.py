"""What the pictures of a sheet say in words, its limits, its corrections and its tools, held to plan, part and shop."""

from __future__ import annotations

import html
import re
from collections import Counter
from functools import cache

import pytest

from flangewise.words import catalogue

from ..each import of_each
from ..sentence import FIGURE, sentences_in
from .read_back import (
    NAMES,
    PLAIN,
    WANTED,
    Record,
    in_mm,
    listed,
    number,
    numbers,
    plans,
    rows_under,
    said,
    sheet_html,
    signed_turns_deg,
    start_is_behind,
    step_pieces,
)
from .test_sheet_read_back import limits_said

CONCENTRATED_SHARE = 0.6
"""Of the frames' distance, over which all the force may be spread (common practice, from memory)."""


@cache
def pictures(name: str) -> list[tuple[str, list[str]]]:
    """What each picture of a sheet is said to show, and the words in it."""
    found = []
    for picture in re.findall(r"<svg.*?</svg>", sheet_html(name), re.DOTALL):
        titles = re.findall(r"<title>(.*?)</title>", picture, re.DOTALL)
        words = re.findall(r"<text[^>]*>(.*?)</text>", picture, re.DOTALL)
        found.append((html.unescape(titles[0]), [html.unescape(each) for each in words]))
    return found


def per_metre(name: str, step: Record) -> float:
    """The force of a step on a metre."""
    return step["force_kn"] / in_mm(name, WANTED[name]["section"]["length"]) * 1000


@of_each(NAMES)
def test_a_loading_picture_says_how_the_part_of_its_step_lies(name: str) -> None:
    plan, blank, seen = plans()[name], plans()[name]["blank"], 0
    for title, words in pictures(name):
        told = sentences_in(title, "sheet.alt.blank", step=r"\d+")
        if not told:
            continue
        step, seen = plan["steps"][int(told[0]["step"]) - 1], seen + 1
        if step["stops"]["x_mm"] is not None:
            assert f"X {step['stops']['x_mm']:.2f}" in words
        for place, z in enumerate(step["stops"]["z_mm"], start=1):
            told_z = [re.fullmatch(rf"Z{place}? ?(\d+)", each) for each in words]
            # To the whole mm.
            assert any(each and abs(float(each[1]) - z) < 0.51 for each in told_z)
        assert f"MARKED FACE {step['marked_face'].upper()}" in " ".join(words)
        for side, key in (("UP", "up"), ("DOWN", "down")):
            for kind in ("burr", "film"):
                lies = WANTED[name].get(kind)
                if lies in ("marked", "other"):
                    shown = any(f"{kind.upper()} {side}" in each for each in words)
                    assert shown == ((lies == "marked") == (step["marked_face"] == key))
        for each in words:
            formed = re.fullmatch(r"([A-Z]) formed, (up|down)", each)
            if formed:
                toward = signed_turns_deg(name)["ABCDEFGH".index(formed[1])] > 0
                assert (formed[2] == "up") == (toward == (step["marked_face"] == "up"))
        if step["step"] == 1:
            sizes = [in_mm(name, WANTED[name]["section"]["length"]), blank["developed_mm"]]
            shown = [float(each) for each in words if re.fullmatch(r"[\d.]+", each)]
            at = [place for place, size in enumerate(shown) if size == pytest.approx(sizes[0], abs=0.006)]
            assert at and shown[at[0] + 1] == pytest.approx(sizes[1], abs=0.006)
    assert seen > 0


@of_each(NAMES)
def test_the_finished_part_is_drawn_with_the_legs_and_angles_of_the_part_file(name: str) -> None:
    (words,) = (words for title, words in pictures(name) if title.startswith("The finished part in cross-section"))
    (along,) = (words for title, words in pictures(name) if title.startswith("The finished part in isometric"))
    legs, errors = [in_mm(name, each) for each in WANTED[name]["section"]["legs"]], plans()[name]["leg_errors"]
    # A size may stand in two lines.
    told_legs = " ".join(words)
    for leg, (size, error) in enumerate(zip(legs, errors, strict=True), start=1):
        (shown,) = (numbers(each) for each in re.findall(rf"L{leg} [\d.]+ ±[\d.]+", told_legs))
        assert shown == pytest.approx([leg, size, error["allowed_mm"]], abs=0.006)
    assert number(along[0]) == pytest.approx(in_mm(name, WANTED[name]["section"]["length"]), abs=0.006)
    plain = [bend for bend in WANTED[name]["section"]["bends"] if not isinstance(bend, dict) or "turn" in bend]
    told = [each for each in words if re.match(r"[A-H] [\d.]+°", each)]
    assert len(told) >= len(plain)
    for each in told:
        turn = signed_turns_deg(name)["ABCDEFGH".index(each[0])]
        assert number(each[1:]) == pytest.approx(180 - abs(turn), abs=0.06)


@of_each(NAMES)
def test_each_body_is_told_at_the_step_that_loads_it_most_and_the_gravest_governs(name: str) -> None:
    plan = plans()[name]
    machine = listed("machines")[plan["machine"]]
    text = limits_said(sheet_html(name))
    told = re.findall(
        r"([^·%,:]*(?:, off centre)?): ([\d.]+) kN(?:/m)? of ([\d.]+) (kN/m|kN), (\d+) %, step (\d+)", text
    )
    assert told and text.startswith(told[0][0].strip())
    shares = [float(load) / float(most) for _, load, most, *_ in told]
    assert shares[0] == max(shares)
    for body, load, most, unit, _, at in told:
        steps = [each for each in plan["steps"] if each["force_kn"] is not None and each["punch"]]
        for kind in ("punch", "die"):
            if re.search(rf"\b{kind} \S+$", body) and "holder" not in body:
                steps = [each for each in steps if each[kind] == body.split()[-1]]
        if unit == "kN/m":
            assert float(load) == pytest.approx(max(per_metre(name, each) for each in steps), abs=0.51)
            assert float(load) == pytest.approx(per_metre(name, plan["steps"][int(at) - 1]), abs=0.51)
        if "load on a short length" in body and machine.get("concentrated_kn_per_m") is None:
            by_rule = 1000 * machine["force_kn"] / (CONCENTRATED_SHARE * machine["frames_mm"])
            assert float(most) == pytest.approx(by_rule, abs=0.51)


@of_each(NAMES)
def test_what_one_more_on_x_does_and_when_a_leg_is_read_stand_with_the_step(name: str) -> None:
    plan = plans()[name]
    count = len(signed_turns_deg(name))
    looked_at = list(zip(step_pieces(sheet_html(name)), plan["steps"], strict=True))
    assert looked_at
    for piece, step in looked_at:
        text, correction = said(piece), step["correction"]
        if correction is None:
            continue
        own = correction["leg"]
        also = re.findall(r"L(\d) ([+−])([\d.]+?)(?=[,.] |[.]$|,)", text)
        rates = {int(leg): (1 if sign == "+" else -1) * float(rate) for leg, sign, rate in also}
        wanted = {leg: rate for leg, rate in enumerate(correction["legs_per_mm"], start=1) if rate and leg != own}
        assert rates == pytest.approx(wanted, abs=0.006)
        # A leg is there once the bends at both its ends are: in a hem once it is flattened.
        ends = [bend for bend in (own - 1, own) if 1 <= bend <= count]
        last = max(each["step"] for each in plan["steps"] if set(each["bends"]) & set(ends))
        assert correction["read_after"] == last
        read = sentences_in(text, "sheet.step.read-after", "sheet.step.read-fold", leg=r"\d", step=r"\d+")
        assert bool(read) == (last != step["step"])
        assert [(int(each["leg"]), int(each["step"])) for each in read] in ([], [(own, last)])


@of_each(NAMES)
def test_a_pair_is_built_of_its_segments_and_set_as_the_steps_say(name: str) -> None:
    page, plan = sheet_html(name), plans()[name]
    pairs = list(dict.fromkeys((s["punch"], s["die"], s["punch_turned"]) for s in plan["steps"]))
    pieces = [said(each) for each in re.findall(r'<div class="pair">.*?</p></div>', page, re.DOTALL)]
    looked_at = list(zip(pieces, pairs, strict=True))
    assert looked_at
    for text, pair in looked_at:
        assert ("TURNED" in text) == pair[2]
        steps = [s for s in plan["steps"] if (s["punch"], s["die"], s["punch_turned"]) == pair]
        for station in {str(s["stations"][0]): s["stations"][0] for s in steps}.values():
            assert f"From {station['from_mm']:.0f} to {station['to_mm']:.0f} on the bed" in text
            built = re.findall(r"punch ([\d +]+); die ([\d +]+)\.", text)
            wanted = [numbers(" ".join(station[key])) for key in ("segments", "die_segments")]
            assert wanted in [[numbers(punch), numbers(die)] for punch, die in built]
    for piece, step in zip(step_pieces(page), plan["steps"], strict=True):
        at = re.search(r"· Pair (\d+)</p>", piece)
        assert (at is not None) == (len(pairs) > 1)
        assert at is None or pairs[int(at[1]) - 1] == (step["punch"], step["die"], step["punch_turned"])


@pytest.mark.parametrize(
    "name",
    [name for name in NAMES if any("hem" in str(b) or "offset" in str(b) for b in WANTED[name]["section"]["bends"])],
)
def test_a_hem_is_measured_over_both_layers_and_an_offset_by_its_step(name: str) -> None:
    rows = rows_under(sheet_html(name), "measure")
    looked_at = list(zip(rows, WANTED[name]["section"]["bends"], strict=False))
    assert looked_at
    for row, bend in looked_at:
        if isinstance(bend, dict) and "offset" in bend:
            assert number(row["nominal"]) == pytest.approx(in_mm(name, bend["offset"]))
        if isinstance(bend, dict) and "hem" in bend:
            gap = 0.0 if bend["hem"] == "closed" else float(bend.get("gap", 0.0))
            assert number(row["nominal"]) == pytest.approx(2 * in_mm(name, WANTED[name]["thickness"]) + gap)


@of_each(NAMES)
def test_a_move_in_words_is_the_move_of_the_record(name: str) -> None:
    """Over the bed or over the front, to the right where the tools stand further right, to a stop nearer or further."""
    steps = plans()[name]["steps"]
    pieces = step_pieces(sheet_html(name))
    assert len(pieces) == len(steps) > 0
    for before, step, piece in zip(steps, steps[1:], pieces[1:], strict=False):
        text = said(piece)
        for move in step["moves"]:
            if move["move"] == "turn-over":
                assert ("over, front edge to the back" in move["words"]) == (move["axis"] == "the bed")
                assert ("TURN OVER front to back" in text) == (move["axis"] == "the bed")
            if move["move"] == "shift":
                right = step["stations"][0]["from_mm"] > before["stations"][0]["from_mm"]
                way, other_way = (f"sheet.move.shift-{side}" for side in ("right", "left")[:: 1 if right else -1])
                assert not sentences_in(text, other_way)
                (station,) = step["stations"]
                (told,) = sentences_in(text, way, start=FIGURE, end=FIGURE)
                ends = [round(station["from_mm"]), round(station["to_mm"])]
                assert [number(told["start"]), number(told["end"])] == ends
        x, then = step["stops"]["x_mm"], before["stops"]["x_mm"]
        turned = any(move["move"].startswith("turn") for move in step["moves"])
        if turned or x is None or then is None or abs(x - then) < 0.05:
            assert "to the next stop" not in text
        else:
            assert ("PULL OUT to the next stop" in text) == (x < then)
            assert ("PUSH ON to the next stop" in text) == (x > then)


@of_each(PLAIN)
def test_a_trap_is_told_where_a_formed_flange_stands_up_behind(name: str) -> None:
    """Bent before, on the side of the stops, and upward as the part lies: else nothing stands there."""
    steps, turns, traps = plans()[name]["steps"], signed_turns_deg(name), False
    assert steps
    for place, step in enumerate(steps):
        formed = {bend for each in steps[:place] for bend in each["bends"]}
        behind = {bend for bend in formed if (bend < step["bends"][0]) == start_is_behind(step)}
        traps |= any((turns[bend - 1] > 0) == (step["marked_face"] == "up") for bend in behind)
    assert (catalogue("en")["sheet.caution.trap"] in said(sheet_html(name))) == traps


def said_in_cautions(name: str) -> set[str]:
    """What a sheet says in its lines of caution, numbers aside."""
    lines = re.findall(r'<p class="caution">(.*?)</p>', html.unescape(sheet_html(name)), re.S)
    return {re.sub(r"[0-9.]*[0-9]", "0", each) for line in lines for each in re.split(r"(?<=[a-z0-9)]\.) ", line)}


def test_a_caution_is_rare_over_the_examples() -> None:
    """None stands on more than a third of the sheets, and no sheet says more than five things: more is not read."""
    assert len(NAMES) >= 10
    counted: Counter[str] = Counter()
    for name in NAMES:
        codes = {each["code"] for each in plans()[name]["findings"] if each["severity"] == "caution"}
        told = said_in_cautions(name)
        assert len(told) <= 5, (name, told)
        # Every caution of the plan is printed, those of several places in the same words.
        assert len(codes) <= len(told), (name, codes, told)
        counted.update(codes)
    assert counted, "no caution was found at all: the findings are not read"
    assert {code: count for code, count in counted.items() if count > len(NAMES) / 3} == {}
