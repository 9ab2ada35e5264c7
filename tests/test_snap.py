"""Snaps: forces and strains by finite elements on what is drawn, and over every printer."""

from functools import cache
from math import pi

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import CUPS, cured, plan_of
from shapely import LineString, Point, Polygon
from shapely.affinity import scale
from skfem import Basis, BilinearForm, ElementHex2, ElementVector, MeshHex, condense, solve
from skfem.helpers import ddot, sym_grad, trace
from springs import gives, strained

from partgen import parts
from partgen.checks.on_plan import every, run
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import diameter_at
from partgen.finding import worst
from partgen.formulas.snap import (
    arm_force,
)
from partgen.plan.body.lid_clip import BLOCK, TRAVEL
from partgen.plan.hardware import FRICTION, PLASTICS, POISSON
from partgen.plan.running_gear.axle_clip import FLARE, clip_plan, least_web, widest
from partgen.plan.train import resolve
from partgen.solids.mesh import mesh_of

# Finite elements on the sections of what is drawn

TRUE = {"peg_offset": 0.0}     # what is drawn is what bends
WAGONS = {"toy": {}, "16.5": {"gauge": "16.5"}, "45": {"gauge": "45"}, "PETG": {"printer": {"material": "PETG"}},
          "wide lines": {"printer": {"line_width": 0.6, "nozzle": 0.6}},
          "tube": {"wheelset": {"ends": "tube", "tube_diameter": 5}},
          "bogie": {"wish": {"wheelbase": 40, "pivot_spacing": 110}}}


@cache
def wagon(name):
    tables = dict(WAGONS[name])
    if gauge := tables.pop("gauge", ""):
        tables |= {"track": {"use": f"gauge-{gauge}"}, "wheelset": {"use": f"gauge-{gauge}"},
                   "coupler": {"height": 20 if gauge == "45" else 9, "magnet_diameter": 3}}
    if "wheelset" in tables:
        tables["wheelset"] = {"standard": {"use": "toy-37.5"} | tables["wheelset"]}
    return plan_of({"wheelbase": 80} | tables.pop("wish", {}), **tables | {"printer": TRUE | tables.get("printer", {})})


@cache
def meshed(item):
    return mesh_of(parts.build(item.part, item.plan))


def carrier(plan):
    return next(item for item in plan.items if item.part in ("axle-holder", "bogie"))


def pieces(item, normal, at):
    """Return the pieces of a part's section at `at` [mm] along an axis, as shapely polygons of the other two."""
    cut = meshed(item).section([float(axis == normal) for axis in "xyz"], [at * (axis == normal) for axis in "xyz"])
    keep = [k for k, axis in enumerate("xyz") if axis != normal]
    return [Polygon(loop[:, keep]) for loop in cut.discrete]


def section(item, normal, at):
    return max(pieces(item, normal, at), key=lambda piece: piece.area)


def right_half(profile, middle):
    x0, y0, x1, y1 = profile.bounds
    return profile.intersection(Polygon([(middle, y0 - 1), (x1 + 1, y0 - 1), (x1 + 1, y1 + 1), (middle, y1 + 1)]))


def of_lips(plan, clip, item):
    """Return the push in and the pull out [N] of an axle by finite elements: the lips' edge is pushed along the normal
    and the friction at the place where it touches the axle, in and out, until the arm is as far aside."""
    middle = clip_middle(plan)
    half = right_half(section(item, "y", 0.2 * clip.width), middle)
    at, top = (middle + clip.opening / 2, -clip.throat), half.bounds[3]
    give = gives(
        half, lambda p: np.hypot(p[0] - at[0], p[1] - at[1]) < 0.15, lambda p: p[1] > top - 1.0,
        lambda p: np.abs(p[0] - middle) < 1e-6, *strained(PLASTICS[clip.material].modulus, POISSON),
        lambda p: clip.width - 2 * np.clip(np.minimum(p[1] - clip.pad, clip.over - p[1]), 0, None))

    def most(friction, sense, flare):
        way = np.linspace(0.01, 1, 100)
        slope = np.minimum(np.arccos(np.minimum(clip.share + (1 - clip.share) * way, 1)), flare)
        rise = (friction + np.tan(slope)) / (1 - friction * np.tan(slope))
        return (2 * rise * way * clip.travel / (give[0, 0] + sense * rise * give[1, 0])).max()

    return most(FRICTION[1], 1, FLARE), most(FRICTION[0], -1, pi / 2)


