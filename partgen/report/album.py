"""The album of a built train: the train on its sharpest curve, each wagon, each wagon taken apart."""

from contextlib import contextmanager
from pathlib import Path

import numpy as np
from msgspec import Struct

from partgen.formulas.wheel import attack_angle, pivot_radius
from partgen.paper.assembly import steps
from partgen.parts import record_of
from partgen.plan.body.pane import PANE
from partgen.plan.filenames import step_stem, wagon_stems
from partgen.plan.wagon import WagonPlan
from partgen.report import glow, props
from partgen.report import pose_sheet as posesheet
from partgen.report.cutaway import cutaway
from partgen.report.pictures import Drawing, chord_pose, drawing, exploded, stand_on_curve
from partgen.report.scene import Camera, Prop
from partgen.report.steps import step_scene
from partgen.solids.built import Built, stand

TIMEOUT = 40.0          # s a picture, with the renderer's own start
SMALLER = (1280, 800)   # px; only the train's own picture is larger
CLEAR = 0.45            # of a step that inserts lift the cups further off the cradle
WHEEL_PROUD = 3.0       # mm of axle outside each wheel, as bought
ON_TOP = 2.0            # what stands off further comes lower on a wagon without a lid


class Sitting(Struct, frozen=True):
    """The album while it is being taken: a child draws, and the build goes on beside it."""

    shots: tuple[tuple[str, str], ...]
    pending: Drawing

    def take(self, folder: Path) -> tuple[tuple[tuple[Path, str], ...], tuple[str, ...]]:
        """Put every picture into `folder`; return (path, caption) of those taken and why others are missing."""
        folder.mkdir(parents=True, exist_ok=True)
        reasons = self.pending.deliver([folder / name for name, _ in self.shots])
        taken = [(folder / name, caption) for (name, caption), reason in zip(self.shots, reasons) if reason is None]
        return tuple(taken), tuple(dict.fromkeys(reason for reason in reasons if reason))


@contextmanager
def sitting(built: Built):
    """Start to render every picture of the train; gives the Sitting they are taken from when they are wanted."""
    album = list(_scenes(built))
    with drawing([scene for *_, scene in album], timeout=TIMEOUT * len(album)) as pending:
        yield Sitting(tuple((name, caption) for name, caption, _ in album), pending)


def _scenes(built: Built):
    """Yield (file name, caption, scene) of every picture; steps have no caption, their place is with their text."""
    track = built.train.description.track
    laid = {"gauge": track.gauge, "rail_head": track.rail_head, "rail_height": track.rail_height}
    wagons = {plan.name: wagon_props(built, plan) for plan in built.train.wagons}
    curved = {plan.name: swung([*wagons[plan.name], *glow.washes(plan)], plan, track.min_radius)
              for plan in built.train.wagons}
    stations, stems = built.train.stations, wagon_stems(built.train.description)
    yield "train.png", f"The train on its sharpest curve, radius {track.min_radius:g} mm", stand_on_curve(
        [_hitched(curved[plan.name], plan, swings) for plan, swings in
         zip(built.train.wagons, _swings(built.train.wagons, stations, track.min_radius))], track.min_radius,
        [(plan.base, s, plan.bogie_wheelbase) for plan, s in zip(built.train.wagons, stations)], **laid)
    for plan in built.train.wagons:
        name = stems[plan.name]
        yield f"{name}.png", f"{plan.name}: ready to run", stand_on_curve(
            [curved[plan.name]], track.min_radius, [(plan.base, 0.0, plan.bogie_wheelbase)],
            camera=Camera((0.75, -1.0, 0.55)), size=SMALLER, **laid)
        yield f"{name}-apart.png", f"{plan.name}: its parts", exploded(
            [*wagons[plan.name], *_loose(built, plan)], offsets(plan), names={"liquid": None, "wheel": None, "axle": "wheelset"},
            size=SMALLER)
        if plan.layout.placed:
            yield f"{name}-inside.png", f"{plan.name}: cut open, every module in its place", cutaway(
                built, plan, wagons[plan.name])
    yield posesheet.NAME, posesheet.CAPTION, posesheet.pose_sheet(built)
    yield from _step_scenes(built.train, wagons)


def _step_scenes(train, wagons):
    """Yield (file name, no caption, scene) of every step of putting the train together; `wagons` are props by name."""
    plans = {plan.name: plan for plan in train.wagons}
    for number, step in enumerate(steps(train), 1):
        first = step.wagons[0]
        yield f"{step_stem(number)}.png", None, step_scene(step, plans[first], wagons[first])


def wagon_props(built: Built, plan: WagonPlan) -> list[Prop]:
    """Return everything of a wagon in its axes: printed parts, wheelsets, magnets, modules, cups."""
    printed = [Prop(item.name, mesh.vertices, mesh.faces, record_of(item.part).colour)
               for item, _, mesh in built.standing(plan)]
    return [*printed, *_wheelsets(plan), *_magnets(plan), *_modules(plan), *_panes(plan), *glow.strips(plan), *_cups(plan)]


def swung(things: list[Prop], plan: WagonPlan, radius: float) -> list[Prop]:
    """Return a wagon's props with its bogies turned as a curve of `radius` [mm] to the left turns them."""
    if not plan.bogie:
        return things
    turn = np.degrees(attack_angle(plan.base, pivot_radius(radius, plan.bogie_wheelbase)))
    poses = {side: _at(side * plan.base / 2, 0.0, 0.0, side * turn) @ _at(-side * plan.base / 2, 0.0, 0.0)
             for side in (1, -1)}
    turned = {*_swinging(plan, "bogie"), "wheel", "axle"}
    return [prop.moved(poses[1 if prop.placed()[:, 0].mean() > 0 else -1]) if prop.name in turned else prop
            for prop in things]


