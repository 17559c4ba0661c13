"""From a printed quantity to the public function that answers it.

Figures of formulas that the program does not compute with are answered by `hand_formulas`: the rooms' tests hold the
model against those figures, so each must be what its print means.

A quantity is a word and a unit: `setback_in` is answered by ANSWERS["setback"], in mm, and compared in inches. Nothing
is worked out here that the program should work out; what stands here besides the call is how the book puts the question
(outside legs summed, straight legs to the tangent points, a root where the book prints one).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

from flangewise import bend, shop

from .hand_formulas import CHART_LEAST_LEG_SHARE, CHART_RADIUS_SHARE, FORCE_FACTORS, FORCES, gardiner_ratio
from .handling import HANDLING_ANSWERS
from .holding import HOLDING_ANSWERS
from .panel_hits import PANEL_HIT_ANSWERS
from .panels import PANEL_ANSWERS
from .source import Row

Answer = Callable[[Row], float]

# Size of each unit in the base of its kind: mm, kN, kN/m, and itself for the rest. The longest ending counts.
UNITS: Mapping[str, float] = {
    "lb_per_ft2": 25.4 / 41.82,  # of steel: 41.82 pounds per square foot and inch of thickness
    "mm2": 1.0,
    "tonnes_per_m": 9.80665,
    "tons_per_ft": 8.896443230521 / 0.3048,
    "kn_per_m": 1.0,
    "deg_per_s": 1.0,
    "mm_per_s": 1.0,
    "kg_per_m3": 1.0,
    "tons": 8.896443230521,
    "mpa": 1.0,
    "deg": 1.0,
    "kn": 1.0,
    "mm": 1.0,
    "in": 25.4,
    "n": 0.001,
}


def split_quantity(quantity: str) -> tuple[str, float]:
    """The word and the size of the unit: `force_n` is ("force", 0.001), a pure number has size 1."""
    for ending, size in UNITS.items():
        if quantity.endswith("_" + ending):
            return quantity.removesuffix("_" + ending), size
    return quantity, 1.0


def answer(row: Row) -> float:
    """What the program's public function says to the row, in the unit of the print."""
    word, size = split_quantity(row.quantity)
    return ANSWERS[word](row) / size


# --- allowance


def _allowance(row: Row) -> bend.Allowance:
    rule = row.text("rule") if "rule" in row else "din-6935"
    radius_mm, thickness_mm = row.mm("inside_radius"), row.mm("thickness")
    return bend.bend_allowance(radius_mm, thickness_mm, turn_deg=row.turn_deg, rule=rule, k_factor=row.k_factor)


def _setback(row: Row) -> float:
    setback_mm = bend.setback_mm(row.mm("inside_radius"), row.mm("thickness"), turn_deg=row.turn_deg)
    assert setback_mm is not None
    return setback_mm


def _bends(row: Row) -> float:
    return row.number("bends") if "bends" in row else 1.0


def _developed(row: Row) -> float:
    return row.sum_mm("legs") - _bends(row) * _allowance(row).deduction_mm


def _flat_between(row: Row) -> float:
    return row.sum_mm("legs") - _bends(row) * _setback(row)


def _blank_from_tangents(row: Row) -> float:
    return row.sum_mm("tangent_legs") + _allowance(row).allowance_mm


def _k_from_deduction(row: Row) -> float:
    radius_mm, thickness_mm = row.mm("inside_radius"), row.mm("thickness")
    return bend.k_from_deduction(radius_mm, thickness_mm, turn_deg=row.turn_deg, deduction_mm=row.mm("deduction"))


def _included_without_deduction(row: Row) -> float:
    """The included angle at which legs and developed length are equal, by halving between 30 and 90 degrees."""
    low_deg, high_deg = 30.0, 90.0
    for _ in range(60):
        middle_deg = (low_deg + high_deg) / 2
        found = bend.bend_allowance(
            row.mm("inside_radius"), row.mm("thickness"), turn_deg=180 - middle_deg, rule=row.text("rule")
        )
        low_deg, high_deg = (low_deg, middle_deg) if found.deduction_mm > 0 else (middle_deg, high_deg)
    return low_deg


