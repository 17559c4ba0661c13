"""A piece that was bent and measured: what was wanted, what was set, what came out. Plain numbers by bend and leg."""

from collections.abc import Mapping, Sequence
from typing import Any

from flangewise.bend import TWO_SIDED_95, Sizes
from flangewise.findings import Finding, place
from flangewise.punch_die import Model
from flangewise.records import dataclass
from flangewise.sequence import Gauged, changes_against, leg_terms, stop_changes, stop_effects
from flangewise.words import Phrase


@dataclass(frozen=True)
class Readings:
    """What was set and measured, by bend and leg number; lengths in mm, angles as turns."""

    turns_deg: dict[int, float]
    legs_mm: dict[int, float]
    depths_mm: dict[int, float]
    stops_mm: dict[int, float]
    developed_mm: float | None
    thickness_mm: float | None
    lot: str
    piece: int


@dataclass(frozen=True)
class TriedBend:
    """One bend of the piece.

    `deduction_mm` is what the blank was made with, `rule_mm` what the allowance rule alone gives (None: no rule, as
    for a hem or an offset). `depth_mm` and `stop_mm` are what was set on the machine; `gauged` says from where the
    stop measures, its bends counted from 0. `model` is None where no angle is predicted; `turn_deg` the measured turn.
    """

    number: int
    wanted_deg: float
    radius_mm: float
    deduction_mm: float
    rule_mm: float | None = None
    depth_mm: float | None = None
    stop_mm: float | None = None
    gauged: Gauged | None = None
    model: Model | None = None
    turn_deg: float | None = None

    @property
    def error_deg(self) -> float | None:
        """How much too far it was turned."""
        return None if self.turn_deg is None else self.turn_deg - self.wanted_deg


@dataclass(frozen=True)
class PanelSizes:
    """The sizes of a panel, which are its legs: how each is named and what it gets of each source, bends from 0.

    `terms` are by ("stop", bend) and ("half-deduction", bend). `own`: of each bend the place of the size that comes out
    with its stop. `by_own_edge`: the bends whose flange is gauged on its own cut edge, each with its height's place.
    """

    names: tuple[str, ...]
    terms: tuple[Mapping[tuple[str, int], float], ...]
    own: Mapping[int, int]
    by_own_edge: Mapping[int, int]

    def stop_changes(self, errors_mm: Sequence[float | None]) -> dict[int, float]:
        """What to add to each stop so that the sizes come out that were measured; one that needs others is left out."""
        known = {bend: size for bend, size in self.own.items() if errors_mm[size] is not None}
        while lacking := [bend for bend, size in known.items() if not self._stops_of(size) <= known.keys()]:
            for bend in lacking:
                del known[bend]
        rows = [[self.terms[size].get(("stop", bend), 0.0) for bend in known] for size in known.values()]
        changes = changes_against(rows, [errors_mm[size] or 0.0 for size in known.values()])
        return dict(zip(known, changes, strict=True))

    def _stops_of(self, size: int) -> set[int]:
        return {bend for kind, bend in self.terms[size] if kind == "stop"}


@dataclass(frozen=True)
class TriedPiece:
    """The whole piece: legs wanted and measured (None: not measured), blank, bends, which piece of its lot it is.

    `developed_measured` says whether the blank's length was measured or is the planned one. `order` are the places of
    the bends, from 0, as they are bent; empty: one after the other. `panel`: of a panel, its sizes in place of legs.
    """

    thickness_mm: float
    wanted_mm: tuple[float, ...]
    measured_mm: tuple[float | None, ...]
    developed_mm: float
    developed_measured: bool
    bends: tuple[TriedBend, ...]
    piece: int = 1
    sizes: Sizes = "outside"
    order: tuple[int, ...] = ()
    panel: PanelSizes | None = None

    @property
    def leg_terms(self) -> Sequence[Mapping[tuple[str, int], float]]:
        """What each leg gets of each source."""
        return leg_terms(self.gauged) if self.panel is None else self.panel.terms

    @property
    def legs_by_bend(self) -> dict[int, int]:
        """The leg, from 0, that comes out with the stop of each bend."""
        if self.panel is not None:
            return dict(self.panel.own)
        effects = stop_effects(self.gauged, self.order or range(len(self.bends)))
        return {effect.bend: effect.leg for effect in effects}

    def stop_changes(self, errors_mm: Sequence[float | None]) -> tuple[float | None, ...]:
        """What to add to the stop of each bend for how much too long the legs came out; None where nothing says."""
        if self.panel is None:
            return stop_changes(self.gauged, self.order or range(len(self.bends)), errors_mm)
        changes = self.panel.stop_changes(errors_mm)
        return tuple(changes.get(bend) for bend in range(len(self.bends)))

    def where(self, leg: int) -> Phrase:
        """A leg, by its number from 1, as a finding names it."""
        return place("leg", leg) if self.panel is None else place("face", self.panel.names[leg - 1])

    @property
    def gauged(self) -> tuple[Gauged, ...]:
        """What each bend was gauged on; one without stops counts as on the start edge, its line stays."""
        return tuple(bend.gauged or Gauged("start") for bend in self.bends)


