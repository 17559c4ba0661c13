"""A brake that hides its faults: the process model with a depth offset, another springback and stops that lie."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from functools import cache

import pytest

from flangewise.bend import (
    NOTHING_LEARNED,
    BendSetup,
    Learned,
    bend_allowance,
    bend_to_turn,
    k_from_deduction,
    swift_from_certificate,
)
from flangewise.bend.air_bend import bends_of
from flangewise.bend.records import BendBatch
from flangewise.punch_die import Model
from flangewise.sequence import Gauged
from flangewise.tryout import TriedBend, TriedPiece

MILD = swift_from_certificate(200.0, 320.0, uniform_elongation=0.22, modulus_mpa=210000.0)
STAINLESS = swift_from_certificate(300.0, 640.0, uniform_elongation=0.45, modulus_mpa=193000.0)
ALUMINIUM = swift_from_certificate(110.0, 215.0, uniform_elongation=0.17, modulus_mpa=70000.0)
SETUP = BendSetup(2.0, 16.0, 1.5, 1.0)
K_FACTOR = 0.42


@pytest.fixture
def brake():
    """This module: the parts, the brake and how a piece comes off it."""
    return sys.modules[__name__]


@dataclass(frozen=True)
class Hidden:
    """What the brake does not show: depth offset, springback multiplier, and how far each stop is off."""

    depth_mm: float = 0.0
    springback: float = 1.0
    stops_mm: tuple[float, ...] = (0.0, 0.0)

    @property
    def truth(self) -> Learned:
        """As the model takes it."""
        return Learned(self.depth_mm, math.log(self.springback))


def planned(swift=MILD, turns=(90.0, 90.0), legs=(40.0, 70.0, 30.0), gauged=(("start", None), ("end", None))):
    """A channel as planned: deductions by K at the formed radius, depths by the bare model, stops from its gauging."""
    bends = []
    for number, (turn, (on, flange)) in enumerate(zip(turns, gauged, strict=True), start=1):
        bend = bare(swift, turn)
        deduction = deduction_at(turn, bend.formed_radius_mm)
        bends.append(
            TriedBend(
                number,
                turn,
                bend.formed_radius_mm,
                deduction,
                rule_mm=deduction,
                depth_mm=bend.depth_mm,
                gauged=Gauged(on, None if flange is None else flange - 1),
                model=Model(SETUP, swift, NOTHING_LEARNED),
            )
        )
    developed = sum(legs) - sum(bend.deduction_mm for bend in bends)
    piece = TriedPiece(SETUP.thickness_mm, legs, (None,) * len(legs), developed, True, tuple(bends))
    lines = lines_of(legs, [bend.deduction_mm for bend in bends])
    stops = [stop_for(bend, lines, bends, developed) for bend in bends]
    return replace(piece, bends=tuple(replace(bend, stop_mm=stop) for bend, stop in zip(bends, stops, strict=True)))


@cache
def bare(swift, turn):
    """The bend by the model, nothing learned."""
    return bend_to_turn(SETUP, swift, turn)


def deduction_at(turn, radius, k_factor=K_FACTOR):
    """Outside deduction of a bend at a turn."""
    return bend_allowance(radius, SETUP.thickness_mm, turn_deg=turn, k_factor=k_factor).deduction_mm


def lines_of(legs, deductions):
    """Places of the bend lines on the blank, from the start edge."""
    lines, place = [], 0.0
    for index, deduction in enumerate(deductions):
        before = deductions[index - 1] if index else 0.0
        place += legs[index] - (deduction + before) / 2
        lines.append(place)
    return lines


def stop_for(bend, lines, bends, developed):
    """Where the stop stands for a bend: from the start edge, the end edge, or the flange of another bend."""
    line = lines[bend.number - 1]
    if bend.gauged.on == "start":
        return line
    if bend.gauged.on == "end":
        return developed - line
    other = bends[bend.gauged.flange]
    return abs(line - lines[other.number - 1]) + other.deduction_mm / 2


def turned(pieces, brakes):
    """The turns that come off brakes as pieces are set, without noise: all bends at once, by piece."""
    bends = [(bend, hidden.truth) for piece, hidden in zip(pieces, brakes, strict=True) for bend in piece.bends]
    setups, swifts = [bend.model.setup for bend, _ in bends], [bend.model.swift for bend, _ in bends]
    batch = BendBatch.of(setups, swifts, [truth for _, truth in bends])
    turns = iter(bends_of(batch, "depth", [bend.depth_mm for bend, _ in bends]).turn_deg.tolist())
    return [[next(turns) for _ in piece.bends] for piece in pieces]


def bent(piece, hidden, *, blank_k=K_FACTOR):
    """The turns and legs of a piece that comes off the brake as it is set, without noise."""
    (turns,) = turned([piece], [hidden])
    return turns, legs_of(piece, hidden, turns, blank_k=blank_k)


def legs_of(piece, hidden, turns, *, blank_k=K_FACTOR):
    """The legs of a piece whose bends came out with these turns."""
    deductions = [deduction_at(turn, bend.radius_mm, blank_k) for turn, bend in zip(turns, piece.bends, strict=True)]
    lines = []
    for bend, off, deduction in zip(piece.bends, hidden.stops_mm, deductions, strict=True):
        lines.append(_line(bend, bend.stop_mm + off, lines, piece=piece, deductions=deductions))
        assert deduction > 0
    legs = []
    for index in range(len(piece.wanted_mm)):
        begin = lines[index - 1] if index else 0.0
        end = lines[index] if index < len(lines) else piece.developed_mm
        beside = sum(deductions[bend] for bend in (index - 1, index) if 0 <= bend < len(deductions))
        legs.append(end - begin + beside / 2)
    return legs


def _line(bend, stop, lines, *, piece, deductions):
    if bend.gauged.on == "start":
        return stop
    if bend.gauged.on == "end":
        return piece.developed_mm - stop
    other = bend.gauged.flange
    return lines[other] + stop - deductions[other] / 2


def measured(piece, turns, legs, number):
    """The piece with what was read off it."""
    bends = tuple(replace(bend, turn_deg=turn) for bend, turn in zip(piece.bends, turns, strict=True))
    return replace(piece, bends=bends, measured_mm=tuple(legs), piece=number)


def corrected(piece, corrections):
    """The next piece: depths, stops and blank changed as told."""
    bends = tuple(
        replace(
            bend,
            depth_mm=bend.depth_mm + (told.depth_correction_mm or 0.0),
            stop_mm=bend.stop_mm + (told.stop_correction_mm or 0.0),
        )
        for bend, told in zip(piece.bends, corrections.bends, strict=True)
    )
    return replace(piece, bends=bends, developed_mm=piece.developed_mm + (corrections.blank_correction_mm or 0.0))


def k_shown(bend, deduction):
    """K of a deduction, by the allowance formula."""
    return k_from_deduction(bend.radius_mm, SETUP.thickness_mm, turn_deg=bend.wanted_deg, deduction_mm=deduction)
