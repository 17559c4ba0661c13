"""The bend model against what others printed or computed: the table of the README. Prints errors, the bad ones too.

Run: python tests/bench/model_against_sources.py
"""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path

from flangewise.bend import AirBend, BendSetup, Swift, bend_at_depth, bend_to_turn, swift_from_certificate

PUBLISHED = Path(__file__).parents[2] / "shared" / "published"
# Rp0.2, Rm, uniform elongation, E of the chart's steel (typical, chosen for the comparison) and of two metals.
CHART_STEEL = (320.0, 450.0, 0.16, 210_000.0)
CHART_STAINLESS = (330.0, 700.0, 0.45, 193_000.0)
NUMBERS = ("_mm", "_mpa", "elongation", "friction")


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a published file, its head left out."""
    with (PUBLISHED / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def swift(yield_mpa: float, tensile_mpa: float, uniform_elongation: float, modulus_mpa: float) -> Swift:
    """The hardening curve of four certificate values."""
    return swift_from_certificate(
        yield_mpa, tensile_mpa, uniform_elongation=uniform_elongation, modulus_mpa=modulus_mpa, poisson=0.3
    )


def finite_elements() -> Iterator[tuple[str, list[float], str]]:
    """Loaded turn, finished turn and peak force at the depth of each finite-element bend."""
    cases: dict[str, dict[str, float]] = defaultdict(dict)
    given: dict[str, dict[str, str]] = {}
    for row in rows("finite-element-bends.csv"):
        cases[row["bend"]][row["quantity"]] = float(row["printed"])
        given[row["bend"]] = row
    errors: dict[str, list[float]] = defaultdict(list)
    for name, printed in cases.items():
        row = {key: float(given[name][key]) for key in given[name] if key.endswith(NUMBERS)}
        curve = swift(row["yield_mpa"], row["tensile_mpa"], row["uniform_elongation"], row["modulus_mpa"])
        tools = BendSetup(
            row["thickness_mm"], row["opening_mm"], row["shoulder_radius_mm"], row["nose_radius_mm"], row["friction"]
        )
        made = bend_at_depth(tools, curve, row["depth_mm"])
        assert isinstance(made, AirBend)
        errors["loaded"].append(made.loaded_turn_deg - printed["loaded_turn_at_depth_deg"])
        if "springback_at_depth_deg" in printed:
            spring = printed["springback_at_depth_deg"]
            errors["springback"].append(100 * (made.springback_deg / spring - 1))
        peak = printed["peak_at_depth_kn_per_m"]
        errors["peak"].append(100 * (made.peak_kn_per_m / peak - 1))
    yield "finite elements, turn under load at the same depth", errors["loaded"], "°"
    yield "finite elements, springback", errors["springback"], " %"
    yield "finite elements, peak force", errors["peak"], " %"


def force_chart(name: str, metal: Sequence[float], *, most_ratio: float) -> list[float]:
    """Peak force against a tool maker's metric chart, in percent, cells the print has wrong left out."""
    curve = swift(*metal)
    printed = {
        (float(row["thickness_mm"]), float(row["opening_mm"])): float(row["printed"])
        for row in rows(name)
        if row["verdict"] in ("holds", "differs")
    }
    errors = []
    for (thickness, opening), force in printed.items():
        if 5 <= opening / thickness <= most_ratio:
            tools = BendSetup(thickness, opening, 0.1 * opening, 0.08 * opening)
            made = bend_to_turn(tools, curve, 90.0)
            assert isinstance(made, AirBend)
            errors.append(100 * (made.peak_kn_per_m / force - 1))
    return errors


def plates() -> list[float]:
    """Springback against the middle of a plate seller's range, in degrees."""
    errors = []
    for printed in rows("plate-springback.csv"):
        row = {key: float(printed[key]) for key in printed if key.endswith(NUMBERS)}
        tools = BendSetup(row["thickness_mm"], row["opening_mm"], row["shoulder_radius_mm"], row["nose_radius_mm"])
        curve = swift(row["yield_mpa"], row["tensile_mpa"], row["uniform_elongation"], 210_000.0)
        made = bend_to_turn(tools, curve, float(printed["turn_deg"]))
        assert isinstance(made, AirBend)
        errors.append(made.springback_deg - float(printed["printed"]))
    return errors


def line(name: str, errors: Sequence[float], unit: str) -> str:
    """One row of the table: how many, mean, root mean square and worst error."""
    mean = sum(errors) / len(errors)
    rms = math.sqrt(sum(error * error for error in errors) / len(errors))
    worst = max(errors, key=abs)
    return f"| {name} | {len(errors)} | {mean:+.1f}{unit} | {rms:.1f}{unit} | {worst:+.1f}{unit} |"


def main() -> None:
    """Print the table."""
    print("| against | cases | mean | rms | worst |\n| --- | --- | --- | --- | --- |")
    for name, errors, unit in finite_elements():
        print(line(name, errors, unit))
    mild = force_chart("force-chart-metric-mild-steel-450.csv", CHART_STEEL, most_ratio=16)
    print(line("a tool maker's force chart, mild steel, V 5 to 16 t", mild, " %"))
    stainless = force_chart("force-chart-metric-stainless-700.csv", CHART_STAINLESS, most_ratio=16)
    print(line("the same chart, stainless (the limit force is floored for this)", stainless, " %"))
    print(line("a plate seller's springback, middle of its range", plates(), "°"))


if __name__ == "__main__":
    main()
