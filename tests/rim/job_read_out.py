"""The job rebuilt from the lines of a sheet as they are read out, by one who has the sheet and its words alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from flangewise.words import catalogue

INCH_MM = 25.4
KN_PER_TON = 8.896443
"""The force of 2000 lb."""
MOVES = {
    "turn-over-bed": ("turn-over", "the bed"),
    "turn-over-front": ("turn-over", "front to back"),
    "turn-in-plane": ("turn-in-plane", None),
    "to-stop-nearer": ("to-stop-nearer", None),
    "to-stop-further": ("to-stop-further", None),
    "shift-left": ("shift", None),
    "shift-right": ("shift", None),
    "tool-change": ("tool-change", None),
    "tool-change-turned": ("tool-change", None),
    "side-exit": ("side-exit", None),
    "regrip-station": ("regrip", None),
    "regrip-in-tools": ("regrip", None),
}
STEP = r"(\d+) ([A-Z](?:, [A-Z])*) (.*)"
"""The number of a step, the letters of its bends, and what is said of it."""
FIGURES = ("depth_mm", "bend_to_deg", "x_mm", "r_mm", "finished_deg", "force_kn", "open_height_mm")
LEAST = 1e-6
HITS = ("pre-bend", "flatten", "offset", "bend")
"""The plain bend last: its words alone may stand within those of the others."""


@dataclass(frozen=True)
class Figure:
    """A printed number with the half of its last digit; lengths in mm."""

    value: float
    half: float


@dataclass(frozen=True)
class Pair:
    """A punch and die to be fetched, and from where to where its stations stand on the bed."""

    punch: str
    die: str
    turned: bool
    stations: list[tuple[Figure, Figure]]


@dataclass(frozen=True)
class Hit:
    """A step as it is read out: each field as the plan's JSON names it."""

    step: int
    bends: list[int]
    hit: str
    toward: bool | None
    marked_face: str
    gauged_on: tuple[str, int | None]
    moves: list[tuple[str, str | None]]
    pair: Pair
    figures: dict[str, Figure]
    z_mm: list[Figure]
    corrected_leg: int | None
    x_grows: bool | None


@dataclass(frozen=True)
class Job:
    """All that is rebuilt."""

    part: str
    machine: str
    handler: str
    material: str
    thickness: Figure
    along: Figure
    developed: Figure
    hits: list[Hit]
    strip: list[tuple[int, list[int], str]] = field(default_factory=list)


NONE = "–"
"""What stands where there is no figure."""