@dataclass(frozen=True)
class BendCorrection:
    """What the measuring of the bend tried says: corrections to add to depth and stop, and what the piece shows.

    `weight` is the share of the angle's error that is taken back; `leg` the one that comes out with the stop.
    `deduction_sd_mm` and `k_sd` are standard deviations. None where nothing was measured or nothing can be said.
    """

    tried: TriedBend
    weight: float | None
    depth_correction_mm: float | None
    stop_correction_mm: float | None = None
    deduction_mm: float | None = None
    deduction_sd_mm: float | None = None
    k_factor: float | None = None
    k_sd: float | None = None
    leg: int | None = None

    def as_json(self) -> dict[str, Any]:
        """The bend as JSON carries it; half widths are for 95 %."""
        tried, turn_deg = self.tried, self.tried.turn_deg
        return {
            "bend": tried.number,
            "wanted_turn_deg": tried.wanted_deg,
            "wanted_included_deg": 180.0 - tried.wanted_deg,
            "measured_turn_deg": turn_deg,
            "measured_included_deg": None if turn_deg is None else 180.0 - turn_deg,
            "error_deg": tried.error_deg,
            "weight": self.weight,
            "depth_mm": tried.depth_mm,
            "depth_correction_mm": self.depth_correction_mm,
            "new_depth_mm": _added(tried.depth_mm, self.depth_correction_mm),
            "leg": self.leg,
            "stop_mm": tried.stop_mm,
            "stop_correction_mm": self.stop_correction_mm,
            "new_stop_mm": _added(tried.stop_mm, self.stop_correction_mm),
            "inside_radius_mm": tried.radius_mm,
            "planned_deduction_mm": tried.deduction_mm,
            "deduction_mm": self.deduction_mm,
            "deduction_plus_minus_mm": _half_width(self.deduction_sd_mm),
            "k_factor": self.k_factor,
            "k_factor_plus_minus": _half_width(self.k_sd),
        }


def _added(value: float | None, more: float | None) -> float | None:
    return None if value is None or more is None else value + more


def _half_width(sd: float | None) -> float | None:
    return None if sd is None else TWO_SIDED_95 * sd


@dataclass(frozen=True)
class LegResult:
    """One leg, of a panel by `name`: wanted, measured, and what it would measure were its bends at wanted angles."""

    leg: int
    wanted_mm: float
    measured_mm: float | None
    at_angle_mm: float | None
    name: str = ""

    @property
    def error_mm(self) -> float | None:
        """How much too long it is, the angles' share taken out."""
        return None if self.at_angle_mm is None else self.at_angle_mm - self.wanted_mm

    def as_json(self) -> dict[str, Any]:
        """The leg as JSON carries it."""
        return {
            "leg": self.leg,
            **({"face": self.name} if self.name else {}),
            "wanted_mm": self.wanted_mm,
            "measured_mm": self.measured_mm,
            "at_wanted_angle_mm": self.at_angle_mm,
            "error_mm": self.error_mm,
        }


@dataclass(frozen=True)
class Corrections:
    """Everything one piece says: by bend, by leg, for the blank (None: not all legs measured), and what to look at."""

    bends: tuple[BendCorrection, ...]
    legs: tuple[LegResult, ...]
    blank_correction_mm: float | None
    findings: tuple[Finding, ...]

    def as_json(self, piece: TriedPiece) -> dict[str, Any]:
        """Bends, legs and blank of the piece as JSON carries them."""
        return {
            "bends": [each.as_json() for each in self.bends],
            "legs": [each.as_json() for each in self.legs],
            "blank": {
                "developed_mm": piece.developed_mm,
                "measured": piece.developed_measured,
                "correction_mm": self.blank_correction_mm,
                "new_developed_mm": _added(piece.developed_mm, self.blank_correction_mm),
            },
        }