def clip_middle(plan):
    return plan.gear.bogie.axle_x if plan.gear.bogie_wheelbase else 0.0


@pytest.mark.slow
@pytest.mark.parametrize("name", WAGONS)
def test_axle_goes_in_and_out_with_the_force_that_finite_elements_say(name):
    plan = wagon(name)
    clip = plan.gear.clip
    inward, outward = of_lips(plan, clip, carrier(plan))
    assert clip.insertion == pytest.approx(inward, rel=0.16)
    assert clip.retention == pytest.approx(outward, rel=0.1)


def pushed_at_its_ends(clip, ends):
    """Stiffness [N/mm] of half an arm as bricks, held fast at its root, pushed over `ends` [mm] of its lower edge."""
    half, inner = clip.width / 2, 1 - ends / (clip.width / 2)
    rows = [*np.linspace(0, inner, 7), *np.linspace(inner, 1, 3)[1:]]
    mesh = MeshHex.init_tensor(np.linspace(0, clip.arm, 2), np.array(rows), np.linspace(0, clip.length, 5))
    points = mesh.p.copy()
    points[1] *= half - np.array([clip.back(clip.root - way) for way in points[2]])
    basis = Basis(MeshHex(points, mesh.t), ElementVector(ElementHex2()), intorder=4)
    modulus = PLASTICS[clip.material].modulus
    mu, lame = modulus / 2 / (1 + POISSON), modulus * POISSON / (1 + POISSON) / (1 - 2 * POISSON)

    @BilinearForm
    def energy(u, v, w):
        return 2 * mu * ddot(sym_grad(u), sym_grad(v)) + lame * trace(sym_grad(u)) * trace(sym_grad(v))

    x, y, _ = places = basis.doflocs
    edge = basis.get_dofs(lambda p: p[2] > clip.length - 1e-6).all(["u^1"])
    pushed = edge[(x[edge] < 1e-6) & (y[edge] > half - ends - 1e-6)]
    fast = [basis.get_dofs(lambda p: p[2] < 1e-6).all(), basis.get_dofs(lambda p: p[1] < 1e-6).all(["u^2"]), pushed]
    matrix, shift = energy.assemble(basis), np.zeros(places.shape[1])
    shift[pushed] = 1.0
    return 2 * (matrix @ solve(*condense(matrix, x=shift, D=np.unique(np.concatenate(fast)))))[pushed].sum()


@pytest.mark.parametrize("outer, wide, mass, material", [(7, 3, 14, "PLA"), (7, 3, 70, "PLA"), (6, 2.5, 14, "PETG"),
                                                         (10, 4, 14, "ABS")])
def test_bearings_push_the_ends_of_an_arm_alone(outer, wide, mass, material):
    """All along its edge the arm would be half as stiff again; what is left of it holds the wheelset."""
    wheels = f"ends = 'bearing'\nbearing_outer = {outer}\nbearing_width = {wide}\nmass = {mass}"
    train = resolve(described(wheelset=wheels, printer=f"material = '{material}'\npeg_offset = 0"))
    clip = train.wagons[0].gear.clip
    stiff = pushed_at_its_ends(clip, clip.bearing - clip.proud)
    assert stiff == pytest.approx(arm_force(PLASTICS[material].plate, clip.felt, clip.arm, clip.length, 1.0), rel=0.15)
    assert replace(clip, bearing=0.0).felt > 1.4 * clip.felt
    assert worst(f for f in run(train) if f.check == "snap-force") == "pass"


