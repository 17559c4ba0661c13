"""A panel's job rebuilt from the lines of its sheet as they are read out, by one who has the sheet and its words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .job_read_out import FIGURES, HITS, MOVES, Figure, Job, Pair, Reader, off

BESIDE = " · "
"""Between words that stand in one line where there is room, else below each other."""
TURNS = {"turn-left": 1.0, "turn-right": -1.0}
"""Turns in the plane, counterclockwise positive."""
LENGTHS = (("segments", "from_mm", "to_mm"), ("die_segments", "die_from_mm", "die_to_mm"))
"""The segments of punches and of dies, and between which figures they stand, gaps told among them."""


@dataclass(frozen=True)
class Row:
    """A station as it is read out: from where to where punches and dies stand, and the lengths of their segments."""

    from_mm: Figure
    to_mm: Figure
    segments: list[Figure]
    die_from_mm: Figure
    die_to_mm: Figure
    die_segments: list[Figure]


@dataclass(frozen=True)
class PanelHit:
    """A step of a panel as it is read out: each field as the plan's JSON names it."""

    step: int
    bends: list[int]
    faces: list[str]
    hit: str
    toward: bool | None
    marked_face: str
    gauged_on: tuple[str | None, str | None]
    moves: list[tuple[str, str | None, float | None]]
    pair: Pair
    figures: dict[str, Figure]
    z_mm: list[Figure]
    part_from_mm: Figure
    row_from_mm: Figure


class PanelReader(Reader):
    """The lines of a panel's sheet with the words of its language."""

    sides = "blank.panel-size"

    def stations(self, lines: list[str]) -> list[Row]:  # type: ignore[override]
        """The rows of a pair."""
        told = [each for line in lines if (each := self.told("panel.station", line)) is not None]
        return [
            Row(
                self.length(each["start"]),
                self.length(each["end"]),
                [self.segment(piece) for piece in each["punch"].split(" + ")],
                self.length(each["die_start"]),
                self.length(each["die_end"]),
                [self.segment(piece) for piece in each["die"].split(" + ")],
            )
            for each in told
        ]

    def segment(self, piece: str) -> Figure:
        """The length of a segment, which may be an ear, or how far the next one stands apart."""
        if (gap := self.told("tool.gap", piece)) is not None:
            return self.length(gap["width"])
        ears = (self.told(f"tool.ear-{side}", piece) for side in ("left", "right"))
        return self.length(next((told["length"] for told in ears if told is not None), piece))

    def hit(  # type: ignore[override]
        self, number: int, bends: list[int], heading: str, before: list[str], lines: list[str], pairs: list[Pair]
    ) -> PanelHit:
        """One step, from its heading, the lines before it and the lines that belong to it."""
        names, _, said = heading.partition(": ")
        kind, told = next((hit, told) for hit in HITS if (told := self.told(f"hit.{hit}", said)) is not None)
        words = [piece for line in lines for piece in line.split(BESIDE)]
        sided = [line.split(", ")[0] for line in words]
        numbers = [int(pair["number"]) for each in words if (pair := self.told("tool.pair", each)) is not None]
        assert len(numbers) == (len(pairs) > 1)
        (place,) = (found for line in lines if (found := self.told("panel.place", line)) is not None)
        return PanelHit(
            step=number,
            bends=bends,
            faces=names.split(", "),
            hit=kind,
            toward=told["way"] == self.word("toward") if "way" in told else None,
            marked_face=self.face(sided),
            gauged_on=self.gauged_of(words),
            moves=[move for line in before if (move := self.move(line)) is not None],
            pair=pairs[numbers[0] - 1 if numbers else 0],
            figures=self.figures(lines),
            z_mm=self.z_mm(lines),
            part_from_mm=self.length(place["line"]),
            row_from_mm=self.length(place["row"]),
        )

    def gauged_of(self, words: list[str]) -> tuple[str | None, str | None]:
        """What of the part is at the stops."""
        if self.word("step.hem-by-hand") in words:
            return None, None
        ((on, face),) = (
            (on, told["face"])
            for each in words
            for on in ("edge", "flange")
            if (told := self.told(f"panel.gauged-{on}", each)) is not None
        )
        return on, face

    def move(self, line: str) -> tuple[str, str | None, float | None] | None:
        """What a line says is done with the part."""
        for code, sense in TURNS.items():
            if (told := self.told(f"move.{code}", line)) is not None:
                return "turn-in-plane", None, sense * self.figure(told["turn_deg"]).value
        if self.told("move.turned-out", line) is not None:
            return "side-exit", None, None
        for code, (move, axis) in MOVES.items():
            if self.told(f"move.{code}", line) is not None:
                return move, axis, 180.0 if code == "turn-in-plane" else None
        return None


