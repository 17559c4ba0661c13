"""The bytes of a DXF as a document of the library, and the unit its header names."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from ezdxf.document import Drawing
from ezdxf.filemanagement import dxf_stream_info
from ezdxf.lldxf.tagger import ascii_tags_loader, binary_tags_loader

from flangewise.drawn.blank import Undrawn
from flangewise.drawn.told import OverTime, TimeBox
from flangewise.findings import Finding, note, refuse
from flangewise.records import dataclass
from flangewise.units import MM_PER_INCH

if TYPE_CHECKING:
    from ezdxf.lldxf.types import DXFTag

MOST_ENTITIES = 200_000
# The sign of a binary DXF ends so, after the name it begins with.
BINARY_MARK, BINARY_FROM = b"\r\n\x1a\0", 18
# The clock is looked at once in so many tags.
TAGS_A_LOOK = 500
# Header variable INSUNITS of the DXF reference: the unit's name and its mm. Unit 0 is none.
UNITS: dict[int, tuple[str, float]] = {1: ("inch", MM_PER_INCH), 4: ("mm", 1.0), 5: ("cm", 10.0), 6: ("m", 1000.0)}


@contextmanager
def spoilt_is_unread() -> Iterator[None]:
    """What the library raises of a spoilt file becomes Undrawn, and what it would write to the user is kept back.

    It stumbles in more ways than it names; each means the same to the user.
    """
    quiet, logger = logging.NullHandler(), logging.getLogger("ezdxf")
    logger.addHandler(quiet)
    try:
        yield
    except (Undrawn, OverTime):
        raise
    except Exception:
        raise Undrawn([refuse("drawn-unread")]) from None
    finally:
        logger.removeHandler(quiet)


def document_of(raw: bytes, box: TimeBox) -> Any:
    """The drawing as a document. Raises Undrawn where it holds too much, OverTime, what the library raises."""
    return Drawing.load(_watched(_tags(raw), box))


def _tags(raw: bytes) -> Iterator[DXFTag]:
    if raw[BINARY_FROM : BINARY_FROM + len(BINARY_MARK)] == BINARY_MARK:
        return binary_tags_loader(raw, errors="replace")
    head = io.StringIO(raw.decode("utf-8", errors="ignore"), newline=None)
    text = raw.decode(dxf_stream_info(head).encoding, errors="replace")
    return ascii_tags_loader(io.StringIO(text, newline=None))


def _watched(tags: Iterable[DXFTag], box: TimeBox) -> Iterator[DXFTag]:
    """The tags one by one, until there are too many entities or the time is over. Code 0 begins an entity."""
    entities = 0
    for count, tag in enumerate(tags):
        if tag.code == 0:
            entities += 1
            if entities > MOST_ENTITIES:
                raise Undrawn([refuse("drawn-many", most=MOST_ENTITIES)])
        if count % TAGS_A_LOOK == 0:
            box.look()
        yield tag


@dataclass(frozen=True)
class DrawingUnit:
    """How many mm one unit of the drawing is, and what must be told of it."""

    mm: float
    findings: tuple[Finding, ...]


def unit_of(document: Any, raw: bytes, units: str | None) -> DrawingUnit:
    """The unit of the drawing: its header's, or where that names none the part file's (mm where it says none).

    The library gives a document whose bytes name no unit one of its own.
    """
    code = document.header.get("$INSUNITS", 0) if b"$INSUNITS" in raw else 0
    if code == 0:
        taken = units or "mm"
        return DrawingUnit(MM_PER_INCH if taken == "inch" else 1.0, (note("drawn-no-unit", units=taken),))
    if code not in UNITS:
        return DrawingUnit(1.0, (refuse("drawn-unit-unknown", unit=str(code)),))
    name, mm = UNITS[code]
    against = units is not None and units != name
    return DrawingUnit(mm, (refuse("drawn-unit-other", unit=name, units=units),) if against else ())