def _swings(wagons, stations, radius: float) -> list[tuple[float, float]]:
    """Return how far each wagon's front and rear drawbar turn [deg] to point at its neighbour's pivot."""
    poses = [chord_pose(radius, plan.base, s, plan.bogie_wheelbase) for plan, s in zip(wagons, stations)]
    pivots = [[pose @ (end * plan.frame.seats[0].x, 0.0, 0.0, 1.0) for end in (1, -1)] for plan, pose in zip(wagons, poses)]
    swings = np.zeros((len(wagons), 2))
    for k in range(len(wagons) - 1):
        bar = (pivots[k][1] - pivots[k + 1][0])[:2]         # from the follower's pivot to the leader's
        for place, end in ((k, 1), (k + 1, 0)):
            ahead = poses[place][:2, 0]
            swings[place, end] = np.degrees(np.arctan2(ahead[0] * bar[1] - ahead[1] * bar[0], ahead @ bar))
    return [tuple(pair) for pair in swings]


def _hitched(things: list[Prop], plan: WagonPlan, swings: tuple[float, float]) -> list[Prop]:
    """Return a wagon's props with its drawbars turned about their pivots by `swings`, front and rear [deg]."""
    x = plan.frame.seats[0].x
    poses = {end: _at(end * x, 0.0, 0.0, swing) @ _at(-end * x, 0.0, 0.0) for end, swing in zip((1, -1), swings)}
    turned = {*_swinging(plan, "drawbar"), "magnet"}
    return [prop.moved(poses[1 if prop.placed()[:, 0].mean() > 0 else -1]) if prop.name in turned else prop
            for prop in things]


def _swinging(plan: WagonPlan, what: str) -> set[str]:
    """Return the names of the parts that turn with a bogie or a drawbar."""
    return {item.name for item in plan.items if record_of(item.part).swings == what}


def _at(x: float, y: float, z: float, yaw: float = 0.0) -> np.ndarray:
    turn = np.radians(yaw)
    pose = np.eye(4)
    pose[:2, :2] = (np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))
    pose[:3, 3] = x, y, z
    return pose


def _loose(built, plan):
    """Yield a loose part over every place that takes one: the first where there are several kinds."""
    taken = set()
    for item in [item for item in plan.items if item.loose]:
        mesh = built.meshes[plan.name, item.name]
        for place in [place for place in item.places if place not in taken]:
            taken.add(place)
            yield Prop(item.name, mesh.vertices, mesh.faces, record_of(item.part).colour).moved(stand(place))


def _wheelsets(plan):
    wheels = plan.wheelset
    length = wheels.back_to_back + 2 * (wheels.width + WHEEL_PROUD / 3)
    for x in plan.axles:
        for prop in props.wheelset(wheels.tread_diameter, wheels.flange_diameter, wheels.flange_thickness,
                                   wheels.back_to_back, wheels.width, wheels.axle_diameter, length):
            yield prop.moved(_at(x, 0.0, plan.gear.axle_z))


def _magnets(plan):
    for item in plan.items:
        if item.part != "coupler":
            continue
        bar, coupler = item.plan, plan.coupler
        x = bar.reach - bar.skin - bar.magnet_slot / 2
        for place in item.places:
            for y in bar.pockets:
                yield props.magnet(coupler.magnet_diameter, coupler.magnet_length).moved(
                    stand(place) @ _at(x, y, 0.0))


def _modules(plan):
    for placed in plan.layout.placed:
        yield props.module((placed.length, placed.width, placed.height), placed.name).moved(
            _at(placed.x, placed.y, plan.floor_z + placed.z))


def _panes(plan):
    for pane in plan.lid.panes if plan.lid else ():
        top = plan.lid.bottom + plan.lid.recess
        yield props.pane(pane.sheet.length, pane.sheet.width, PANE).moved(_at(pane.sheet.x, pane.sheet.y, top - PANE))


def _cups(plan):
    for seat, cup in plan.cups:
        inner = np.interp(cup.wall + cup.fill, *zip(*cup.profile)) / 2 - cup.wall
        for prop in props.cup(list(cup.profile), float(inner), cup.fill, cup.wall, cup.handle):
            yield prop.moved(_at(seat.x, seat.y, plan.deck_z))


def offsets(plan: WagonPlan) -> dict[str, float]:
    """Return how far to lift each kind of thing [mm] so that the wagon reads from the rails upwards."""
    step, lower = 0.3 * plan.length, 0.0 if plan.lid else 0.8
    rise = {item.name: record_of(item.part).apart for item in plan.items}
    rise = {name: share - lower if share > ON_TOP else share for name, share in rise.items()}
    on_top = (2.75 if plan.lid else 1.9) + (2 * CLEAR if plan.inserts else 0.0)
    rise |= {"wheel": -1.5, "axle": -1.5, "magnet": -0.35, "pane": 1.45, "light-strip": 1.55, "cup": on_top,
             "liquid": on_top}
    # Modules come out of the body nearly whole, and what is over them makes way.
    out = max(step * 1.15, step * rise["body"] + 0.85 * plan.body.inside[2]) if plan.layout.placed else 0.0
    above = max(out - step * 1.15, 0.0)
    lifts = {name: step * share + (above if share > 1.15 else 0.0) for name, share in rise.items()}
    return lifts | {placed.name: out for placed in plan.layout.placed}
