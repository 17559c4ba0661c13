"""shop.yaml: what holds where a part or a command says nothing."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from flangewise.shop.row import Count, Frozen, NotNegative, Positive, Share, Words

Rule = Literal["din-6935", "handbook-soft", "handbook-medium", "handbook-hard", "faa", "textbook"]
LayerName = Annotated[str, Field(strict=True, pattern=r"^[A-Za-z0-9_-]{1,31}$")]


class Layers(Frozen):
    """Names of the layers in a blank's DXF: letters, digits, _ and - only."""

    cut: LayerName = "CUT"
    bend_toward: LayerName = "BEND-TOWARD"
    bend_away: LayerName = "BEND-AWAY"
    mark: LayerName = "MARK"


class Defaults(Frozen):
    """The shop's defaults.

    `clearance_mm` is the least gap below which a plan draws a caution; `overbend_margin_deg` what a pair must still
    have in hand past the loaded turn; `end_short_mm` how much shorter than the bend its tools may be in all;
    `quantity` over how many parts a set-up is shared where a part does not say; `concentrated_share` the part of the
    frames' distance below which a bend may not take the full force.
    """

    title: Words
    machine: Words
    handler: Words
    rule: Rule
    quantity: Count = 50
    paper: Literal["a4", "letter"] = "a4"
    language: Literal["en", "de", "es"] = "en"
    clearance_mm: NotNegative = 1.0
    overbend_margin_deg: NotNegative = 1.0
    end_short_mm: NotNegative = 0.0
    station_gap_mm: NotNegative = 20.0
    concentrated_share: Share = 0.6
    cutting_tolerance_mm: Positive = 0.1
    layers: Layers = Layers.model_construct(cut="CUT", bend_toward="BEND-TOWARD", bend_away="BEND-AWAY", mark="MARK")
