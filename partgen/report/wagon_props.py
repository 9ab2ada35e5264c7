"""A wagon as things to look at, and how its bogies and drawbars turn where it stands on a curve."""

from cmath import exp
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from trimesh import Trimesh

from partgen.describe.cup_table import Cup
from partgen.describe.wagon_tables import Wheelset
from partgen.dynamics.survey import pairs
from partgen.formulas.wheel import attack_angle, pivot_radius
from partgen.motion.coupled import pair
from partgen.motion.path import Path, arc
from partgen.parts import record_of
from partgen.plan.body.fittings import LAMP
from partgen.plan.body.light_strip import THICK, WIDE
from partgen.plan.body.mounts import STRAP, STRAP_BAND
from partgen.plan.body.pane import PANE
from partgen.plan.fastening import STRAP_DEEP
from partgen.plan.item import Item, Place
from partgen.plan.running_gear.ballast import CELL_CORNER
from partgen.plan.small_things import LAMP_LONG, axles, fuses, magnets, on_axles, rubber_rings
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import axle_length
from partgen.report import props
from partgen.report.scene import Prop
from partgen.solids.built import Built, stand

STRIP, LAMP_NAME = "light-strip", "lamp"
ROD, RING, BEARING, SHIM, TUBE = "rod", "rubber-ring", "bearing", "shim-ring", "metal-tube"
FUSE = 28.0, 6.0        # mm: length and width of a holder for a fuse of 5 x 20 mm (IEC 60127-2; the holder from memory)
BANDS = 14              # of fading light down a side that a strip lights
FADE = 0.45             # of the wall's height in which that light falls to a third
STRONGEST = 0.92        # opacity of the light where it is brightest
AROUND = 0.2            # of a cell left free of what is drawn in it, so that no two faces coincide
SKIN = 0.06             # mm of air between wall and light


def wagon_props(built: Built, plan: WagonPlan) -> list[Prop]:
    """Return everything of a wagon in its axes: printed parts, wheelsets, magnets, ballast, modules, lights, cups."""
    printed = [printed_prop(item, mesh) for item, _, mesh in built.standing(plan)]
    return [*printed, *wheels_props(plan), *_magnets(plan), *_ballast(plan), *_modules(plan), *_mounts(plan),
            *_panes(plan), *_strips(plan), *_lamps(plan), *_fuses(plan), *_cups(plan)]


def printed_prop(item: Item, mesh: Trimesh) -> Prop:
    """Return the mesh of a printed part as a prop of its name and colour."""
    return Prop.of(item.name, mesh, record_of(item.part).colour)


def loose_props(built: Built, plan: WagonPlan) -> Iterator[Prop]:
    """Yield a loose part over every place that takes one: the first where there are several kinds."""
    taken: set[Place] = set()
    for item in [item for item in plan.items if item.loose]:
        for place in [place for place in item.places if place not in taken]:
            taken.add(place)
            yield printed_prop(item, built.meshes[plan.name, item.name]).moved(stand(place))


def wheels_props(plan: WagonPlan) -> Iterator[Prop]:
    """Yield a wagon's bought wheels or rods, and what is on its axles besides."""
    wheels = plan.wheelset
    things: tuple[Prop, ...] = wheelset_props(wheels)
    if wheel := plan.gear.wheel:
        things = (props.axle(wheels.axle_diameter, axle_length(wheels), wheels.ends == "pin", ROD),)
        yield from (props.rubber_ring(wheel.seat, wheel.cord).moved(stand(Place(*at))) for at in rubber_rings(plan))
    axle = wheels.axle_diameter
    rings = {"shim ring": (SHIM, "washer", axle, wheels.inner_ring, plan.gear.clip.shim),
             "metal tube": (TUBE, "axle", axle, wheels.tube_diameter, plan.gear.carrier_width)}
    for what, _, at in on_axles(plan):
        on = props.ring(*rings[what]) if what in rings else props.bearing(axle, wheels.bearing_outer,
                                                                          wheels.bearing_width)
        yield on.moved(stand(Place(*at)))
    for at in axles(plan):
        yield from (thing.moved(stand(Place(*at))) for thing in things)


def wheelset_props(wheels: Wheelset) -> tuple[Prop, Prop, Prop]:
    """Return two wheels and their axle as bought, about the axle's middle."""
    return props.wheelset(wheels.tread_diameter, wheels.flange_diameter, wheels.flange_thickness, wheels.back_to_back,
                          wheels.width, wheels.axle_diameter, axle_length(wheels), wheels.ends == "pin")


