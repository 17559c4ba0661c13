"""A part file with `blank:` to its part: the drawing is read, and all faults of file and drawing are told at once."""

from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from flangewise.drawn import DrawnBlank, Undrawn, read_drawing
from flangewise.faults import Fault, FaultCollector, Unusable, name_fits
from flangewise.findings import Finding
from flangewise.part.agreement import check_name, check_order, check_shop_names
from flangewise.part.blank_file import BlankFile
from flangewise.part.drawn import Drawn, names_of
from flangewise.part.fields import shown
from flangewise.part.panel import BASE
from flangewise.part.panel_agreement import check_tolerances
from flangewise.part.panel_part import BlankPartFile, PanelPart, one_machine
from flangewise.part.read_panel import placed, tell_others
from flangewise.part.schema import blank_checker, keys_at
from flangewise.part.values import beside, without_empty
from flangewise.shop import Shop

_LONGEST = 100
# What a sentence of a drawing says would be right comes after this; where it says nothing, the drawing is to be mended.
_THEN = ". "
MENDED = "mend the drawing"


def read_blank(raw: Mapping[str, Any], file: str, shop: Shop, collector: FaultCollector) -> PanelPart:
    """The part with a drawn blank that a file's data make.

    Raises Unusable with every fault of the file, and of the drawing where the file says which it is.
    """
    known = without_empty(tell_others("blank", raw, collector))
    units = "inch" if raw.get("units") == "inch" else "mm"
    context = {"units": units, "shop": shop}
    check_shop_names(raw, shop, collector)
    _check_tools(known.get("blank"), shop, collector)
    written: BlankPartFile | None = None
    try:
        written = blank_checker().validate_python(known, context=context)
    except ValidationError as error:
        collector.checked([placed(each, known) for each in error.errors(include_url=False)], keys_at)
    of_drawing: tuple[Fault, ...] = ()
    drawn: Drawn | None = None
    said = written.blank if written is not None else _sound(known.get("blank"), context)
    path = None if said is None else _path_of(said.file, file, collector)
    if said is not None and path is not None:
        named = units if raw.get("units") in ("mm", "inch") else None
        try:
            drawn = _drawn(said, read_drawing(path, said.wish(named, shop.defaults.layers)))
        except Undrawn as undrawn:
            of_drawing = tuple(_fault(each, said.file, units) for each in undrawn.findings if each.severity == "refuse")
    if drawn is not None:
        _check_faces(known, drawn, collector)
    if written is None or drawn is None or collector.found() or of_drawing:
        raise Unusable([*collector.found(), *of_drawing])
    given = {each.name: getattr(written, each.name) for each in fields(written) if each.name != "blank"}
    return PanelPart(**one_machine(given), panel=drawn, file=file)


def _sound(raw: Any, context: Mapping[str, Any]) -> BlankFile | None:
    """What the file says of its drawing, where that alone can be used."""
    try:
        return TypeAdapter(BlankFile).validate_python(raw, context=dict(context))
    except ValidationError:
        return None


def _check_tools(blank: Any, shop: Shop, collector: FaultCollector) -> None:
    entries = blank.get("bends") if isinstance(blank, dict) else None
    listed = [(("blank", "bends", at), each) for at, each in enumerate(entries if isinstance(entries, list) else ())]
    for steps, said in [(("blank", "bend"), blank.get("bend") if isinstance(blank, dict) else None), *listed]:
        if isinstance(said, dict):
            check_name(said.get("punch"), shop.punches, steps=(*steps, "punch"), table="punches", collector=collector)
            check_name(said.get("die"), shop.dies, steps=(*steps, "die"), table="dies", collector=collector)


def _path_of(name: str, file: str, collector: FaultCollector) -> Path | None:
    path = beside(name, file)
    if path is None:
        fits = "put the drawing beside the part file or below it"
        collector.value(("blank", "file"), f"{shown(name)} lies elsewhere", fits)
    return path


def _drawn(said: BlankFile, blank: DrawnBlank) -> Drawn:
    bends = tuple(
        said.wanted(line.number, bend=line.bend, toward=line.toward, entry=line.entry) for line in blank.lines
    )
    sizes = tuple((name, tuple(each)) for name, each in said.sizes.items())
    return Drawn(said.file, blank, bends, names_of(blank), said.radius, sizes)


def _fault(finding: Finding, drawing: str, units: str) -> Fault:
    """A fault of a drawing as one of an input: the file is the drawing, the place one on it."""
    wrong, _, fits = finding.text("en", units).partition(_THEN)
    return Fault(drawing, None, None, finding.place(), wrong, (fits[:1].lower() + fits[1:]) or MENDED)


def _check_faces(raw: Mapping[str, Any], drawn: Drawn, collector: FaultCollector) -> None:
    """That sizes and tolerances are of faces there are, and an order names every bend."""
    for name, sizes in drawn.wanted_mm:
        if name not in drawn.faces:
            fits = f"{name_fits(name[:_LONGEST], drawn.faces)} faces are {', '.join(drawn.faces[:8])}"
            collector.key(("blank", "sizes", name), f"there is no face {shown(name)}", fits)
        elif len(sizes) != (2 if name == BASE else 1):
            fits = "give it along and across: [300, 200]" if name == BASE else "give one figure"
            collector.value(("blank", "sizes", name), f"has {'one figure' if len(sizes) == 1 else 'two figures'}", fits)
    check_tolerances(raw.get("tolerances"), drawn.faces, collector)
    order = raw.get("order")
    if isinstance(order, list) and order:
        check_order(order, len(drawn.bends), collector)
