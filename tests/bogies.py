"""Three wagons on bogies, planned, drawn and stood on the track, for the tests of bogies."""

from functools import cache

import numpy as np
from gear_solids import stood, wheels
from trimesh.creation import cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.checks import on_plan as paper
from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon
from partgen.plan.train import resolve
from partgen.solids.mesh import mesh_of

RADIUS = 320.0


def described(wagon, gauge=37.5, wheelset=None, coupler=None, radius=RADIUS, printer=None, **track):
    return Description(title="Long line", track=Track(gauge=gauge, min_radius=radius, **track),
                       coupler=coupler or Coupler(), printer=printer or Printer(), wagon=(wagon,),
                       wheelset={"standard": wheelset or wheels(17, 20.4, 2.6, 31.2, 3, mass=14.0)})


TRAINS = {
    "toy": described(Wagon(name="toy", wheelbase=36, pivot_spacing=140)),
    "small": described(Wagon(name="small", wheelbase=22, pivot_spacing=70, screw="M2"), 16.5,
                       wheels(10, 12, 0.8, 14.3, 1.5), Coupler(height=9, magnet_diameter=3, gap=14), radius=250),
    "large": described(Wagon(name="large", wheelbase=70, pivot_spacing=200, screw="M2.5", width=80, length=340), 45,
                       wheels(28, 32, 1.5, 40, 4, ends="tube", tube_diameter=6),
                       Coupler(height=18, layout="single", magnet_diameter=8), radius=600,
                       printer=Printer(bed_x=300, bed_y=300)),
}


def planned(train, **more):
    description = TRAINS[train]
    wagon = Wagon(**{**description.wagon[0].model_dump(), **more})
    return resolve(description.model_copy(update={"wagon": (wagon,)}))


PLANS = {name: planned(name).wagons[0] for name in TRAINS}


@cache
def drawn(train, name):
    """Return one part of a train as (item, solid, mesh)."""
    item = next(item for item in PLANS[train].items if item.part == name)
    shape = parts.build(item.part, item.plan)
    return item, shape, mesh_of(shape)


def standing(train, name, number=0, yaw=0.0):
    item, _, mesh = drawn(train, name)
    place = item.places[number]
    return stood(mesh, place.x, place.y, place.z, place.yaw + yaw)


def wheelsets(plan, yaw, grown=0.0):
    """Return the front bogie's wheels as solids, flanges all across, turned about the pivot by `yaw` [deg]."""
    wheel, x0 = plan.wheelset, plan.base / 2
    for x in (plan.gear.bogie_wheelbase / 2, -plan.gear.bogie_wheelbase / 2):
        for side in (1, -1):
            disc = cylinder(radius=wheel.flange_diameter / 2 + grown, height=wheel.width + 2 * grown, sections=96)
            disc.apply_transform(rotation_matrix(np.pi / 2, (1, 0, 0)))
            disc.apply_translation((x, side * (wheel.back_to_back + wheel.width) / 2, plan.gear.axle_z))
            yield stood(disc, x0, yaw=yaw)


def wheel_room(train):
    return next(finding for finding in paper.run(train, leave_out=()) if finding.check == "wheel-room")
