"""Punches: outlines with the nose tip at the origin, the body above it."""

from __future__ import annotations

from functools import cached_property
from typing import Literal

from pydantic import model_validator

from flangewise.geometry import NoseOfPunch, Outline, nose_of_punch
from flangewise.shop.bodies import Body, Segments
from flangewise.shop.row import Angle, Positive, Row, unfit

Kind = Literal["vee", "flat", "offset"]
# A height in a table is written to hundredths; an outline that ends elsewhere is another tool's.
SAME_HEIGHT_MM = 0.01
# Sizes are read off an outline to a thousandth: its points are written to some ten-thousandths and no finer.
READ_DIGITS = 3


class ShopTool(Row):
    """What punches and dies share: a body, its height, its load rating and the segments held.

    `kind` is `vee` for air bending, `flat` for flattening hems, `offset` for steps made in one hit.
    """

    kind: Kind
    height_mm: Positive
    load_kn_per_m: Positive
    ear_load_kn_per_m: Positive | None = None
    outline_mm: Body
    segments: Segments
    offset_mm: Positive | None = None
    offset_turn_deg: Angle | None = None
    most_thickness_mm: Positive | None = None

    @cached_property
    def outline_turned(self) -> Outline:
        """The body set turned: mirrored about the centre plane."""
        return self.outline_mm.turned()

    @property
    def held_mm(self) -> float:
        """Length of all plain segments held, put end to end; ears not counted."""
        return sum(segment.length_mm * segment.held for segment in self.segments if segment.ear is None)

    @model_validator(mode="after")
    def _ears_have_a_load(self) -> ShopTool:
        if any(segment.ear for segment in self.segments) and self.ear_load_kn_per_m is None:
            raise unfit("ears are held but their load is missing", "add ear_load_kn_per_m", key="segments")
        return self

    @model_validator(mode="after")
    def _offset_has_its_step(self) -> ShopTool:
        step = (self.offset_mm, self.offset_turn_deg, self.most_thickness_mm)
        keys = "offset_mm, offset_turn_deg and most_thickness_mm"
        if self.kind == "offset" and None in step:
            raise unfit("the step is not described", f"an offset tool needs {keys}", key="kind")
        if self.kind != "offset" and step != (None, None, None):
            raise unfit(f"{self.kind} tools make no step", f"{keys} belong to kind: offset", key="kind")
        return self


class Punch(ShopTool):
    """A punch. Nose radius and included angle are read off the outline; the named ones are what is stamped on it."""

    named_nose_radius_mm: Positive | None = None
    named_included_deg: Angle | None = None

    @cached_property
    def nose(self) -> NoseOfPunch:
        """The nose as the outline has it. Raises LookupError for a punch that is not for air bending."""
        if self.kind != "vee":
            raise LookupError(f"punch {self.name} is no vee punch")
        nose = nose_of_punch(self.outline_mm)
        return NoseOfPunch(round(nose.nose_radius_mm, READ_DIGITS), round(nose.included_deg, READ_DIGITS))

    @model_validator(mode="after")
    def _stands_on_its_nose(self) -> Punch:
        ups = [up for _, up in self.outline_mm.points_mm]
        if abs(max(ups) - self.height_mm) > SAME_HEIGHT_MM:
            raise unfit(f"{self.height_mm:g} is not the outline's height", f"it ends at {max(ups):g}", key="height_mm")
        if self.kind == "vee":
            self._check_vee()
        elif abs(min(ups)) > SAME_HEIGHT_MM:
            raise unfit(f"the lowest face is at {min(ups):g}", "it stands at 0", key="outline_mm")
        return self

    def _check_vee(self) -> None:
        if self.named_nose_radius_mm is None or self.named_included_deg is None:
            raise unfit(
                "a named size is missing", "a vee punch has named_nose_radius_mm and named_included_deg", key="kind"
            )
        try:
            nose_of_punch(self.outline_mm)
        except ValueError as error:
            fits = "round one corner so that its lowest point is at [0, 0]"
            raise unfit(str(error), fits, key="outline_mm") from None