def panel_differences(job: Job, plan: dict[str, Any]) -> list[str]:
    """Where the job that was read out is not the panel's plan in JSON."""
    told = [f"{key}: {getattr(job, key)}" for key in ("part", "machine", "handler") if getattr(job, key) != plan[key]]
    sides = dict(zip(("along", "developed"), plan["blank"]["size_mm"], strict=True))
    told += off("blank", {"along": job.along, "developed": job.developed}, sides)
    if [hit.step for hit in job.hits] != [step["step"] for step in plan["steps"]]:
        return [*told, f"steps: {[hit.step for hit in job.hits]}"]
    if job.strip and job.strip != [(step["step"], step["bends"], step["marked_face"]) for step in plan["steps"]]:
        told.append(f"strip: {job.strip}")
    x_before_mm = None
    for hit, step in zip(job.hits, plan["steps"], strict=True):
        told += _off_in_a_step(hit, step, x_before_mm)  # type: ignore[arg-type]
        x_before_mm = step["stops"]["x_mm"]
    return told


def _off_in_a_step(hit: PanelHit, step: dict[str, Any], x_before_mm: float | None) -> Iterator[str]:
    """Where a step that was read out is not the plan's."""
    place, stops = f"step {step['step']}", step["stops"]
    moves = [(move["move"], move["axis"], move["angle_deg"]) for move in step["moves"]]
    lies_anew = any(move in ("turn-over", "turn-in-plane") for move, *_ in moves)
    if not lies_anew and None not in (x_before_mm, stops["x_mm"]) and abs(stops["x_mm"] - x_before_mm) >= 0.05:
        moves.append(("to-stop-further" if stops["x_mm"] > x_before_mm else "to-stop-nearer", None, None))
    wanted = {
        "bends": sorted(step["bends"]),
        "faces": step["faces"],
        "hit": step["hit"],
        # The ram bends up: toward the marked face where that is up.
        "toward": None if hit.toward is None else step["marked_face"] == "up",
        "marked_face": step["marked_face"],
        "gauged_on": (step["gauged_on"]["on"], step["gauged_on"]["face"]),
        "moves": sorted(moves, key=str),
    }
    read = {"bends": sorted(hit.bends), "moves": sorted(hit.moves, key=str)}
    for key, value in wanted.items():
        found = read.get(key, getattr(hit, key))
        if found != value:
            yield f"{place}: {key} {found}, not {value}"
    if (hit.pair.punch, hit.pair.die, hit.pair.turned) != (step["punch"], step["die"], step["punch_turned"]):
        yield f"{place}: {hit.pair.punch} on {hit.pair.die}"
    figures = {f"z{at}": each for at, each in enumerate(hit.z_mm)} | hit.figures
    planned = {f"z{at}": each for at, each in enumerate(stops["z_mm"])}
    planned |= {name: (stops | step)[name] for name in FIGURES if (stops | step)[name] is not None}
    figures |= {"line": hit.part_from_mm, "row": hit.row_from_mm}
    planned |= {"line": step["part_from_mm"], "row": step["part_from_mm"] + step["row_from_line_mm"]}
    yield from off(place, *_rows(hit, step, figures, planned))


def _rows(
    hit: PanelHit, step: dict[str, Any], figures: dict[str, Figure], planned: dict[str, float]
) -> tuple[dict[str, Figure], dict[str, float]]:
    """The figures with those of the rows that the step is made on: of the pair's that which begins where the plan's
    does, with as many segments."""
    rows: list[Any] = hit.pair.stations
    for at, station in enumerate(step["stations"]):
        ends = ("from_mm", "to_mm", "die_from_mm", "die_to_mm")
        wanted = {name: station[name] for name in ends}
        wanted |= {kind: station[end] - station[start] for kind, start, end in LENGTHS}
        wanted |= {f"{kind} in all": len(station[kind]) for kind, _, _ in LENGTHS}
        planned |= {f"row {at} {name}": value for name, value in wanted.items()}
        row = next(
            (row for row in rows if abs(row.from_mm.value - station["from_mm"]) <= row.from_mm.half + 1e-6), None
        )
        if row is not None:
            read = {name: getattr(row, name) for name in ends}
            read |= {kind: _sum(getattr(row, kind)) for kind, _, _ in LENGTHS}
            read |= {f"{kind} in all": Figure(len(getattr(row, kind)), 0.0) for kind, _, _ in LENGTHS}
            figures |= {f"row {at} {name}": value for name, value in read.items()}
    return figures, planned


def _sum(pieces: list[Figure]) -> Figure:
    return Figure(sum(each.value for each in pieces), sum(each.half for each in pieces))