@pytest.mark.slow
@pytest.mark.parametrize("name", WAGONS)
def test_wheels_rub_on_the_pads_alone(name):
    """Of the faces towards the wheels, what a wheel's back or flange can reach lies near the axle; it shifts 0.8 mm."""
    plan = wagon(name)
    clip, item, wheels = plan.gear.clip, carrier(plan), plan.wheelset
    axle = Point(clip_middle(plan), 0)
    reached = axle.buffer(wheels.flange_diameter / 2 + 0.1, quad_segs=64)
    for side in (1, -1):
        faces = [piece.intersection(reached) for piece in pieces(item, "y", side * (clip.width / 2 - 0.02))]
        assert max(face.hausdorff_distance(axle) for face in faces if face.area > 1e-3) <= clip.rub
    assert clip.rub < 0.65 * wheels.flange_diameter / 2 and clip.width + clip.end_play == wheels.back_to_back


@pytest.mark.slow
@pytest.mark.parametrize("name", ["toy", "PETG", "wide lines"])
def test_lid_goes_on_and_off_with_the_force_that_finite_elements_say(name):
    """The clip's arm in its own plane, its nose pushed back; the socket holds the block. 45 degrees and friction f turn
    a force aside into (1 + f)/(1 - f) of it along, at each of four noses."""
    plan = plan_of({"modules": ["tray"], "length": 130}, printer=TRUE | WAGONS[name].get("printer", {}))
    clips, item = plan.lid.clips, next(item for item in plan.items if item.part == "lid-clip")
    clip = clips.clip
    give = gives(
        right_half(scale(section(item, "z", 0.0).buffer(0), -1, 1, origin=(0, 0)), -99.0),
        lambda p: (p[0] < -clip.reach + 0.05) & (np.abs(p[1] - clip.nose) < 1.0),
        lambda p: (p[0] > clips.socket[0]) & (np.abs(p[1]) < BLOCK / 2 + 0.1), lambda p: p[0] > 99,
        PLASTICS[clip.material].modulus, POISSON, lambda p: clip.height + 0 * p[0])
    aside = TRAVEL / give[0, 0]
    assert clip.force == pytest.approx(aside, rel=0.12)
    for force, friction in ((clips.insertion, FRICTION[1]), (clips.retention, FRICTION[0])):
        assert force == pytest.approx(4 * aside * (1 + friction) / (1 - friction), rel=0.12)


@pytest.mark.slow
@pytest.mark.parametrize("spread", [-0.1, 0.4])
def test_arms_are_judged_as_thick_as_they_come_out(spread):
    """Sections of what is drawn, grown by half of peg_offset all round by shapely: what bends, and a nose's way to its
    bead, which by hand is 0.7 less 0.15 mm; forces stay as they are, for arms are drawn as much thinner."""
    def wagon_of(offset):
        return plan_of({"wheelbase": 80, "modules": ["tray"], "length": 130},
                       printer={"line_width": 0.4, "peg_offset": offset, "bore_offset": 0.1})

    plan, plain = wagon_of(spread), wagon_of(0.0)
    clips, item = plan.lid.clips, next(item for item in plan.items if item.part == "lid-clip")
    printed = section(item, "z", 0.0).buffer(spread / 2, join_style="mitre")
    level = BLOCK / 2 + clips.clip.arm / 2
    arm = printed.intersection(LineString([(-20, level), (20, level)])).length
    axle, half = plan.gear.clip, right_half(section(carrier(plan), "y", 0.0), 0.0).buffer(spread / 2)
    hung = half.intersection(LineString([(axle.inner - axle.stem / 8, axle.root / 2), (20, axle.root / 2)])).length
    assert clips.clip.printed == pytest.approx(arm, abs=0.01) and axle.printed == pytest.approx(hung, abs=0.02)
    assert min(clips.clip.thickness, axle.arm) >= 0.8 - 1e-9
    gap = plan.lid.rim.gap - 0.1 / 2 - spread / 2 - clips.clip.reach
    assert gap == pytest.approx(0.15) and TRAVEL == pytest.approx(0.55)
    assert clips.clip.force == pytest.approx(plain.lid.clips.clip.force, rel=0.03)
    assert axle.insertion == pytest.approx(plain.gear.clip.insertion, rel=0.03)