# --- force and opening


def _force_per_m(row: Row) -> float:
    return FORCES[row.text("constant")](row.number("tensile_mpa"), row.mm("thickness"), row.mm("opening"))


def _total_force(row: Row) -> float:
    length_mm = row.mm("length")
    return _force_per_m(row) * length_mm / 1000


def _force_ratio(row: Row) -> float:
    against = FORCES[row.text("constant")](row.number("against_tensile_mpa"), row.mm("thickness"), row.mm("opening"))
    return _force_per_m(row) / against


def _springback_radius_ratio(row: Row) -> float:
    return gardiner_ratio(
        row.mm("inside_radius"),
        row.mm("thickness"),
        yield_mpa=row.number("yield_mpa"),
        modulus_mpa=row.number("modulus_mpa"),
    )


def _hem_force(row: Row) -> float:
    hem: bend.Hem = "open" if row.text("hem") == "open" else "closed"
    force = bend.hem_force_kn_per_m(row.mm("thickness"), hem, tensile_mpa=row.number("tensile_mpa"))
    assert force is not None
    return force


def _bend_to_turn(row: Row) -> bend.AirBend:
    """The model's bend with the row's own metal, mild steel's modulus, the row's tools."""
    metal = bend.swift_from_certificate(
        row.number("yield_mpa"),
        row.number("tensile_mpa"),
        uniform_elongation=row.number("uniform_elongation"),
        modulus_mpa=210_000.0,
    )
    setup = bend.BendSetup(
        row.mm("thickness"),
        row.mm("opening"),
        row.mm("shoulder_radius"),
        row.mm("nose_radius"),
        row.number("friction"),
    )
    found = bend.bend_to_turn(setup, metal, row.turn_deg)
    assert found.converged, found
    return found


def _limit_force(row: Row) -> float:
    """What tools are checked with: the model's peak for the shop's metal, or the trade's constant."""
    metal = example_shop().materials[row.text("material")]
    tensile_mpa, thickness_mm, opening_mm = row.number("tensile_mpa"), row.mm("thickness"), row.mm("opening")
    curve = bend.swift_from_certificate(
        metal.yield_mpa, tensile_mpa, uniform_elongation=metal.uniform_elongation, modulus_mpa=metal.modulus_mpa
    )
    found = bend.bend_to_turn(bend.BendSetup(thickness_mm, opening_mm, 0.1 * opening_mm, 1.0), curve, row.turn_deg)
    assert found.converged, found
    limit_kn_per_m, _ = bend.limit_force_kn_per_m(
        found.peak_kn_per_m,
        "model",
        tensile_mpa=tensile_mpa,
        thickness_mm=thickness_mm,
        opening_mm=opening_mm,
        austenitic=metal.austenitic,
    )
    return limit_kn_per_m


# --- general tolerances


def _tolerance(function: Callable[[float, bend.ToleranceClass], float | None], size: str) -> Answer:
    def allowed(row: Row) -> float:
        name = row.text("tolerance_class")
        assert name == "f" or name == "m" or name == "c" or name == "v"
        found = function(row.mm(size), name)
        assert found is not None, "outside the table"
        return found

    return allowed


# --- the shop's tables


@cache
def example_shop() -> shop.Shop:
    """The built-in shop, read once."""
    return shop.load_shop()


def _material_answer(end: int, name: str) -> Answer:
    def limit(row: Row) -> float:
        found = getattr(example_shop().materials[row.text("material")], name)[end]
        assert found is not None, f"the row of the shop gives no limit where the standard has {row.printed:g}"
        return float(found)

    return limit


def _least_radius(row: Row) -> float:
    found = shop.table_radius_mm(
        example_shop().materials[row.text("material")].least_radius,
        row.mm("thickness"),
        grain=row.text("grain"),
        turn_deg=row.turn_deg,
    )
    assert found is not None, "outside the table of the material"
    return found


DIN_6935_ROWS = ((390.0, "din-6935-to-390"), (490.0, "din-6935-to-490"), (640.0, "din-6935-to-640"))