class Reader:
    """The lines of one sheet with the words of its language."""

    sides = "blank.size"
    """The label of the blank's two sides."""

    def __init__(self, lines: list[str], lang: str, units: str) -> None:
        self.lines, self.said = lines, catalogue(lang)
        self.unit_mm = INCH_MM if units == "inch" else 1.0
        self.sign = "." if lang == "en" else ","

    def word(self, code: str) -> str:
        """A label of the sheet, in inch the one of its own where there is one."""
        in_inch = f"sheet.{code}-inch"
        return self.said[in_inch if self.unit_mm == INCH_MM and in_inch in self.said else f"sheet.{code}"]

    def figure(self, text: str) -> Figure:
        """A number with the decimal sign of the language, with or without the sign of degrees."""
        found = re.fullmatch(rf"([-−]?\d+(?:{re.escape(self.sign)}(\d+))?)°?", text)
        assert found, text
        return Figure(float(found[1].replace("−", "-").replace(",", ".")), 0.5 * 10.0 ** -len(found[2] or ""))

    def across(self, text: str) -> Figure:
        """A place of a stop along the bed: whole mm, or twentieths of an inch."""
        figure = self.length(text)
        return figure if self.unit_mm == 1.0 else Figure(figure.value, INCH_MM / 40)

    def opening(self, text: str) -> Figure:
        """An opening, which in inch was rounded up."""
        figure = self.length(text)
        return figure if self.unit_mm == 1.0 else Figure(figure.value - figure.half, figure.half)

    def force(self, text: str) -> Figure:
        """A force in kN; in inch ton stand in front, and are the same force."""
        if self.unit_mm == 1.0:
            return self.figure(text)
        ton, kn = text.removesuffix(")").split(" (")
        found, same = self.figure(kn), self.figure(ton)
        assert abs(same.value * KN_PER_TON - found.value) <= same.half * KN_PER_TON + found.half + LEAST
        return found

    def told(self, code: str, line: str) -> dict[str, str] | None:
        """The values in a line that is this sentence of the sheet, else None."""
        pieces = re.split(r"\{(\w+)\}", self.word(code))
        pattern = "".join(re.escape(each) if at % 2 == 0 else f"(?P<{each}>.+?)" for at, each in enumerate(pieces))
        found = re.fullmatch(pattern, line)
        return None if found is None else found.groupdict()

    def length(self, text: str) -> Figure:
        """A length in the units of the sheet, in mm."""
        figure = self.figure(text)
        return Figure(figure.value * self.unit_mm, figure.half * self.unit_mm)

    def size(self, text: str) -> Figure:
        """A size of the part or of a tool: hundredths of a mm or thousandths of an inch, idle zeros left off."""
        return Figure(self.length(text).value, 0.0127 if self.unit_mm == INCH_MM else 0.005)

    def value(self, label: str, lines: list[str]) -> str:
        """The line after the one line that is the label."""
        (at,) = (at for at, line in enumerate(lines) if line == self.word(label))
        return lines[at + 1]

    def job(self) -> Job:
        """The job, the steps and the strip of frames where there is one."""
        lines = self.lines
        tools, order, record = (lines.index(self.word(f"section.{name}")) for name in ("tools", "steps", "first-piece"))
        assert tools < order < record
        facts = lines[1:tools]
        along, developed = self.value(self.sides, facts).split(" × ")
        pairs = list(self.pairs(lines[tools + 1 : order]))
        frames: list[tuple[int, list[int], str]] = []
        steps: list[Hit] = []
        numbered = {at: found for at in range(order, record) if (found := re.fullmatch(STEP, lines[at])) is not None}
        for last, at, end in zip([order, *numbered], numbered, [*list(numbered)[1:], record], strict=False):
            number, marks, rest = numbered[at].groups()
            bends = [bend_of(mark) for mark in marks.split(", ")]
            # Between the heading and the figures there may stand what else is keyed in.
            if {self.word("step.depth"), self.word("step.bend-to")} & set(lines[at + 1 : end][:3]):
                steps.append(self.hit(int(number), bends, rest, lines[last:at], lines[at + 1 : end], pairs))
            else:
                frames.append((int(number), bends, self.face([rest])))
        return Job(
            part=lines[0].split(" · ")[0],
            machine=self.value("head.machine", facts),
            handler=self.value("head.handler", facts),
            material=self.value("material.name", facts),
            thickness=self.size(self.value("material.thickness", facts).split(" ± ")[0]),
            along=self.size(along),
            developed=self.size(developed),
            hits=steps,
            strip=frames,
        )

    def pairs(self, lines: list[str]) -> Iterator[Pair]:
        """Each punch with its die, as they are to be collected."""
        # Behind the word for a tool may stand its rack.
        lines = [told["tool"] if (told := self.told("tool.in-rack", line)) is not None else line for line in lines]
        starts = [at for at, line in enumerate(lines) if line == self.word("tool.punch")]
        for at, end in zip(starts, [*starts[1:], len(lines)], strict=True):
            own = lines[at:end]
            yield Pair(own[1], self.value("tool.die", own), self.word("tool.turned") in own, self.stations(own))

    def stations(self, lines: list[str]) -> list[tuple[Figure, Figure]]:
        """From where to where the stations of a pair stand on the bed."""
        told = [each for line in lines if (each := self.told("tool.station", line)) is not None]
        return [(self.length(each["start"]), self.length(each["end"])) for each in told]

    def face(self, lines: list[str]) -> str:
        """Which face is up."""
        (face,) = (name for name in ("up", "down") if self.word(f"face-{name}") in lines)
        return face

    def hit(
        self, number: int, bends: list[int], heading: str, before: list[str], lines: list[str], pairs: list[Pair]
    ) -> Hit:
        """One step, from its heading, the lines before it and the lines that belong to it."""
        kind, told = next((hit, told) for hit in HITS if (told := self.told(f"hit.{hit}", heading)) is not None)
        way = told.get("way")
        assert way is None or way in (self.word("toward"), self.word("away"))
        gauged, pair = self.gauged(lines, pairs)
        corrected = [found for line in lines if (found := self.corrected(line)) is not None]
        assert len(corrected) < 2
        return Hit(
            step=number,
            bends=bends,
            hit=kind,
            toward=None if way is None else way == self.word("toward"),
            marked_face=self.face(lines),
            gauged_on=gauged,
            moves=[
                move for line in before for code, move in MOVES.items() if self.told(f"move.{code}", line) is not None
            ],
            pair=pair,
            figures=self.figures(lines),
            z_mm=self.z_mm(lines),
            corrected_leg=corrected[0][0] if corrected else None,
            x_grows=corrected[0][1] if corrected else None,
        )

    def figures(self, lines: list[str]) -> dict[str, Figure]:
        """The figures of a step, by their names in the plan."""
        by_depth = self.word("step.depth") in lines[:3]
        figures = {
            **(
                {"depth_mm": self.length(self.value("step.depth", lines))}
                if by_depth
                else {"bend_to_deg": self.figure(self.value("step.bend-to", lines))}
            ),
            **{f"{key}_mm": self.length(at) for key in ("x", "r") if (at := self.value(f"step.{key}", lines)) != NONE},
            "finished_deg": self.figure(self.value("step.finished", lines)),
            "force_kn": self.force(self.value("step.force", lines)),
            "open_height_mm": self.opening(self.value("step.open", lines)),
        }
        # What is the same at every step is said once for all.
        common = [line for line in self.lines if line.startswith(self.word("common"))]
        loaded = re.findall(rf"{re.escape(self.word('step.loaded'))} ([\d.,]+°)", " ".join(common + lines), re.I)
        if loaded:
            figures["bend_to_deg"] = self.figure(loaded[-1])
        return figures

    def z_mm(self, lines: list[str]) -> list[Figure]:
        """Where the stops stand along the bed."""
        return [self.across(each) for each in self.value("step.z", lines).split(" / ") if each != NONE]

    def gauged(self, lines: list[str], pairs: list[Pair]) -> tuple[tuple[str, int | None], Pair]:
        """What lies on the stops, and the tools of the step: the numbered pair, or the only one."""
        by_hand = self.word("step.hem-by-hand")
        (said,) = (
            line if line.startswith(by_hand) else told["edge"]
            for line in lines
            if line.startswith(by_hand) or (told := self.told("step.gauged", line)) is not None
        )
        edge, _, numbered = said.partition(" · ")
        told = self.told("tool.pair", numbered) if numbered else None
        assert (told is not None) == (len(pairs) > 1)
        pair = pairs[int(told["number"]) - 1 if told else 0]
        if edge == by_hand:
            return ("hand", None), pair
        for on in ("start", "end", "flange", "none"):
            found = self.told(f"gauge.{on}", edge)
            if found is not None:
                return (on, bend_of(found["bend"]) if found else None), pair
        raise AssertionError(edge)

    def corrected(self, line: str) -> tuple[int, bool] | None:
        """The leg that X corrects, and whether X grows where the leg is too long."""
        start = self.word("step.correct").replace("{change}.", "")
        pattern = re.escape(start).replace(r"\{leg\}", r"(\d+)").replace(r"\{size\}", ".+?")
        found = re.match(rf"{pattern}X ([+−])", line)
        return None if found is None else (int(found[1]), found[2] == "+")


