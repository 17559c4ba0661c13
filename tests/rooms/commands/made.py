"""The part that the commands of planning are tried on, and its shop of toy tools."""

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
