"""What is printed for the track, as things to look at where they are used: on rails, an axle, a curve, a cup."""

from collections.abc import Iterable, Iterator
from math import degrees

import numpy as np
from msgspec.structs import replace

from partgen.describe.description import Description
from partgen.plan.fill_gauge import PLATE, FillGaugePlan
from partgen.plan.item import Item, Place
from partgen.plan.trackside import BACK, LUG, TAPE, GaugePlan, MarkerPlan, TemplatePlan
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import JigPlan
from partgen.report import props
from partgen.report.scene import Prop
from partgen.report.wagon_props import cup_props, printed_prop, wheelset_props
from partgen.solids.built import Built, stand

SLAB = 12.0             # mm of a locomotive, over the face under its end
SEEN = 120.0            # mm of track
STRAIGHT = 1e5          # mm: radius of a track that looks straight
APART = 1.4             # from one wheelset or cup to the next, in its own diameter
DOWN = np.array([[0.0, 0, -1, 0], [1, 0, 0, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
"""Sets a lying gauge on edge across the track: its x to the left, its upper side (+y) down, its middle over y = 0."""
ON_EDGE = np.array([[1.0, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0], [0, 0, 0, 1]])
"""Sets a lying comb on edge: its x across the cup, its y upwards."""


def track_props(built: Built) -> list[Prop]:
    """Return every part that is printed for the track where it is used, with rails and sleepers of a straight piece, a
    curve, wheelsets and cups; each step's picture takes its own of them."""
    description, beside = built.train.description, built.train.trackside
    track = description.track
    straight, bent = (props.track_arc(track.gauge, radius, -turn, turn, track.rail_head, track.rail_height)
                      for radius in (STRAIGHT, track.min_radius) for turn in (degrees(SEEN / 2 / radius),))
    used, things = _places(description, beside.items)
    printed = (printed_prop(item, built.meshes[beside.name, item.name]).moved(used[item.name]) for item in beside.items)
    return [*printed, *_head(built), *(replace(prop, in_frame=True) for prop in straight),
            *(replace(prop, name="curve") for prop in bent), *things]


def _head(built: Built) -> Iterator[Prop]:
    """Yield the adaptor with drawbar and magnets under the locomotive's rear end, seen as a block."""
    if head := built.train.head:
        loco, plan, bar = built.train.description.train.locomotive, head.plan, head.bar
        block = (min(loco.length / 2, 3 * plan.length), loco.width, SLAB)
        middle = plan.end - block[0] / 2, 0.0, head.described.under + block[2] / 2
        yield props.thing("locomotive", props.rounded_box(block, 2.0, middle=middle))
        for item in head.items:
            yield from (printed_prop(item, built.meshes[head.name, item.name]).moved(stand(place))
                        for place in item.places)
        coupler = built.train.description.coupler
        yield from (props.magnet(coupler.magnet_diameter, coupler.magnet_length).moved(
            stand(Place(bar.magnet_x, y, head.coupling.height))) for y in bar.pockets)


def jig_props(built: Built, plan: WagonPlan) -> Iterator[Prop]:
    """Yield the jig of a wagon's wheelset where its wheels are pressed on, about its foremost axle."""
    track = built.train.trackside
    jigs = [item for item in track.items if item.part == "wheel-jig"]
    for one, item in zip(track.pressed, jigs, strict=True):
        if one.wheelset == plan.wagon.wheelset and isinstance(item.plan, JigPlan):
            low = plan.gear.axle_z - item.plan.floor - plan.wheelset.bearing_diameter / 2
            jig = printed_prop(item, built.meshes[track.name, item.name])
            yield replace(jig, name="wheel-jig").moved(stand(Place(max(plan.gear.axles), 0.0, low)))


def _places(description: Description, items: Iterable[Item]) -> tuple[dict[str, np.ndarray], list[Prop]]:
    """Return by a part's name the 4x4 matrix [mm] that brings it where it is used, and the wheelsets and cups there."""
    track, wheelsets, places = description.track, iter(description.wheelset.values()), {}
    things: list[Prop] = []
    x = dict.fromkeys(("wheel-gauge", "fill-gauge"), 0.0)
    x["wheel-jig"] = APART * max(wheelset.flange_diameter for wheelset in description.wheelset.values())
    for item in items:
        plan = item.plan
        if isinstance(plan, MarkerPlan):
            places[item.name] = stand(Place(z=TAPE - track.rail_height))
        elif isinstance(plan, TemplatePlan):
            beside = plan.size[1] < track.gauge     # else it lies over the inner rail
            places[item.name] = stand(Place(0.0, plan.size[1] - track.gauge / 2, -track.rail_height * beside, 180.0))
        elif isinstance(plan, FillGaugePlan):
            cup = description.cup[plan.cup]
            things += [prop.moved(stand(Place(x[item.part]))) for prop in cup_props(cup)]
            places[item.name] = stand(Place(x[item.part], PLATE / 2, cup.height)) @ ON_EDGE
            x[item.part] += APART * cup.widest
        elif item.part == "wheel-gauge" and isinstance(plan, GaugePlan):
            wheels = next(wheelsets)
            axle = stand(Place(x[item.part], z=wheels.tread_diameter / 2))
            things += [prop.moved(axle) for prop in wheelset_props(wheels)]
            places[item.name] = axle @ stand(Place(PLATE / 2, z=wheels.axle_diameter / 2 + LUG + BACK / 2)) @ DOWN
            x[item.part] += APART * wheels.flange_diameter
        elif isinstance(plan, GaugePlan):
            places[item.name] = stand(Place(PLATE / 2, z=BACK / 2)) @ DOWN
        else:
            places[item.name] = stand(Place(-x[item.part]))       # beside the wheel gauges
            x[item.part] += APART * plan.size[0]
    return places, things