def test_cheeks_and_rings_are_judged_as_thick_as_they_come_out():
    """Drawn 0.3 mm thinner, which the printer adds, they give as they do where it adds nothing."""
    slim = CUPS | {"slim": dict(profile=[[0, 40], [60, 52]], mass=60, wall=2.5, fill=30)}
    for spread in (0.0, 0.3):
        plan = plan_of({"wheelbase": 80, "cups": ["tea"], "inserts": ["slim"], "width": 100}, cup=slim,
                       wheelset={"standard": {"use": "toy-37.5", "ends": "pin", "over_points": 60}},
                       printer={"peg_offset": spread, "bore_offset": 0.1})
        cups, ring, seat = plan.gear.clip, plan.inserts[0][0], plan.cups[0][0]
        thin = replace(cups, thick=cups.thick + spread, spread=0.0), replace(ring, spread=0.0)
        assert cups.stiffest == thin[0].stiffest and cups.strain == thin[0].strain
        assert (ring.pinch > thin[1].pinch) == (spread > 0) and ring.printed == pytest.approx(ring.thick + spread)
        # Both are printed: what a sliding fit leaves is 0.35 mm all the same.
        assert diameter_at(seat.profile, 10) - diameter_at(ring.outer, 10) - spread - 0.1 == pytest.approx(0.35)


def test_arms_no_thinner_than_two_lines_press_as_hard_as_they_come_out():
    """Two lines of 0.9 mm that spread by 0.6 mm are 2.4 mm thick: such arms are made longer."""
    plans = [plan_of({"wheelbase": 80}, printer={"line_width": 0.9, "nozzle": 0.8, "layer": 0.3, "peg_offset": offset})
             for offset in (0.0, 0.6)]
    before, after = (plan.gear.clip for plan in plans)
    assert after.arm == pytest.approx(1.8) and after.printed == pytest.approx(2.4) and after.length > before.length


@pytest.mark.parametrize("seat, slimmer", [("tea", [[0, 40], [60, 52]]), ("mug", [[0, 56], [80, 70]])])
def test_insert_is_pinched_with_the_force_that_finite_elements_say(seat, slimmer):
    """Half of the ring half way up, held opposite the slit; the force across the slit closes it by both halves' way."""
    cups = CUPS | {"slim": dict(profile=slimmer, mass=60, wall=2.5, fill=30)}
    ring = plan_of({"cups": [seat], "inserts": ["slim"], "width": 100}, cup=cups, printer=TRUE).inserts[0][0]
    inner, outer = ring.radius - ring.thick / 2, ring.radius + ring.thick / 2
    half = Point(0, 0).buffer(outer, quad_segs=90) - Point(0, 0).buffer(inner, quad_segs=90)
    half = right_half(half, 0.0)
    give = gives(half, lambda p: (p[0] < 1e-6) & (p[1] > 0), lambda p: p[0] < -1, lambda p: (p[0] < 1e-6) & (p[1] < 0),
                 PLASTICS["PLA"].modulus, POISSON, lambda p: ring.height + 0 * p[0], 0.4, pinned=(0.0, -ring.radius))
    assert ring.pinch == pytest.approx(ring.closing / 2 / give[0, 0], rel=0.06)
    assert ring.retention == pytest.approx(ring.pinch * 2 * pi * 1.15 / 0.85)


@pytest.mark.parametrize("cups, inserts", [("mug", "mid"), ("tea", "near"), ("mug", "tiny")])
def test_a_soft_rings_bead_is_broader_and_a_stiff_ones_narrower(cups, inserts):
    """A soft one would come out too easily, a stiff one could not be pinched; the seat's groove takes the bead."""
    more = {"mid": [[0, 56], [80, 70]], "near": [[0, 40.5], [60, 53]], "tiny": [[0, 24], [45, 30]]}
    plan = plan_of({"cups": [cups], "inserts": [inserts], "width": 110},
                   cup=CUPS | {name: dict(profile=one, mass=60, wall=2.5, fill=20) for name, one in more.items()})
    ring, seat = plan.inserts[0][0], plan.cups[0][0]
    assert {"mid": ring.bead == 0.5, "near": ring.retention == pytest.approx(7.0) and 0.5 < ring.bead < 0.8,
            "tiny": ring.pinch == pytest.approx(30.0) and ring.bead < 0.5}[inserts]
    assert seat.groove == (ring.bead_height, ring.bead) and ring.slit == pytest.approx(2 * pi * ring.bead + 1.0)
    assert ring.pinch <= 30.0 + 1e-9


