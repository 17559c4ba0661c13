"""The part that the commands of planning are tried on, and its shop of toy tools."""

import re
from pathlib import Path

TOY = Path(__file__).parent.parent / "shop" / "toy_shop"
CHANNEL = """\
part: channel
material: toy
thickness: 1.5
section:
  length: 100
  legs: [20, 60, 20]
  bends: [90, 90]
"""


def joined(text: str) -> str:
    """The text with what goes on below itself, from the eighth column on, as one line again."""
    return re.sub(r"\n {7,}(?=\S)", " ", text)
