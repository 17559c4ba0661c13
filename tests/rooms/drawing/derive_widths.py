"""Write the table of letter widths that the drawing room measures text with, from the font files themselves.

Run from the top of the repository, on a machine with the font (Debian package fonts-dejavu-core):

    python tests/rooms/drawing/derive_widths.py > src/flangewise/drawing/widths.txt

The font is DejaVu Sans, regular and bold: free, wide-spread, plain, with clear figures.
"""

from pathlib import Path

from fontTools.ttLib import TTFont

FOLDER = Path("/usr/share/fonts/truetype/dejavu")
FILES = {"regular": FOLDER / "DejaVuSans.ttf", "bold": FOLDER / "DejaVuSans-Bold.ttf"}
RANGES = ((0x20, 0x7E), (0xA0, 0x17F), (0x370, 0x3FF), (0x2010, 0x2044), (0x2190, 0x2199), (0x2200, 0x2265))
HEAD = """# Advance widths of DejaVu Sans, in units of 1/2048 em: what a letter takes of a line.
# Derived from the font files by tests/rooms/drawing/derive_widths.py; not written by hand.
# A block: weight, code of its first letter (hexadecimal), then the widths of the letters from there on.
"""


def widths(font: TTFont, first: int, last: int) -> list[int]:
    """The widths of a run of letters; those the font lacks get the width of its empty box."""
    names, advances = font.getBestCmap(), font["hmtx"]
    return [advances[names.get(code, ".notdef")][0] for code in range(first, last + 1)]


def table() -> str:
    """The whole table as text."""
    blocks = []
    for weight, file in FILES.items():
        font = TTFont(file)
        for first, last in RANGES:
            row = " ".join(str(width) for width in widths(font, first, last))
            blocks.append(f"{weight} {first:04x} {row}\n")
    return HEAD + "".join(blocks)


if __name__ == "__main__":
    print(table(), end="")