def test_a_seats_groove_takes_the_broadest_bead_of_its_inserts():
    more = {"mid": [[0, 56], [80, 70]], "tiny": [[0, 24], [45, 30]]}
    plan = plan_of({"cups": ["mug"], "inserts": ["mid", "tiny"], "width": 110},
                   cup=CUPS | {name: dict(profile=one, mass=60, wall=2.5, fill=20) for name, one in more.items()})
    broad, narrow = (ring.bead for ring, _ in plan.inserts)
    assert plan.cups[0][0].groove[1] == broad > narrow


# What the plan makes of any printer

@cache
def wheels_of(gauge):
    return plan_of({"wheelbase": 80}, wheelset={"standard": {"use": gauge}}, track={"use": gauge}).wheelset


@settings(max_examples=60)
@given(gauge=st.sampled_from(["gauge-16.5", "gauge-22.5", "gauge-32", "gauge-45"]), line=st.floats(0.25, 0.6),
       share=st.floats(0.86, 0.96), material=st.sampled_from(sorted(PLASTICS)), bogie=st.booleans(),
       higher=st.floats(0, 6))
def test_whatever_prints_an_axle_clip_a_thumb_presses_it_and_it_holds(gauge, line, share, material, bogie, higher):
    wheels = wheels_of(gauge)
    printer = Printer(nozzle=line / 1.1, line_width=line, layer=0.4 * line, snap_share=share, material=material)
    least, flange = least_web(wheels, printer), wheels.flange_diameter / 2
    under = max(flange + 1.2 - 3.0, least) + higher
    clip = clip_plan(wheels, printer, under, under + 3.0, np.inf if bogie else flange + 0.5)
    assert clip.insertion <= 40 and clip.retention >= max(5, 10 * wheels.mass * 9.80665e-3)
    assert clip.strain <= PLASTICS[material].permissible(0.7) and 2 * line - 1e-9 <= clip.arm <= 2.4
    assert clip.root <= under - 1.0 + 1e-9 and widest(wheels, printer) >= clip.tip


# The checks

def of(check, **lines):
    return [f for f in run(resolve(described(**lines))) if f.check == check]


def test_lid_clip_too_short_for_its_plastic_is_refused_and_a_longer_body_helps():
    """So short a body has no room for its axles either."""
    coarse = {"printer": "nozzle = 0.8\nline_width = 0.9\nlayer = 0.3"}
    short = coarse | {"wagon": "modules = ['box']\ncups = ['tea']\nlength = 65"}
    failing, = (f for f in every(resolve(described(**short)), only={"snap-strain"}) if f.verdict == "fail"
                and f.check == "snap-strain")
    assert str(failing.subject) == "one/lid-clip" and failing.limit == pytest.approx(0.4 * 0.025)
    longer = coarse | {"wagon": "modules = ['box']\ncups = ['tea']\nlength = 130"}
    assert worst(of("snap-strain", **longer)) == worst(of("snap-force", **longer)) == "pass"


def test_a_clip_too_hard_for_a_thumb_is_refused_and_the_cure_helps():
    """Lips that open hardly at all hold a heavy wheelset by so stiff arms that friction makes them hard to open."""
    hard = {"wheelset": "mass = 90", "printer": "snap_share = 0.98"}
    push, hold = of("snap-force", **hard)
    assert (push.limit, push.sense, push.verdict) == (40, "max", "fail")
    assert (hold.limit, hold.sense) == (pytest.approx(10 * 0.09 * 9.80665), "min")
    share = cured(resolve(described(**hard)), "snap-force")["printer.snap_share"]
    assert worst(of("snap-force", **hard | {"printer": f"snap_share = {share}"})) == "pass"


def test_a_heavy_wheelset_is_held_by_ten_times_its_weight():
    heavy = of("snap-force", wheelset="mass = 250")
    assert heavy[1].limit == pytest.approx(10 * 0.25 * 9.80665)
    lighter = cured(resolve(described(wheelset="mass = 250")), "snap-force")["wheelset.standard.mass"]
    assert worst(of("snap-force", wheelset=f"mass = {lighter}")) == "pass"
