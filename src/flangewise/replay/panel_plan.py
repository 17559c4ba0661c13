"""A panel's plan in its JSON shape as steps the replay can walk: read strictly, since a person may have edited it."""

import re
from collections.abc import Mapping
from typing import Any

from flangewise.faults import Fault, Unusable
from flangewise.records import dataclass, replace

MOST = 1e6
SEGMENT = re.compile(r"(?P<what>ear|gap)? ?(?P<mm>\d+(\.\d+)?)( left| right)?")


@dataclass(frozen=True)
class TooledRow:
    """A row of segments: where its left end stands from the left end of the bend line, its length, its ears.

    `gaps_mm`: where its segments stand apart, from the row's left end. `made_mm`: how long the segments told make it,
    None where none are told.
    """

    from_mm: float
    length_mm: float
    ear_left: bool = False
    ear_right: bool = False
    gaps_mm: tuple[tuple[float, float], ...] = ()
    made_mm: float | None = None

    @property
    def to_mm(self) -> float:
        """Where its right end stands."""
        return self.from_mm + self.length_mm

    @property
    def blocks_mm(self) -> tuple[tuple[float, float], ...]:
        """Where segments stand side by side: from where to where."""
        ends = [self.from_mm + mm for gap in self.gaps_mm for mm in gap]
        return tuple(zip((self.from_mm, *ends[1::2]), (*ends[::2], self.to_mm), strict=True))

    def moved(self, by_mm: float) -> "TooledRow":
        """The same row so much further to the right."""
        return replace(self, from_mm=self.from_mm + by_mm)


@dataclass(frozen=True)
class PanelMoveTold:
    """A move of the part: what, about which axis, by how much where that is told.

    `axis_deg`: how the level axis of a tilt lies, counterclockwise from the bed as seen from above.
    """

    move: str
    axis: str
    angle_deg: float | None
    axis_deg: float | None = None


@dataclass(frozen=True)
class PanelPlanStep:
    """One hit of a panel as its plan tells it; None for what it leaves open.

    `is_pressed`: it flattens a hem. `out_turned_deg`: at which turns in its plane the part passes the row.
    `behind`: the name of the face next to the bend that lies behind the tools. `bed_from_mm` is where the punch row
    begins on the bed, `part_from_mm` where the left end of the line stands there. `side`: on which side of the part the
    side stop stands (None: none is used), its face at `side_z_mm`.
    """

    step: int
    bends: tuple[int, ...]
    behind: str
    marked_up: bool
    punch: str
    punch_turned: bool
    die: str
    punch_row: TooledRow
    die_row: TooledRow
    bed_from_mm: float
    part_from_mm: float | None
    short_mm: float | None
    gap_mm: float | None
    leaves: str | None
    moves: tuple[PanelMoveTold, ...]
    x_mm: float | None
    r_mm: float | None
    z_mm: tuple[float, ...]
    retract_mm: float
    depth_mm: float | None
    open_height_mm: float | None
    bend_to_deg: float | None
    finished_deg: float | None
    is_pressed: bool = False
    out_turned_deg: tuple[float, float] | None = None
    set_up: int = 1
    side: str | None = None
    side_z_mm: float = 0.0

    @property
    def is_slid(self) -> bool:
        """Whether the part is slid off along the bed."""
        return self.leaves != "turned" and any(move.move == "side-exit" for move in self.moves)

    @property
    def on_bed(self) -> tuple[TooledRow, TooledRow]:
        """Punch row and die row from the bed's left end."""
        by_mm = self.bed_from_mm - self.punch_row.from_mm
        return self.punch_row.moved(by_mm), self.die_row.moved(by_mm)

    def turn_deg(self, included_deg: float | None) -> float | None:
        """A turn from the included angle that a plan tells."""
        return None if included_deg is None else 180.0 - included_deg


def read_panel_steps(plan: Mapping[str, Any], file: str = "plan") -> tuple[PanelPlanStep, ...]:
    """The steps of a panel's plan. Raises Unusable with every fault of form, each with its place in the plan."""
    steps = plan.get("steps") if isinstance(plan, Mapping) else None
    reader = _Reader(file)
    if not isinstance(steps, list) or not steps:
        reader.fault("steps", "is no list of steps", "a plan has a list `steps` with an object for each hit")
        raise Unusable(reader.faults)
    read = tuple(reader.step(index, step) for index, step in enumerate(steps))
    if reader.faults:
        raise Unusable(reader.faults)
    return read


