"""Punches and dies: their outlines, the nose tip or the opening's centre at the origin, and what is stamped on them."""

from collections.abc import Callable, Iterator
from dataclasses import astuple
from functools import cached_property, lru_cache
from typing import Literal

from pydantic import model_validator

from flangewise.findings import Finding, caution
from flangewise.geometry import NoseOfPunch, Outline, VeeOfDie, nose_of_punch, vee_of_die
from flangewise.shop.bodies import Body, Segments
from flangewise.shop.row import Angle, NotNegative, Place, Positive, TableRow, unfit
from flangewise.words import phrase

Kind = Literal["vee", "flat", "offset"]
# A height in a table is written to hundredths; an outline that ends elsewhere is another tool's.
SAME_HEIGHT_MM = 0.01
# Sizes are read off an outline to a thousandth: its points are written to some ten-thousandths and no finer.
READ_DIGITS = 3
# Above what grinding leaves and well under what changes a bend: 0.05 mm of V is about 0.3 degrees at V 16.
SAME_OPENING_MM = 0.05
SAME_RADIUS_MM = 0.05
SAME_ANGLE_DEG = 0.1


class ShopTool(TableRow):
    """What punches and dies share; `kind` is `vee` for air bending, `flat` for hems, `offset` for steps in one hit.

    `rack` is where the tool is kept, as the shop writes it; None where the shop does not say.
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
    rack: Place | None = None

    @cached_property
    def outline_turned(self) -> Outline:
        """The body set turned: mirrored about the centre plane."""
        return self.outline_mm.turned()

    @property
    def held_mm(self) -> float:
        """Length of all plain segments held, put end to end; ears not counted."""
        return sum(segment.length_mm * segment.held for segment in self.segments if segment.ear is None)

    @model_validator(mode="after")
    def _ears_have_a_load(self) -> "ShopTool":
        if any(segment.ear for segment in self.segments) and self.ear_load_kn_per_m is None:
            raise unfit("ears are held but their load is missing", "add ear_load_kn_per_m", key="segments")
        return self

    @model_validator(mode="after")
    def _offset_has_its_step(self) -> "ShopTool":
        step = (self.offset_mm, self.offset_turn_deg, self.most_thickness_mm)
        keys = "offset_mm, offset_turn_deg and most_thickness_mm"
        if self.kind == "offset" and None in step:
            raise unfit("the step is not described", f"an offset tool needs {keys}", key="kind")
        if self.kind != "offset" and step != (None, None, None):
            raise unfit(f"{self.kind} tools make no step", f"{keys} belong to kind: offset", key="kind")
        return self

    def _check_vee(self, read: Callable[[Outline], object], keys: tuple[str, ...], fits: str) -> None:
        if None in [getattr(self, key) for key in keys]:
            told = f"a vee {type(self).__name__.lower()} has {', '.join(keys[:-1])} and {keys[-1]}"
            raise unfit("a named size is missing", told, key="kind")
        try:
            read(self.outline_mm)
        except ValueError as error:
            raise unfit(str(error), fits, key="outline_mm") from None


class Punch(ShopTool):
    """A punch. Nose radius and included angle are read off the outline; the named ones are what is stamped on it.

    Over the outer `ear_reach_mm` of an ear only what lies below `ear_foot_mm` stands: its foot.
    """

    named_nose_radius_mm: Positive | None = None
    named_included_deg: Angle | None = None
    ear_reach_mm: Positive | None = None
    ear_foot_mm: Positive | None = None

    @cached_property
    def nose(self) -> NoseOfPunch:
        """The nose as the outline has it. Raises LookupError for a punch that is not for air bending."""
        if self.kind != "vee":
            raise LookupError(f"punch {self.name} is no vee punch")
        nose = nose_of_punch(self.outline_mm)
        return NoseOfPunch(round(nose.nose_radius_mm, READ_DIGITS), round(nose.included_deg, READ_DIGITS))

    @model_validator(mode="after")
    def _ears_have_a_foot(self) -> "Punch":
        """Reach and foot say one thing together; a foot is shorter than its ear and lower than the punch."""
        reach_mm, foot_mm = self.ear_reach_mm, self.ear_foot_mm
        if (reach_mm is None) != (foot_mm is None):
            key = "ear_foot_mm" if foot_mm is None else "ear_reach_mm"
            raise unfit("half of an ear is described", f"add {key}", key="segments")
        if reach_mm is None or foot_mm is None:
            return self
        ears_mm = [segment.length_mm for segment in self.segments if segment.ear is not None]
        if not ears_mm:
            raise unfit("no ears are held", "leave ear_reach_mm and ear_foot_mm out", key="ear_reach_mm")
        if reach_mm >= min(ears_mm):
            raise unfit("an ear is no longer than its reach", f"it is below {min(ears_mm):g}", key="ear_reach_mm")
        if foot_mm >= self.height_mm:
            raise unfit("a foot is as high as the punch", f"it is below {self.height_mm:g}", key="ear_foot_mm")
        return self

    @model_validator(mode="after")
    def _stands_on_its_nose(self) -> "Punch":
        ups = [up for _, up in self.outline_mm.points_mm]
        if abs(max(ups) - self.height_mm) > SAME_HEIGHT_MM:
            raise unfit(f"{self.height_mm:g} is not the outline's height", f"it ends at {max(ups):g}", key="height_mm")
        if self.kind == "vee":
            keys = ("named_nose_radius_mm", "named_included_deg")
            self._check_vee(nose_of_punch, keys, "round one corner so that its lowest point is at [0, 0]")
        elif abs(min(ups)) > SAME_HEIGHT_MM:
            raise unfit(f"the lowest face is at {min(ups):g}", "it stands at 0", key="outline_mm")
        return self


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
    def _stands_on_its_seat(self) -> "Die":
        ups = [up for _, up in self.outline_mm.points_mm]
        if abs(max(ups)) > SAME_HEIGHT_MM:
            raise unfit(f"the top is at {max(ups):g}", "it stands at 0", key="outline_mm")
        if abs(min(ups) + self.height_mm) > SAME_HEIGHT_MM:
            raise unfit(f"{self.height_mm:g} is not the outline's height", f"it ends at {min(ups):g}", key="height_mm")
        if self.kind == "vee":
            keys = ("named_opening_mm", "opening_measured", "named_shoulder_radius_mm", "named_included_deg")
            self._check_vee(vee_of_die, keys, "put the flat top at height 0 and the opening's centre at 0")
        return self


@lru_cache(maxsize=1024)
def named_findings(tool: Punch | Die) -> tuple[Finding, ...]:
    """A caution for each named size of a vee tool that its outline, which rules, does not have.

    An opening is compared as its row says it is measured: between corners for tangent points is 7 to 9 degrees.
    """
    return tuple(_not_as_named(tool)) if tool.kind == "vee" else ()


def _not_as_named(tool: Punch | Die) -> Iterator[Finding]:
    if isinstance(tool, Die):
        where, vee, named_mm = phrase("body.die", name=tool.name), tool.vee, tool.named_opening_mm
        outline_mm = vee.corner_opening_mm if tool.opening_measured == "corner" else vee.opening_mm
        if _differ(named_mm, outline_mm, SAME_OPENING_MM):
            measured = phrase(f"word.{tool.opening_measured}")
            yield caution("opening-not-as-named", where, named_mm=named_mm, outline_mm=outline_mm, measured=measured)
        named_mm, outline_mm, outline_deg = tool.named_shoulder_radius_mm, vee.shoulder_radius_mm, vee.included_deg
    else:
        where, nose = phrase("body.punch", name=tool.name), tool.nose
        named_mm, outline_mm, outline_deg = tool.named_nose_radius_mm, nose.nose_radius_mm, nose.included_deg
    if _differ(named_mm, outline_mm, SAME_RADIUS_MM):
        yield caution("radius-not-as-named", where, named_mm=named_mm, outline_mm=outline_mm)
    if _differ(tool.named_included_deg, outline_deg, SAME_ANGLE_DEG):
        yield caution("angle-not-as-named", where, named_deg=tool.named_included_deg, outline_deg=outline_deg)


def _differ(named: float | None, derived: float, allowed: float) -> bool:
    return named is not None and abs(named - derived) > allowed
