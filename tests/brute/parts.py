"""Random parts, near the limits of collision and far from them, each the same for its seed; racks of a few tools."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from flangewise.jobs.plan_part import blanked_on
from flangewise.part import Part, read_part
from flangewise.shop import Shop

from .bench import Bench
from .judge import Judge
from .strikes import NEAR

# Dies and punches that a small shop might hold for a thickness: some six pairs a bend.
DIES = {
    0.8: ("vee-6-88", "vee-8-86"),
    1.0: ("vee-8-86", "vee-10-86"),
    1.5: ("vee-10-86", "vee-12-85"),
    2.0: ("vee-12-85", "vee-16-80"),
    3.0: ("vee-20-80", "vee-25-80"),
}
ACUTE_DIES = {0.8: "vee-6-30", 1.0: "vee-8-30", 1.5: "vee-12-30", 2.0: "vee-16-30", 3.0: "vee-24-30"}
PUNCHES = ("straight-88", "straight-80-nose-2", "narrow-86", "neck-shallow", "neck-deep")
MATERIALS = ("DC01", "1.4301", "5754-H22")
TRIES = 6
LENGTHS_MM = (60, 100, 180, 250, 380)
# Two of 440 just stand beside each other on the smallest bed, two of 450 do not; three of 610 do on the middle one.
MORE_LENGTHS_MM = (440, 450, 610, 640)
# A set-up shared over few parts makes tools dear, over many it is the moves.
QUANTITIES = (1, 4, 15, 30, 2000)


@dataclass(frozen=True)
class Drawn:
    """A part and the shop that is to bend it, with what it was drawn for."""

    part: Part
    shop: Shop
    text: str
    drawn_for: str


def judged_shop(shop: Shop) -> Shop:
    """The shop with robots whose grippers are not known: the judge weighs orders, and knows no grips.

    These are judged by all orders, grips and moves in `tests/rooms/handling/test_moves.py`.
    """
    plain = {name: each.model_copy(update={"gripper": None}) for name, each in shop.handlers.items()}
    return replace(shop, handlers=plain)


def rack(shop: Shop, dies: tuple[str, ...], punches: tuple[str, ...]) -> Shop:
    """The shop with those tools alone."""
    return replace(
        shop,
        dies={name: each for name, each in shop.dies.items() if name in dies},
        punches={name: each for name, each in shop.punches.items() if name in punches},
    )


def text_of(fields: dict[str, Any], legs: list[float], bends: list[str], length: float, holes: str = "") -> str:
    """A part file."""
    head = "".join(f"{key}: {value}\n" for key, value in fields.items())
    sizes = ", ".join(f"{leg:.2f}" for leg in legs)
    return f"{head}section:\n  length: {length}\n  legs: [{sizes}]\n  bends: [{', '.join(bends)}]\n{holes}"


def _bend(draw: random.Random, *, acute: bool) -> str:
    turn = draw.choice((90, 90, 90, 90, 45, 30, 60, 75, *((120, 135) if acute else ())))
    return f"{{turn: {turn}, away: {'true' if draw.random() < 0.45 else 'false'}}}"


def drawn(seed: int, whole: Shop, *, most_bends: int = 4) -> Drawn:
    """The part of a seed, its rack with tools for every bend where some tries find one."""
    for again in range(TRIES):
        found = _drawn(seed, random.Random(seed * TRIES + again), whole, most_bends=most_bends)
        if all(Bench(blanked_on(found.part, found.shop, "mid-740")).choices):
            break
    return found


def _drawn(seed: int, draw: random.Random, whole: Shop, *, most_bends: int) -> Drawn:
    count = draw.choices(range(1, most_bends + 1), weights=(1, 4, 4, 2, 1)[:most_bends])[0]
    thickness = draw.choice(tuple(DIES))
    acute = draw.random() < 0.2
    punches = draw.sample(PUNCHES, 2 if count > 2 else 3)
    dies: tuple[str, ...] = DIES[thickness] if count < 4 else draw.sample(DIES[thickness], 1)  # type: ignore[assignment]
    if acute:
        punches, dies = [*punches[:1], "acute-30"], (*dies[:1], ACUTE_DIES[thickness])
    special = draw.random()
    kind = "hem" if special < 0.1 and thickness <= 2 else "offset" if special < 0.17 and thickness <= 2 else "plain"
    # What was added to the draw later has dice of its own: the older parts keep their seeds.
    more = random.Random(f"more {seed}")
    length = draw.choice(LENGTHS_MM)
    length = more.choice(MORE_LENGTHS_MM) if more.random() < 0.15 else length
    legs = [round(draw.uniform(12, 80) + 4 * thickness, 2) for _ in range(count + 1)]
    bends = [_bend(draw, acute=acute) for _ in range(count)]
    if kind == "hem":
        end = draw.choice((0, count - 1))
        away = draw.choice(("true", "false"))
        closed = draw.random() < 0.5
        bends[end] = f"{{hem: {'closed' if closed else f'open, gap: {thickness}'}, away: {away}}}"
        legs[0 if end == 0 else -1] = round(draw.uniform(5, 8) * thickness + 6, 2)
        punches, dies = [*punches[:1], "acute-30", "flattener"], (*dies[:1], ACUTE_DIES[thickness], "flat-bed")
    if kind == "offset":
        step = 4 if thickness > 1.0 else draw.choice((2, 4))
        # A step holds two arcs above each other: (2r + t)(1 - cos 90) at the least.
        radius = round(0.35 * (step - thickness), 2)
        away = draw.choice(("true", "false"))
        bends[draw.randrange(count)] = f"{{offset: {step}, radius: {radius}, away: {away}}}"
        punches, dies = [*punches, f"offset-{step}"], (*dies, f"offset-{step}")
    shop = rack(whole, tuple(dies), tuple(punches))
    fields: dict[str, Any] = {"part": f"drawn-{seed}", "material": draw.choice(MATERIALS), "thickness": thickness}
    fields["machine"] = draw.choice(("bench-310", "mid-740", "any"))
    if draw.random() < 0.2:
        fields["handler"] = draw.choice(("operator-heavy", "robot"))
    if draw.random() < 0.2:
        fields["good_face"] = draw.choice(("marked", "other"))
    if more.random() < 0.4:
        fields["quantity"] = more.choice(QUANTITIES)
    holes = ""
    if draw.random() < 0.2:
        holes = f"  holes:\n    - {{leg: 1, at: [{length / 2}, {legs[0] / 2:.2f}], diameter: 4}}\n"
    make = lambda sizes: text_of(fields, sizes, bends, length, holes)  # noqa: E731
    told = kind
    if draw.random() < 0.6:
        told, legs = (
            f"{kind}, near a limit",
            _near_a_limit(draw, legs, lambda sizes: read_part(make(sizes), "p", shop), shop),
        )
    if more.random() < 0.15:
        told, bends = f"{told}, asked", _asked(more, bends, shop)
    text = text_of(fields, legs, bends, length, holes)
    if draw.random() < 0.25:
        told, text = (
            f"{told}, pinned",
            _pinned(draw, text, bends, lambda own: text_of(fields, legs, own, length, holes), shop, count),
        )
    return Drawn(read_part(text, f"drawn-{seed}.yaml", shop), shop, text, told)


def _asked(draw: random.Random, bends: list[str], shop: Shop) -> list[str]:
    """One bend with the die that the setter wants, an offset with a face."""
    own, at = list(bends), draw.randrange(len(bends))
    wish = draw.choice(("face: up", "face: down"))
    if "offset" not in own[at]:
        wish = f"die: {draw.choice([name for name, die in shop.dies.items() if die.kind == 'vee'])}"
    own[at] = own[at].replace("}", f", {wish}}}")
    return own


def _pinned(
    draw: random.Random, text: str, bends: list[str], make: Callable[[list[str]], str], shop: Shop, count: int
) -> str:
    """The part with a will of the setter's: an order, a datum, or tools."""
    what = draw.random()
    if what < 0.3:
        order = list(range(1, count + 1))
        draw.shuffle(order)
        return f"order: {order}\n{text}"
    own, at = list(bends), draw.randrange(count)
    if what < 0.6:
        beside = [bend for bend in (at, at + 2) if 1 <= bend <= count]
        datum = draw.choice(("start", "end", *(f"{{flange: {bend}}}" for bend in beside)))
        own[at] = own[at].replace("}", f", gauge: {datum}}}")
    elif "turn" in own[at]:
        own[at] = own[at].replace(
            "}", f", punch: {draw.choice([name for name in shop.punches if shop.punches[name].kind == 'vee'])}}}"
        )
    return make(own)