class _Reader:
    """Takes values out of the steps and collects what is wrong with them."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, where: str, wrong: str, fits: str) -> None:
        self.faults.append(Fault(self.file, None, None, where, wrong, fits))

    def step(self, index: int, step: Any) -> PanelPlanStep:
        at = f"steps[{index}]"
        if not isinstance(step, Mapping):
            self.fault(at, "is no object", "each step is an object with the keys of a plan")
            step = {}
        bends = step.get("bends")
        if not isinstance(bends, list) or not bends or not all(_is_whole(each) for each in bends):
            self.fault(f"{at}.bends", "is no list of bend numbers", "like [2]")
            bends = []
        stops = self._mapping(step, "stops", at)
        station = self._station(step, at)
        punch_row, die_row = (
            self._row(step, station, at, key=key, prefix=prefix)
            for key, prefix in (("row_from_line_mm", ""), ("die_from_line_mm", "die_"))
        )
        side, side_z_mm = self._side(step, at)
        return PanelPlanStep(
            step=index + 1,
            bends=tuple(bends),
            behind=self._text(step, "behind", at, "the name of the face next to the bend that lies behind"),
            marked_up=self._one_of(step, "marked_face", ("up", "down"), at) == "up",
            punch=self._text(step, "punch", at, "the name of a tool of the shop"),
            punch_turned=step.get("punch_turned") is True,
            die=self._text(step, "die", at, "the name of a tool of the shop"),
            punch_row=punch_row,
            die_row=die_row,
            bed_from_mm=self._number(station, "from_mm", f"{at}.stations[0]") or 0.0,
            part_from_mm=self._number(step, "part_from_mm", at),
            short_mm=self._number(step, "short_mm", at),
            gap_mm=self._number(step, "gap_mm", at),
            leaves=step.get("leaves") if isinstance(step.get("leaves"), str) else None,
            moves=self._moves(step, at),
            x_mm=self._number(stops, "x_mm", f"{at}.stops"),
            r_mm=self._number(stops, "r_mm", f"{at}.stops"),
            z_mm=self._places(stops, at),
            retract_mm=self._number(stops, "retract_mm", f"{at}.stops") or 0.0,
            depth_mm=self._number(step, "depth_mm", at),
            open_height_mm=self._number(step, "open_height_mm", at),
            bend_to_deg=self._angle(step, "bend_to_deg", at),
            finished_deg=self._angle(step, "finished_deg", at),
            is_pressed=step.get("hit") == "flatten",
            out_turned_deg=self._turned(step, at),
            side=side,
            side_z_mm=side_z_mm,
            set_up=int(self._number(station, "set_up", f"{at}.stations[0]") or 1),
        )

    def _turned(self, step: Mapping[str, Any], at: str) -> tuple[float, float] | None:
        told = step.get("leaves_turned_deg")
        if told is None:
            return None
        if isinstance(told, list) and len(told) == 2 and all(_is_number(each) for each in told):
            return float(told[0]), float(told[1])
        self.fault(f"{at}.leaves_turned_deg", f"is {told!r}", "the least and the greatest turn, or null")
        return None

    def _side(self, step: Mapping[str, Any], at: str) -> tuple[str | None, float]:
        told = step.get("side_stop")
        if told is None:
            return None, 0.0
        if isinstance(told, Mapping):
            side = self._one_of(told, "side", ("left", "right"), f"{at}.side_stop")
            return side, self._number(told, "z_mm", f"{at}.side_stop", due=True) or 0.0
        self.fault(f"{at}.side_stop", "is no object", "the side and where its face stands, or null")
        return None, 0.0

    def _station(self, step: Mapping[str, Any], at: str) -> Mapping[str, Any]:
        """The station that a step is made at: the first of its own list."""
        stations = step.get("stations")
        first = stations[0] if isinstance(stations, list) and stations else None
        if not isinstance(first, Mapping):
            self.fault(f"{at}.stations", "is no list of stations", "the station of the step, with its segments")
            return {}
        return first

    def _row(self, step: Mapping[str, Any], station: Mapping[str, Any], at: str, *, key: str, prefix: str) -> TooledRow:
        ends = [self._number(station, f"{prefix}{end}_mm", f"{at}.stations[0]", due=True) for end in ("from", "to")]
        from_mm = self._number(step, key, at, due=True)
        segments = station.get(f"{prefix}segments")
        texts = [str(each) for each in segments] if isinstance(segments, list) else []
        length_mm = (ends[1] or 0.0) - (ends[0] or 0.0)
        gaps, made_mm = self._gaps(texts, f"{at}.stations[0].{prefix}segments")
        return TooledRow(
            from_mm or 0.0,
            length_mm,
            bool(texts) and "ear" in texts[0],
            len(texts) > 1 and "ear" in texts[-1],
            gaps,
            made_mm,
        )

    def _gaps(self, texts: list[str], at: str) -> tuple[tuple[tuple[float, float], ...], float | None]:
        """Where the segments told leave gaps, from the left end, and how long they make the row with them."""
        gaps, at_mm = [], 0.0
        for text in texts:
            found = SEGMENT.fullmatch(text)
            if found is None:
                self.fault(at, f"has {text!r}", "like 110, ear 75 left, or gap 4")
                return (), None
            end_mm = at_mm + float(found["mm"])
            if found["what"] == "gap":
                gaps.append((at_mm, end_mm))
            at_mm = end_mm
        return tuple(gaps), at_mm if texts else None

    def _mapping(self, step: Mapping[str, Any], key: str, at: str) -> Mapping[str, Any]:
        value = step.get(key)
        if isinstance(value, Mapping):
            return value
        self.fault(f"{at}.{key}", "is no object", f"`{key}` is an object as `plan` writes it")
        return {}

    def _moves(self, step: Mapping[str, Any], at: str) -> tuple[PanelMoveTold, ...]:
        moves = step.get("moves", [])
        if not isinstance(moves, list) or not all(isinstance(each, Mapping) and "move" in each for each in moves):
            self.fault(f"{at}.moves", "is no list of moves", "a list of objects with `move`, `axis` and `angle_deg`")
            return ()
        return tuple(
            PanelMoveTold(
                str(each["move"]),
                str(each.get("axis") or ""),
                *(self._number(each, key, f"{at}.moves") for key in ("angle_deg", "axis_deg")),
            )
            for each in moves
        )

    def _places(self, stops: Mapping[str, Any], at: str) -> tuple[float, ...]:
        places = stops.get("z_mm") or []
        if isinstance(places, list) and all(_is_number(each) for each in places):
            return tuple(float(each) for each in places)
        self.fault(f"{at}.stops.z_mm", "is no list of numbers", "the middle of each finger along the bed, or null")
        return ()

    def _text(self, step: Mapping[str, Any], key: str, at: str, fits: str) -> str:
        value = step.get(key)
        if isinstance(value, str) and value:
            return value
        self.fault(f"{at}.{key}", "is no name", fits)
        return ""

    def _one_of(self, step: Mapping[str, Any], key: str, allowed: tuple[str, ...], at: str) -> str:
        value = step.get(key)
        if value in allowed:
            return str(value)
        self.fault(f"{at}.{key}", f"is {value!r}", "one of " + ", ".join(allowed))
        return allowed[0]

    def _angle(self, step: Mapping[str, Any], key: str, at: str) -> float | None:
        angle = self._number(step, key, at)
        if angle is not None and not 0.0 <= angle < 180.0:
            self.fault(f"{at}.{key}", f"is {angle:g}", "an included angle from 0 to under 180 degrees")
            return None
        return angle

    def _number(self, step: Mapping[str, Any], key: str, at: str, *, due: bool = False) -> float | None:
        value = step.get(key)
        if (value is None and not due) or _is_number(value):
            return None if value is None else float(value)
        self.fault(f"{at}.{key}", f"is {value!r}", "a plain number" if due else "a plain number, or null")
        return None


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < MOST
