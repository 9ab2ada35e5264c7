"""The pictures of how a wagon is put together: what is there already, and what comes next standing off."""

import numpy as np
from msgspec.structs import replace

from partgen.parts.record import Fastener, Step
from partgen.plan.wagon import WagonPlan
from partgen.report import props
from partgen.report.pictures import exploded
from partgen.report.scene import Camera, Prop, Scene

SIZE = (760, 570)       # px; small: there are many of them
CAMERA = Camera((-0.5, -1.0, 0.55))
ON_ITS_HEAD = np.diag([1.0, -1.0, -1.0, 1.0])
WORDS = {"wheel": None, "axle": "wheelset", "liquid": None}
BEYOND = 0.12           # of the body's length: screws stand off further than what they hold
PALE = 0.55             # of the way to white for what is there already


def step_scene(step: Step, plan: WagonPlan, things: list[Prop]) -> Scene:
    """Return the scene of a step; `things` are the wagon's props where they stand in the finished wagon.

    What comes from below is shown as it is done: with the wagon on its head.
    """
    shown = [prop for prop in things if prop.name in step.there or prop.name in step.new]
    if step.front:
        shown = [prop for prop in shown if prop.placed()[:, 0].mean() > 0]
    words = {prop.name: None if prop.name not in step.new else WORDS.get(prop.name, prop.name.replace("-", " ")) for prop in shown}
    shown = [prop if prop.name in step.new else _pale(prop) for prop in shown]
    shown += [_screw(one) for one in step.screws]
    offsets = {**step.new, "screw": _off(step, plan)}
    if _from_below(step):
        shown = [prop.moved(ON_ITS_HEAD) for prop in shown]
        offsets = {name: -rise for name, rise in offsets.items()}
    return exploded(shown, offsets, words, CAMERA, SIZE)


def _from_below(step: Step) -> bool:
    return min(step.new.values()) < 0


def _off(step: Step, plan: WagonPlan) -> float:
    """Return how far [mm] the screws stand off: beyond what they hold, on the side they come from."""
    beyond = BEYOND * plan.length
    if _from_below(step):
        return min(step.new.values()) - beyond
    held = step.new.get(step.screws[0].what, 0.0) if step.screws else 0.0
    return held + beyond + (plan.body.inside[2] if "body" in step.new else 0.0)


def _pale(prop: Prop) -> Prop:
    return replace(prop, colour=tuple(share + PALE * (0.9 - share) for share in prop.colour))


def _screw(one: Fastener) -> Prop:
    """A screw where it holds, its shank up or down."""
    pose = ON_ITS_HEAD.copy() if one.up else np.eye(4)
    pose[:3, 3] = one.x, one.y, one.z
    return props.screw(one.screw.thread, one.length).moved(pose)