def differences(job: Job, plan: dict[str, Any], turns_deg: list[float]) -> list[str]:
    """Where the job that was read out is not the plan's JSON, whose bends turn so far in the part file."""
    blank, steps = plan["blank"], plan["steps"]
    told = [f"{key}: {getattr(job, key)}" for key in ("part", "machine", "handler") if getattr(job, key) != plan[key]]
    told += off(
        "blank",
        {"developed": job.developed, "along": job.along},
        {
            "developed": blank["developed_mm"],
            "along": blank["along_bends_mm"],
        },
    )
    if [hit.step for hit in job.hits] != [step["step"] for step in steps]:
        return [*told, f"steps: {[hit.step for hit in job.hits]}"]
    if job.strip and job.strip != [(step["step"], step["bends"], step["marked_face"]) for step in steps]:
        told.append(f"strip: {job.strip}")
    before: dict[str, Any] | None = None
    for hit, step in zip(job.hits, steps, strict=True):
        told += _off_in_a_step(hit, step, before, turns_deg)
        before = step
    return told


def _off_in_a_step(
    hit: Hit, step: dict[str, Any], before: dict[str, Any] | None, turns_deg: list[float]
) -> Iterator[str]:
    """Where a step that was read out is not the plan's."""
    correction, stops = step["correction"], step["stops"]
    moves = [(move["move"], move["axis"]) for move in step["moves"]]
    if before is not None and not {"turn-over", "turn-in-plane"} & {move for move, _ in moves}:
        here, there = stops["x_mm"], before["stops"]["x_mm"]
        further_mm = 0.0 if here is None or there is None else here - there
        moves += [("to-stop-further" if further_mm > 0 else "to-stop-nearer", None)] if abs(further_mm) >= 0.05 else []
    wanted = {
        "step": step["step"],
        "bends": step["bends"],
        "hit": step["hit"],
        "toward": turns_deg[step["bends"][0] - 1] > 0 if hit.toward is not None else None,
        "marked_face": step["marked_face"],
        "gauged_on": (step["gauged_on"]["on"] if stops["x_mm"] is not None else "hand", step["gauged_on"]["bend"]),
        "moves": moves,
        "corrected_leg": None if correction is None else correction["leg"],
        "x_grows": None if correction is None else correction["x_per_mm"] > 0,
    }
    place = f"step {step['step']}"
    yield from (
        f"{place}: {key} {getattr(hit, key)}, not {value}"
        for key, value in wanted.items()
        if getattr(hit, key) != value
    )
    tools = (hit.pair.punch, hit.pair.die, hit.pair.turned)
    if tools != (step["punch"], step["die"], step["punch_turned"]):
        yield f"{place}: {tools}"
    figures = {f"z{at}": each for at, each in enumerate(hit.z_mm)} | hit.figures
    figures |= {f"station {at} from": each for at, (each, _) in enumerate(hit.pair.stations)}
    figures |= {f"station {at} to": each for at, (_, each) in enumerate(hit.pair.stations)}
    planned = {f"z{at}": each for at, each in enumerate(stops["z_mm"])} | {
        name: stops[name] if name in stops else step[name] for name in FIGURES if (stops | step)[name] is not None
    }
    planned |= {f"station {at} from": each["from_mm"] for at, each in enumerate(step["stations"])}
    planned |= {f"station {at} to": each["to_mm"] for at, each in enumerate(step["stations"])}
    yield from off(place, figures, planned)


def off(place: str, figures: dict[str, Figure], planned: dict[str, float]) -> list[str]:
    """Figures that are not the plan's to the last printed digit."""
    told = [f"{place}: {key} stands only in one of the two" for key in sorted(figures.keys() ^ planned.keys())]
    for key in sorted(figures.keys() & planned.keys()):
        figure, wanted = figures[key], planned[key]
        if abs(figure.value - wanted) > figure.half + LEAST:
            told.append(f"{place}: {key} {figure.value:.4f}, not {wanted:.4f}")
    return told


def bend_of(mark: str) -> int:
    """The number of a bend by its letter, as the part file counts."""
    return ord(mark) - ord("A") + 1
