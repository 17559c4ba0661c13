"""One bend from the command line: every number a setter looks up, and where each comes from."""

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from flangewise.bend import RULES
from flangewise.commands import Settings
from flangewise.commands.bend_text import bend_text
from flangewise.commands.options import OptionReader, Span, gauge_of, understood
from flangewise.commands.output import Printer, finding_records, format_option
from flangewise.punch_die import Answer, BendWish, Ideal, Question, Stock, Tooling, answer
from flangewise.shop import Die, Material, Punch, Shop, load_shop, thickness_tolerance_mm

THICKNESS = Span(0.0, 40.0, "give more than 0 and at most 40 mm", open_below=True)
TURN = Span(0.0, 175.0, "a bend is turned through more than 0 and at most 175 degrees", open_below=True)
INCLUDED = Span(5.0, 179.999999, "an included angle is from 5 to less than 180 degrees")
DEPTH = Span(-40.0, 200.0, "a depth is from -40 to 200 mm below the die's top")
RADIUS = Span(0.0, 1000.0, "give a radius from 0 to 1000 mm")
OPENING = Span(0.0, 500.0, "give an opening of more than 0 and at most 500 mm", open_below=True)
LENGTH = Span(0.0, 20_000.0, "give more than 0 and at most 20 m", open_below=True)
FRICTION = Span(0.0, 0.5, "friction is a pure number from 0 to 0.5, 0.1 for most sheet")
K_FACTOR = Span(0.0, 1.0, "a K factor is a share of the thickness from 0 to 1, mostly 0.33 to 0.5")
STRESS = Span(0.0, 3000.0, "give a strength in N/mm2, more than 0 and at most 3000", open_below=True)
ELONGATION = Span(
    0.0, 0.9, "uniform elongation is a fraction such as 0.2, more than 0 and at most 0.9", open_below=True
)
MODULUS = Span(1000.0, 1_000_000.0, "give Young's modulus in N/mm2, 210000 for steel")

IDEAL_NOSE_MM = 1.0
IDEAL_SHOULDER_SHARE = 0.1
# A bend at a depth is at no angle yet when its tools are chosen: they are those of a square bend.
CHOICE_TURN_DEG = 90.0

RULE_HELP = (
    "How the allowance is counted: "
    + "; ".join(f"{name} ({rule.meant_for}; {rule.source.split(',')[0]})" for name, rule in RULES.items())
    + ". Left out: the shop's default."
)


# What a certificate says, by the field of the material's row: its option, and the span it takes.
CERTIFICATE = {
    "yield_mpa": ("--yield", STRESS),
    "tensile_mpa": ("--tensile", STRESS),
    "uniform_elongation": ("--uniform-elongation", ELONGATION),
    "modulus_mpa": ("--modulus", MODULUS),
}

Options = Mapping[str, Any]


