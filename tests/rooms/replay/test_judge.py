"""The judge against limits worked out by hand for plain blocks: sharp middle surface, thickness 1.5, V 12."""

import math

import pytest

from flangewise.replay import NumberedBend, SectionNumbers

from .judge import Judge, JudgedHit

# The middle surface keeps t/2 less the contact tolerance from every body.
DISC_MM = 0.70
APEX_MM = 0.75 * math.sqrt(2)


def channel_limit_mm(web_mm):
    """Longest leg of a channel: tip of the finished leg beside a tier of the stack, or under the next one."""
    tiers = ((10, 100), (30, 140), (60, math.inf))
    beside = (web_mm - math.sqrt(2) * (half + DISC_MM) for half, _ in tiers)
    under = (math.sqrt(2) * (above + APEX_MM - DISC_MM) - web_mm for _, above in tiers)
    return max(min(pair) for pair in zip(beside, under, strict=True))


@pytest.mark.parametrize(("web", "printed"), [(30, 14.868), (60, 44.868), (80, 61.931), (100, 56.584), (150, 64.157)])
def test_channel_leg_limit_by_formula(toy, web, printed):
    assert channel_limit_mm(web) == pytest.approx(printed, abs=2e-3)
    for off, free in ((-0.2, True), (0.2, False)):
        leg = printed + off
        judge = toy.judge(toy.sharp((leg, web, leg), (90.0, 90.0)), toy.bodies())
        assert judge.can_hit({1}, 2, start_behind=False) is free


def test_gooseneck_frees_the_channel_only_with_the_finished_leg_in_front(toy):
    section = toy.sharp((40.0, 30.0, 40.0), (90.0, 90.0))
    assert toy.feasible_orders(section) == []
    judge = toy.judge(section, toy.bodies(toy.GOOSENECK))
    for first, second in ((1, 2), (2, 1)):
        # The finished leg is in front when the other end lies behind.
        assert judge.can_hit({first}, second, start_behind=second == 1)
        assert not judge.can_hit({first}, second, start_behind=second == 2)


@pytest.mark.parametrize(("leg", "web", "free"), [(30, 20.5, 0), (30, 20.9, 2), (70, 60.5, 0), (70, 60.9, 2)])
def test_z_needs_the_flange_clear_of_die_or_bed(toy, leg, web, free):
    assert len(toy.feasible_orders(toy.sharp((leg, web, leg), (90.0, -90.0)))) == free


def test_z_of_unequal_flanges_has_one_order(toy):
    assert toy.feasible_orders(toy.sharp((70.0, 40.0, 30.0), (90.0, -90.0))) == [(2, 1)]


@pytest.mark.parametrize(("leg", "count"), [(20.5, 0), (21, 6), (34, 6), (35, 0)])
def test_hat_is_made_outer_before_inner(toy, leg, count):
    orders = toy.feasible_orders(toy.sharp((20.0, leg, 50.0, leg, 20.0), (-90.0, 90.0, 90.0, -90.0)))
    assert len(orders) == count
    assert all(order.index(1) < order.index(2) and order.index(4) < order.index(3) for order in orders)


def test_hat_on_a_narrow_tall_die_has_twice_the_orders(toy):
    section = toy.sharp((20.0, 30.0, 50.0, 30.0, 20.0), (-90.0, 90.0, 90.0, -90.0))
    assert len(toy.feasible_orders(section, toy.bodies(below=toy.die(8.0, 120.0)))) == 12


@pytest.mark.parametrize(("web", "count"), [(65, 0), (70, 0), (70.3, 6), (100, 6)])
def test_lipped_channel_needs_a_wide_web(toy, web, count):
    orders = toy.feasible_orders(toy.sharp((15.0, 40.0, float(web), 40.0, 15.0), (90.0,) * 4))
    assert len(orders) == count
    assert all(order.index(1) < order.index(2) and order.index(4) < order.index(3) for order in orders)


def test_closed_box_cannot_be_made(toy):
    assert toy.feasible_orders(toy.sharp((30.0, 40.0, 60.0, 40.0, 30.0), (90.0,) * 4)) == []