def _least_radius_din_6935(row: Row) -> float:
    tensile_mpa = row.number("tensile_mpa")
    # The standard's table has a row for each range of strength; the shop has each row as a table.
    name = next(name for most_mpa, name in DIN_6935_ROWS if tensile_mpa <= most_mpa)
    found = shop.table_radius_mm(
        example_shop().least_radii[name], row.mm("thickness"), grain=row.text("grain"), turn_deg=row.turn_deg
    )
    assert found is not None, "outside the table"
    return found


def _thickness_tolerance(row: Row) -> float:
    found = shop.thickness_tolerance_mm(example_shop().tolerances, row.text("product"), row.mm("thickness"))
    assert found is not None, "outside the table"
    return found


def _bend_at_depth(row: Row) -> bend.AirBend:
    swift = bend.swift_from_certificate(
        row.number("yield_mpa"),
        row.number("tensile_mpa"),
        uniform_elongation=row.number("uniform_elongation"),
        modulus_mpa=row.number("modulus_mpa"),
    )
    sizes = [row.mm(name) for name in ("thickness", "opening", "shoulder_radius", "nose_radius")]
    found = bend.bend_at_depth(bend.BendSetup(*sizes, row.number("friction")), swift, row.mm("depth"))
    assert isinstance(found, bend.AirBend), "no bend at that depth"
    return found


ANSWERS: dict[str, Answer] = {
    "allowance": lambda row: _allowance(row).allowance_mm,
    "deduction": lambda row: _allowance(row).deduction_mm,
    "setback": _setback,
    "k_factor": lambda row: _allowance(row).k_factor,
    "k_din": lambda row: 2 * _allowance(row).k_factor,
    "k_from_deduction": _k_from_deduction,
    "developed": _developed,
    "flat_between": _flat_between,
    "blank_from_tangents": _blank_from_tangents,
    "included_without_deduction": _included_without_deduction,
    "force": _force_per_m,
    "total_force": _total_force,
    "peak_force": lambda row: _bend_to_turn(row).peak_kn_per_m,
    "springback": lambda row: _bend_to_turn(row).springback_deg,
    "limit_force": _limit_force,
    "force_ratio": _force_ratio,
    "force_factor": lambda row: FORCE_FACTORS[row.text("form")],
    "springback_radius_ratio": _springback_radius_ratio,
    "released_radius": lambda row: row.mm("inside_radius") / _springback_radius_ratio(row),
    "loaded_turn_at_depth": lambda row: _bend_at_depth(row).loaded_turn_deg,
    "springback_at_depth": lambda row: _bend_at_depth(row).springback_deg,
    "peak_at_depth": lambda row: _bend_at_depth(row).peak_kn_per_m,
    "hem_force": _hem_force,
    "opening": lambda row: bend.usual_opening_mm(row.mm("thickness")),
    "least_leg_chart": lambda row: CHART_LEAST_LEG_SHARE * row.mm("opening"),
    "radius_chart": lambda row: CHART_RADIUS_SHARE * row.mm("opening"),
    "gauge": lambda row: example_shop().gauges[row.text("family")].thickness_mm(int(row.number("gauge"))),
    "least_radius": _least_radius,
    "least_radius_din_6935": _least_radius_din_6935,
    "linear_tolerance": _tolerance(bend.linear_tolerance_mm, "size"),
    "angle_tolerance": _tolerance(bend.angle_tolerance_deg, "shorter_leg"),
    "thickness_tolerance": _thickness_tolerance,
    "yield_least": _material_answer(0, "yield_range_mpa"),
    "yield_most": _material_answer(1, "yield_range_mpa"),
    "tensile_least": _material_answer(0, "tensile_range_mpa"),
    "tensile_most": _material_answer(1, "tensile_range_mpa"),
    "density": lambda row: example_shop().materials[row.text("material")].density_kg_per_m3,
    **PANEL_ANSWERS,
    **PANEL_HIT_ANSWERS,
    **HANDLING_ANSWERS,
    **HOLDING_ANSWERS,
}
