"""The steps of a panel's plan as drawings: `plan --draw`."""

from pathlib import Path

from flangewise.commands import Settings
from flangewise.commands.output import write_out
from flangewise.drawing import svg
from flangewise.jobs import PanelPlan
from flangewise.setup import panel_step
from flangewise.sheet import Wording, hit_picture

WIDTH_MM, HEIGHT_MM = 170.0, 130.0


def draw_steps(plan: PanelPlan, folder: Path, settings: Settings) -> None:
    """Every hit as PART.step-N.svg, the sheet at the stops, and as PART.step-N.bent.svg; nothing without a plan."""
    if plan.setup is None or plan.blank is None or not plan.feasible:
        return
    machine, held = plan.job.machine, {each.step: each for each in plan.grips}
    for keyed in plan.setup.steps:
        for bent, ending in ((False, ""), (True, ".bent")):
            picture = hit_picture(
                plan.blank,
                keyed,
                panel_step(keyed.planned),
                machine,
                Wording(machine, units=settings.units),
                held=held.get(keyed.step),
                bent=bent,
                width_mm=WIDTH_MM,
                height_mm=HEIGHT_MM,
            )
            path = folder / f"{plan.part.name}.step-{keyed.step}{ending}.svg"
            write_out(path, svg(picture, standalone=True).encode(), settings)