def test_spiral_is_made_inside_out(toy):
    assert toy.feasible_orders(toy.sharp((100.0, 80.0, 40.0, 12.0), (90.0,) * 3)) == [(3, 2, 1)]
    assert toy.feasible_orders(toy.sharp((60.0, 40.0, 25.0, 12.0), (90.0,) * 3)) == []


@pytest.mark.parametrize("count", [2, 3, 4])
def test_zigzag_grows_as_one_run(toy, count):
    turns = tuple(90.0 * (-1) ** bend for bend in range(count))
    orders = toy.feasible_orders(toy.sharp((60.0, *(70.0,) * (count - 1), 60.0), turns))
    assert len(orders) == 2 ** (count - 1)
    for order in orders:
        assert all(max(order[:made]) - min(order[:made]) == made - 1 for made in range(1, count + 1))


@pytest.mark.parametrize(("turn", "free"), [(95, True), (96.3, True), (96.5, False), (98, False)])
def test_acute_limit_is_the_tools_angle_and_the_contact_tolerance(toy, turn, free):
    assert bool(toy.feasible_orders(toy.sharp((40.0, 40.0), (float(turn),)))) is free


def test_self_collision_is_seen(toy):
    # A spiral of real radii whose inner flange is longer than the room it turns into.
    section = SectionNumbers((60.0, 20.0, 20.0, 26.0), (3.0,) * 3, (90.0,) * 3, (1.0,) * 3, 1.5)
    stack = toy.bodies(toy.outline((0, 0), (0.2, 1), (-0.2, 1))).stack("straight", "v12")
    hits = {bend: (JudgedHit(stack, 90.0, 1.0),) for bend in (1, 2, 3)}
    bare = Judge(section, {bend: (_without_ram(hit[0]),) for bend, hit in hits.items()}, step_deg=1.0)
    blind = Judge(section, {b: (_without_ram(h[0]),) for b, h in hits.items()}, step_deg=1.0, check_self=False)
    assert not bare.can_make((1, 2, 3), (True, True, True))
    assert blind.can_make((1, 2, 3), (True, True, True))


def _without_ram(hit):
    kept = tuple(solid for solid in hit.stack.solids if solid.name in ("die",))
    stack = type(hit.stack)(kept, "vee", hit.stack.opening_mm, hit.stack.shoulder_radius_mm)
    return JudgedHit(stack, hit.loaded_deg, hit.radius_mm)


def plates(toy):
    flat = toy.outline((-25, 0), (25, 0), (25, 60), (-25, 60))
    below = toy.outline((-25, -60), (25, -60), (25, 0), (-25, 0))
    tools = toy.bodies(flat, toy.ToolShape(below, 60.0, "flat"))
    return type(tools)({"straight": toy.ToolShape(flat, 60.0, "flat")}, tools.dies, tools.ram, tools.bed).stack(
        "straight", "v12"
    )


@pytest.mark.parametrize(("flange", "free"), [(20.0, True), (70.0, False)])
def test_a_hem_is_pressed_flat_unless_a_hanging_flange_strikes_the_bed(toy, flange, free):
    # A leg of 40 from the fold carries a flange that hangs behind the die block (25 wide), over the bed (60 wide).
    section = SectionNumbers(
        (12.0, 40.0, flange),
        (1.5, 2.5),
        (180.0, -90.0),
        (0.0, 0.5),
        1.0,
        (NumberedBend(1, "hem", (0,)), NumberedBend(2, "bend", (1,))),
    )
    acute = toy.bodies(toy.outline((0, 0), (4, 20), (4, 100), (-4, 100), (-4, 20)), toy.die(8.0, 60.0))
    vee = acute.stack("straight", "v12")
    hits = {1: (_free_pre_bend(vee), JudgedHit(plates(toy), 180.0, 0.0)), 2: (JudgedHit(vee, 90.0, 0.5),)}
    judge = Judge(section, hits, step_deg=1.0)
    assert judge.can_hit({2}, 1, start_behind=False) is free


def _free_pre_bend(vee):
    """A pre-bend in the air: nothing in the way, so that the press alone decides."""
    stack = type(vee)((), "vee", vee.opening_mm, vee.shoulder_radius_mm)
    return JudgedHit(stack, 150.0, 1.0, finished_deg=150.0)