def _magnets(plan: WagonPlan) -> Iterator[Prop]:
    coupler = plan.coupler
    for *_, at in magnets(plan):
        yield props.magnet(coupler.magnet_diameter, coupler.magnet_length).moved(stand(Place(*at)))


def _modules(plan: WagonPlan) -> Iterator[Prop]:
    for placed in plan.layout.placed:
        yield props.module((placed.length, placed.width, placed.height), placed.name).moved(
            stand(Place(placed.x, placed.y, plan.floor_z + placed.z)))
    for one in plan.hung:
        yield props.module(one.size, one.called).moved(stand(Place(one.way.x, 0.0, one.face)))


def _ballast(plan: WagonPlan) -> Iterator[Prop]:
    """Yield the ballast in each cell of the frame, as high as it stands there."""
    ballast = plan.frame.ballast
    for (x0, x1), (y0, y1) in ballast.used:
        size = x1 - x0 - AROUND, y1 - y0 - AROUND, ballast.filled
        yield props.thing("ballast", props.rounded_box(size, CELL_CORNER, middle=(
            (x0 + x1) / 2, (y0 + y1) / 2, plan.frame.top - ballast.depth + ballast.filled / 2)))


def _mounts(plan: WagonPlan) -> Iterator[Prop]:
    """Yield the straps round their modules and through the floor, and the pads of tape and felt."""
    for strap in plan.body.fittings.straps:
        high = strap.height + strap.floor - STRAP_DEEP
        yield props.strap(strap.apart - STRAP_BAND, STRAP, high, STRAP_BAND).moved(
            stand(Place(strap.x, strap.y, plan.body.bottom + STRAP_DEEP - STRAP_BAND, 0.0 if strap.turned else 90.0)))
    for pad in plan.body.fittings.pads:
        size = pad.length, pad.width, pad.high - pad.low
        yield props.thing(pad.what, props.rounded_box(size, 0.3, 1)).moved(
            stand(Place(pad.x, pad.y, plan.floor_z + (pad.low + pad.high) / 2)))


def _panes(plan: WagonPlan) -> Iterator[Prop]:
    if plan.lid:
        z = plan.lid.bottom + plan.lid.recess - PANE
        for sheet in (pane.sheet for pane in plan.lid.panes):
            yield props.pane(sheet.length, sheet.width, PANE).moved(stand(Place(sheet.x, sheet.y, z)))


def _strips(plan: WagonPlan) -> Iterator[Prop]:
    """Yield both light strips in their grooves."""
    if plan.lid and plan.lid.strip:
        strip, z = plan.lid.strip, plan.lid.bottom + plan.lid.strip.depth - THICK / 2
        for side in (1, -1):
            yield props.light_bar((strip.strip, WIDE, THICK), (0.0, side * strip.middle, z))


def _lamps(plan: WagonPlan) -> Iterator[Prop]:
    """Yield the lamps in their holes, tips outwards."""
    for x, wall in plan.body.fittings.lamps:
        y, turn = (plan.width / 2, 0.0) if wall == "left" else (-plan.width / 2, 180.0)
        yield props.lamp(LAMP, LAMP_LONG).moved(
            stand(Place(x, y, plan.floor_z + plan.body.fittings.lamp_level, turn)))


def _fuses(plan: WagonPlan) -> Iterator[Prop]:
    """Yield a fuse for every battery, lying on it."""
    for one in fuses(plan):
        yield props.fuse(*FUSE).moved(stand(Place(one.x, one.y, plan.floor_z + one.box[2][1])))


def washes(plan: WagonPlan) -> Iterator[Prop]:
    """Yield the light on the sides of a wagon whose strips are on, as clear sheets that fade downwards; without
    thickness, so that no edge of one is drawn."""
    if not (plan.lid and plan.lid.strip):
        return
    high, half = plan.body.top - plan.body.bottom, plan.length / 2 - plan.body.corner
    for top, low in pairwise(plan.body.top - high * np.linspace(0.0, 1.0, BANDS + 1)):
        opacity = STRONGEST * float(np.exp((low + top - 2 * plan.body.top) / 2 / (FADE * high)))
        for side in (1, -1):
            corners = np.array([(x * half, side * (plan.width / 2 + SKIN), z)
                                for x, z in ((-side, top), (side, top), (side, low), (-side, low))])
            yield props.thing("glow", Trimesh(corners, [(0, 1, 2), (0, 2, 3)], process=False), opacity=opacity)


def _cups(plan: WagonPlan) -> Iterator[Prop]:
    for seat, cup in plan.cups:
        for prop in cup_props(cup):
            yield prop.moved(stand(Place(seat.x, seat.y, plan.deck_z, seat.turn)))