def can_be_bent(part: Part, shop: Shop) -> bool:
    """Whether the judge finds any plan, on the first machine of a middling size."""
    return Judge(Bench(blanked_on(part, shop, "mid-740"))).can_be_bent(NEAR)


def _near_a_limit(
    draw: random.Random, legs: list[float], make: Callable[[list[float]], Part], shop: Shop
) -> list[float]:
    """One leg set just to one side of where the part changes from one that can be bent to one that cannot."""
    leg = draw.randrange(len(legs))
    # The limit of all tools decides what can be bent; that of some decides what it costs.
    few = shop if draw.random() < 0.5 else rack(shop, tuple(shop.dies), tuple(shop.punches)[:1])
    low, high = legs[leg], legs[leg] + draw.uniform(40, 140)

    def free(size: float) -> bool:
        return can_be_bent(make([*legs[:leg], size, *legs[leg + 1 :]]), few)

    at_low = free(low)
    if at_low == free(high):
        return legs
    for _ in range(9):
        middle = (low + high) / 2
        low, high = (middle, high) if free(middle) == at_low else (low, middle)
    off = draw.uniform(0.1, 0.5) * draw.choice((-1, 1))
    return [*legs[:leg], round((low + high) / 2 + off, 2), *legs[leg + 1 :]]