@click.command("bend", short_help="One bend from the command line.")
@click.option("--material", metavar="NAME", required=True, help="A row of the shop's materials, such as DC01.")
@click.option("--thickness", metavar="T", required=True, help="Sheet thickness: 2, 2mm, 0.125in or 16ga.")
@click.option("--turn", metavar="A", help="Angle turned through from flat: 90 for a square flange.")
@click.option("--included", metavar="A", help="The same as a protractor reads it: 180 - turn.")
@click.option("--depth", metavar="D", help="Depth of the nose below the die's top; the answer is the turn it gives.")
@click.option("--radius", metavar="R", help="Inside radius wanted; it steers the choice of tools.")
@click.option("--rule", metavar="NAME", help=RULE_HELP)
@click.option("--k-factor", metavar="K", help="K factor instead of a rule.")
@click.option("--die", metavar="NAME", help="A row of the shop's dies.")
@click.option("--die-opening", metavar="V", help="An ideal die of this opening between tangent points.")
@click.option("--shoulder-radius", metavar="RD", help="Its shoulder radius; 0.1 V if left out.")
@click.option("--punch", metavar="NAME", help="A row of the shop's punches.")
@click.option("--nose-radius", metavar="NOSE", help="An ideal punch of this nose; 1 mm if an ideal die has none.")
@click.option("--length", metavar="L", help="Length of the bend, for the force in all.")
@click.option(
    "--grain",
    type=click.Choice(["along", "across", "any"]),
    default="any",
    show_default=True,
    help="Rolling direction: along is parallel to the bend line, the bad way.",
)
@click.option("--friction", metavar="MU", help="Between sheet and die; the material's own if left out.")
@click.option("--yield", "yield_mpa", metavar="RP", help="Yield strength of the certificate, N/mm2.")
@click.option("--tensile", "tensile_mpa", metavar="RM", help="Tensile strength of the certificate, N/mm2.")
@click.option("--uniform-elongation", metavar="AG", help="Uniform elongation of the certificate, a fraction.")
@click.option("--modulus", "modulus_mpa", metavar="E", help="Young's modulus, N/mm2.")
@click.option("--why", is_flag=True, help="Each number with its formula, inputs and source.")
@click.option("--plot", metavar="FILE.svg", help="Force and angle against depth, as a drawing.")
@click.option("--draws", metavar="N", type=click.IntRange(100, 100_000), help="Draw the scatter N times as a check.")
@format_option
@click.pass_obj
def command(settings: Settings, /, fmt: str, why: bool, plot: str | None, draws: int | None, **options: Any) -> int:
    """One bend, no part file: allowance, tools, force, depth, springback, least leg, and what speaks against it.

    Give the angle as --turn (from flat) or --included (as measured), or a --depth. Lengths are in mm, or in the
    --units given before the command; 2mm, 0.125in and 16ga always work.
    """
    only = {"materials": options["material"], "machines": None}
    shop = load_shop(settings.shop_folder, _tables(options), only=only)
    printer = Printer(settings, fmt).begun()
    question, said = _understand(options, shop, settings.units, draws)
    result = answer(question)
    status = _give(result, printer, understood=said, certificate=bool(_certificate(options)), why=why)
    if plot is not None:
        from flangewise.commands.bend_plot import write_plot

        write_plot(result, Path(plot), settings)
        settings.say(f"{Path(plot)} written")
    return status


def _tables(options: Options) -> set[str]:
    tables = {"materials", "machines", "tolerances"}
    tables |= {"gauges"} if gauge_of(options["thickness"]) is not None else set()
    tables |= {"dies"} if options["die_opening"] is None else set()
    ideal_nose = options["nose_radius"] is not None or (options["die_opening"] is not None and options["punch"] is None)
    return tables if ideal_nose else tables | {"punches"}


def _understand(options: Options, shop: Shop, units: str, draws: int | None) -> tuple[Question, str]:
    """The options as numbers, and how the thickness was read. Raises Unusable with every fault of them."""
    asked = OptionReader(units)
    material = _material(options, shop, asked)
    gauges = shop.gauges if gauge_of(options["thickness"]) is not None else None
    family = material.family if material is not None else None
    thickness_mm = asked.thickness_mm("--thickness", options["thickness"], THICKNESS, gauges=gauges, family=family)
    asked.one_of(turn=options["turn"], included=options["included"], depth=options["depth"])
    turn_deg = asked.number("--turn", options["turn"], TURN)
    included_deg = asked.number("--included", options["included"], INCLUDED)
    depth_mm = asked.length_mm("--depth", options["depth"], DEPTH)
    friction = asked.number("--friction", options["friction"], FRICTION)
    ideal = _ideal(options, asked)
    wish = BendWish(
        number=0,
        turn_deg=turn_deg or (180 - included_deg if included_deg is not None else CHOICE_TURN_DEG),
        radius_mm=asked.length_mm("--radius", options["radius"], RADIUS),
        length_mm=asked.length_mm("--length", options["length"], LENGTH),
        punch=_tool("--punch", options["punch"], shop.punches, asked) if options["nose_radius"] is None else None,
        die=_tool("--die", options["die"], shop.dies, asked) if options["die_opening"] is None else None,
        ideal=ideal,
        rule=_rule(options, shop, asked),
        k_factor=asked.number("--k-factor", options["k_factor"], K_FACTOR),
    )
    _check_tools_fit(ideal, asked)
    asked.done()
    assert material is not None and thickness_mm is not None
    question = Question(
        wish=wish,
        stock=Stock(material, thickness_mm, grain=options["grain"], friction=friction),
        tooling=Tooling(
            punches=tuple(shop.punches.values()) if wish.ideal.nose_radius_mm is None else (),
            dies=tuple(shop.dies.values()) if wish.ideal.opening_mm is None else (),
            machine=shop.strongest_machine,
            overbend_margin_deg=shop.defaults.overbend_margin_deg,
            concentrated_share=shop.defaults.concentrated_share,
        ),
        depth_mm=depth_mm,
        shop=shop,
        rule_asked=options["rule"] is not None,
        tolerance_mm=thickness_tolerance_mm(shop.tolerances, material.product, thickness_mm),
        draws=draws,
    )
    return question, understood(options["thickness"], thickness_mm, family=family)