def cup_props(cup: Cup) -> tuple[Prop, Prop]:
    """Return a cup standing at the origin, and the drink in it."""
    return props.cup(cup.profile, cup.inside, cup.fill, cup.handle_length if cup.handle else 0.0)


# ---- on a curve


def chord_pose(radius: float, wheelbase: float, s: float, bogie_wheelbase: float = 0.0) -> np.ndarray:
    """Where a wagon stands whose axles are all on the centre line, 4 x 4 from wagon to scene axes.

    The centre line leaves the origin along +x and turns left about (0, radius); s is the arc length [mm] at
    which the wagon's midpoint stands. The wagon is a chord of the circle: its midpoint lies sqrt(R^2 - W^2 / 4)
    from the centre, on bogies of wheelbase p, wheelbase then being from pivot to pivot,
    sqrt(R^2 - p^2 / 4 - W^2 / 4). All [mm], neither chord longer than the circle is wide.
    """
    angle, apothem = s / radius, np.sqrt(radius**2 - bogie_wheelbase**2 / 4 - wheelbase**2 / 4)
    return stand(Place(apothem * np.sin(angle), radius - apothem * np.cos(angle), yaw=np.degrees(angle)))


def coupled_on_curve(train: TrainPlan, radius: float) -> tuple[list[float], list[tuple[float, float]]]:
    """Return where the wagons of a pulled train stand round a curve of `radius` [mm] to the left, stations of their
    midpoints about the train's middle [mm], and how far the drawbars of each are swung against what they turn on, front
    and rear [deg]."""
    line, stations = Path((arc(radius, 350, "left"),)), [0.0]
    swings = np.zeros((len(train.wagons), 2))
    for k, neighbours in enumerate(list(pairs(train))[1:]):
        at = pair(line, neighbours.link, np.array(0.75 * line.length))
        stations.append(stations[-1] + radius * float(np.angle(at.rear.ahead / at.front.ahead)))
        swings[k, 1] = np.degrees(np.angle(at.ahead / at.front_holds))
        swings[k + 1, 0] = np.degrees(np.angle(at.ahead / at.rear_holds))
    middle = (stations[0] + stations[-1]) / 2
    return [station - middle for station in stations], [(front, rear) for front, rear in swings]


def with_bogies_turned(things: Sequence[Prop], plan: WagonPlan, radius: float) -> list[Prop]:
    """Return a wagon's props with its bogies turned as a curve of `radius` [mm] to the left turns them."""
    if not plan.gear.bogie_wheelbase:
        return list(things)
    turn = float(np.degrees(attack_angle(plan.base, pivot_radius(radius, plan.gear.bogie_wheelbase))))
    rolling = {"wheel", "axle", ROD, RING, BEARING, SHIM, TUBE}
    on_arms = _drawbars(plan) if plan.gear.arm else set()
    return _turned(things, {*_swinging(plan, "bogie"), *rolling, *on_arms}, plan.base / 2, (turn, -turn))


def with_drawbars_swung(things: Sequence[Prop], plan: WagonPlan, swings: tuple[float, float], radius: float
                        ) -> list[Prop]:
    """Return a wagon's props, its bogies turned as that `radius` [mm] turns them, with its drawbars turned about their
    pivots by `swings` against what they turn on, front and rear [deg]."""
    if not plan.gear.arm:
        return _turned(things, _drawbars(plan), plan.frame.seats[0].x, swings)
    turn = float(attack_angle(plan.base, pivot_radius(radius, plan.gear.bogie_wheelbase)))
    out = plan.gear.arm.seat.x * exp(1j * turn)
    return _turned(things, _drawbars(plan), plan.base / 2 + out.real, swings, out.imag)


def _drawbars(plan: WagonPlan) -> set[str]:
    return {*_swinging(plan, "drawbar"), "magnet"}


def _swinging(plan: WagonPlan, what: str) -> set[str]:
    """Return the names of the parts that turn with a bogie or a drawbar."""
    return {item.name for item in plan.items if record_of(item.part).swings == what}


def _turned(things: Sequence[Prop], names: set[str], x: float, angles: tuple[float, float], y: float = 0.0
            ) -> list[Prop]:
    """Return the props, those called one of `names` turned about their end's upright at (x, y) or (-x, y) [mm], by the
    front's and the rear's angle [deg]."""
    front, rear = (stand(Place(end * x, y, yaw=angle)) @ stand(Place(-end * x, -y)) for end, angle in
                   zip((1, -1), angles, strict=True))
    return [prop.moved(front if prop.placed()[:, 0].mean() > 0 else rear) if prop.name in names else prop
            for prop in things]
