"""What finished parts go into: boxes, pallets, carts."""

from typing import Literal

from flangewise.shop.row import NotNegative, Positive, TableRow


class PartsBox(TableRow):
    """A box, pallet or cart: what can be used inside, (long, wide, high), its own mass, the most it may weigh full.

    `more_pitch_mm` is what burr, twist and scatter add to the pitch of a stack. `by_hand`: it is lifted full by hand.
    """

    kind: Literal["box", "pallet", "cart"]
    inside_mm: tuple[Positive, Positive, Positive]
    mass_kg: NotNegative
    most_gross_kg: Positive
    more_pitch_mm: NotNegative = 0.2
    by_hand: bool = False