def _tool(
    option: str, name: str | None, table: Mapping[str, Punch] | Mapping[str, Die], asked: OptionReader
) -> str | None:
    """The name of an air bending tool, where one was given; the table is not touched where none was."""
    if name is None:
        return None
    return asked.name(option, name, [known for known, tool in table.items() if tool.kind == "vee"])


def _rule(options: Options, shop: Shop, asked: OptionReader) -> str:
    asked.not_both("a K factor needs no rule", rule=options["rule"], k_factor=options["k_factor"])
    return asked.name("--rule", options["rule"], RULES) or shop.defaults.rule


def _ideal(options: Options, asked: OptionReader) -> Ideal:
    """The ideal tools asked for, their left-out sizes filled in."""
    asked.not_both("keep one", die=options["die"], die_opening=options["die_opening"])
    asked.not_both("keep one", punch=options["punch"], nose_radius=options["nose_radius"])
    opening_mm = asked.length_mm("--die-opening", options["die_opening"], OPENING)
    shoulder_mm = asked.length_mm("--shoulder-radius", options["shoulder_radius"], RADIUS)
    nose_mm = asked.length_mm("--nose-radius", options["nose_radius"], RADIUS)
    if options["shoulder_radius"] is not None and options["die_opening"] is None:
        asked.fault("--shoulder-radius", "is given without an opening", "give --die-opening too")
    if opening_mm is not None and nose_mm is None and options["punch"] is None:
        nose_mm = IDEAL_NOSE_MM
    if opening_mm is not None and shoulder_mm is None:
        shoulder_mm = IDEAL_SHOULDER_SHARE * opening_mm
    return Ideal(nose_mm, opening_mm, shoulder_mm or 0.0)


def _check_tools_fit(ideal: Ideal, asked: OptionReader) -> None:
    """Ideal tools that cannot be: a nose wider than its opening, shoulders that leave no flat to bend over."""
    if ideal.opening_mm is None:
        return
    half_mm = ideal.opening_mm / 2
    if ideal.nose_radius_mm is not None and ideal.nose_radius_mm >= half_mm:
        wrong = f"{ideal.nose_radius_mm:g} mm does not enter the opening"
        asked.fault("--nose-radius", wrong, f"give less than {half_mm:g} mm")
    if ideal.shoulder_radius_mm > half_mm:
        wrong = f"{ideal.shoulder_radius_mm:g} mm is more than half the opening"
        asked.fault("--shoulder-radius", wrong, f"give at most {half_mm:g} mm")


def _material(options: Options, shop: Shop, asked: OptionReader) -> Material | None:
    name = asked.name("--material", options["material"], shop.materials)
    material = shop.materials[name] if name is not None else None
    taken = _certificate(options).items()
    update = {field: asked.number(option, options[field], span) for field, (option, span) in taken}
    if material is None or None in update.values():
        return material
    made = material.model_copy(update=update)
    if made.yield_mpa >= made.tensile_mpa:
        wrong = f"yield {made.yield_mpa:g} is not below tensile strength {made.tensile_mpa:g}"
        asked.fault("--yield, --tensile", wrong, "give both from the certificate")
    return made


def _certificate(options: Options) -> Mapping[str, tuple[str, Span]]:
    """What of the material's row the options replace."""
    return {field: taken for field, taken in CERTIFICATE.items() if options[field] is not None}


def _give(result: Answer, printer: Printer, *, understood: str, certificate: bool, why: bool) -> int:
    record = result.as_json()
    record["findings"] = finding_records(result.findings)
    record["alternatives"] = [each.as_json() for each in result.alternatives]
    # The explanations, which few bends are asked for, are loaded only for those.
    reasons = import_module("flangewise.commands.bend_why") if why else None
    if reasons is not None and printer.fmt != "text":
        record["why"] = reasons.whys(result)

    def text(units: str) -> str:
        told = bend_text(result, understood=understood, certificate=certificate, units=units)
        return told if reasons is None else told + "\n" + reasons.why_text(result, units=units)

    return printer.give(record, text, result.findings)
