"""Dies: outlines with the centre of the opening at the origin, the flat top at height 0, the body below."""

from __future__ import annotations

from dataclasses import astuple
from functools import cached_property
from typing import Literal

from pydantic import model_validator

from flangewise.geometry import VeeOfDie, vee_of_die
from flangewise.shop.punches import READ_DIGITS, SAME_HEIGHT_MM, ShopTool
from flangewise.shop.row import Angle, NotNegative, Positive, unfit


class Die(ShopTool):
    """A die. Opening, shoulder radius and angle are read off the outline; the named ones are what is stamped on it.

    `opening_measured` says how the stamped opening is measured: between the sharp corners of flat top and wall
    extended (`corner`), or between the points where the shoulder arcs meet the flat top (`tangent`).
    """

    named_opening_mm: Positive | None = None
    opening_measured: Literal["corner", "tangent"] | None = None
    named_shoulder_radius_mm: NotNegative | None = None
    named_included_deg: Angle | None = None

    @cached_property
    def vee(self) -> VeeOfDie:
        """The vee as the outline has it. Raises LookupError for a die that has none."""
        if self.kind != "vee":
            raise LookupError(f"die {self.name} is no vee die")
        vee = vee_of_die(self.outline_mm)
        return VeeOfDie(*(round(value, READ_DIGITS) for value in astuple(vee)))

    @model_validator(mode="after")
    def _stands_on_its_seat(self) -> Die:
        ups = [up for _, up in self.outline_mm.points_mm]
        if abs(max(ups)) > SAME_HEIGHT_MM:
            raise unfit(f"the top is at {max(ups):g}", "it stands at 0", key="outline_mm")
        if abs(min(ups) + self.height_mm) > SAME_HEIGHT_MM:
            raise unfit(f"{self.height_mm:g} is not the outline's height", f"it ends at {min(ups):g}", key="height_mm")
        if self.kind == "vee":
            self._check_vee()
        return self

    def _check_vee(self) -> None:
        named = (self.named_opening_mm, self.opening_measured, self.named_shoulder_radius_mm, self.named_included_deg)
        if None in named:
            keys = "named_opening_mm, opening_measured, named_shoulder_radius_mm and named_included_deg"
            raise unfit("a named size is missing", f"a vee die has {keys}", key="kind")
        try:
            vee_of_die(self.outline_mm)
        except ValueError as error:
            fits = "put the flat top at height 0 and the opening's centre at 0"
            raise unfit(str(error), fits, key="outline_mm") from None
