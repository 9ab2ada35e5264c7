"""How drawbars, wheels and what carries them are mounted, in words and as what its picture shows."""

from collections.abc import Iterator, Sequence
from math import ceil

from partgen.parts.record import Step
from partgen.parts.steps.fronts import front_of_frame
from partgen.parts.steps.telling import ABOVE, BELOW, items_of, push, screwed
from partgen.parts.steps.track import DRAWING, DRAWN
from partgen.plan.fasteners import bogie_screws, drawbar_screws, holder_screws
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.running_gear.two_axle import TwoAxleGear
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import POINT, point_length, rod_length

CUTTING = "caliper", "hacksaw", "file"      # rods and tubes
OUT = {"wheel": 1.0, "shim-ring": 0.5, "rubber-ring": 1.6}     # how far out they stand beside their axle
OUTSIDE = dict.fromkeys(OUT, 1)


def covers(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that fills the drawbars with magnets."""
    down, bars = BELOW * plan.length, items_of(plan, "coupler")
    each = len(plan.coupling.front.pockets)
    magnets, two = ("two disc magnets", "the first two drawbars") if each > 1 else (
        "one disc magnet", "a drawbar marked N and one marked S")
    yield Step("Magnets into the drawbars",
               "Find the poles: stack all magnets to one rod and bring an end of it to a compass. The face that draws "
               "the red end of the needle is S, its back N. Dot the S face of each with a felt pen as you take it "
               f"off. Lay the drawbars on their backs, pockets up. Each takes {magnets}, standing on edge, the pole "
               f"facing outward as marked: N or one dash, S or two. Hold {two} face to face: they must draw each "
               "other. Then a drop of glue on each magnet. Before it sets, push each magnet against the thin wall "
               "at the front, since a gap there costs pull, press the cover in and let it set.",
               {"magnet": 0.5 * down, "coupler-cover": down}, bars, aside=True, front=True, shared=True,
               tools=("compass", "felt pen"))


def wheels(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that presses printed wheels on their rods."""
    wheel, wheelset, count = plan.gear.wheel, plan.wheelset, len(plan.gear.axles)
    if not wheel:
        return
    first = {"tube": f" {_tubes(plan)} Slide one on each.",
             "bearing": " Slide two bearings on each."}.get(wheelset.ends, "")
    rings = " Roll a rubber ring into the groove of each tread." if wheelset.ring else ""
    ends = (f"and turn either end to a point of {POINT} degrees, {point_length(wheelset):.1f} mm long: spin the rod in "
            f"a drill and hold a flat file against it, leaning {POINT / 2:g} degrees from the rod. The cups are cones "
            "of 90 degrees, in which only a sharper point runs on its tip; the length over the points stays as it is "
            "cut") if wheelset.ends == "pin" else "break their edges with a file"
    wood = "scraps of wood with holes for the points" if wheelset.ends == "pin" else "scraps of wood"
    yield Step("Printed wheels onto their rods",
               "They are printed solid, with 100 % infill, so that they keep their grip. "
               f"Cut {count} rods of {wheelset.axle_diameter:g} mm to {rod_length(wheelset):.1f} mm, {ends}.{first} "
               "Start a wheel on either end, flanges inwards, lay the rod into its jig's slot and "
               f"press both wheels on in a vice, between {wood}, until their backs lie flat against the jig: "
               f"it takes up to {10 * ceil(wheel.push / 10)} N. Spin the rod in a drill: what wobbles is pressed on "
               f"again, and fine paper takes a seam off the tread.{rings} {_half(plan)}",
               _apart(plan), ("wheel-jig",), outside=OUTSIDE, aside=True, front=True, shared=True,
               tools=(*CUTTING, "vice", "scraps of wood", "drill", "fine sandpaper"))


def _apart(plan: WagonPlan) -> dict[str, float]:
    """Return what lies on an axle with how far [mm] it stands off to the sides before the wheels are pressed on."""
    out = 0.5 * ABOVE * plan.length
    return dict.fromkeys(_rolling(plan), 0.0) | {name: share * out for name, share in OUT.items()
                                                 if name in _rolling(plan)}


def _half(plan: WagonPlan) -> str:
    count = len(plan.gear.axles)
    return f"The picture shows {'one' if count == 2 else 'two'} of the {count}."


def _slid_on(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that gets bearings or a tube over the axles of bought wheelsets."""
    on = {"bearing": "Slide two bearings on, each with a shim ring towards its wheel,",
          "tube": f"{_tubes(plan)} Slide one on,"}.get(plan.wheelset.ends, "")
    if not on or plan.wheelset.printed:
        return
    yield Step(f"{'Tubes' if plan.wheelset.ends == 'tube' else 'Bearings'} onto the axles",
               f"Draw one wheel off each axle, {DRAWN}. {on} and press the wheel back on in its jig, in a vice. "
               f"{_half(plan)}", _apart(plan), ("wheel-jig",), outside=OUTSIDE, aside=True, front=True, shared=True,
               tools=(*(CUTTING if plan.wheelset.ends == "tube" else ()), *DRAWING))


def holders(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps that put axle holders and their clamp bars on the frame, and wheels into them."""
    yield from _slid_on(plan)
    yield screwed(holder_screws(plan), "Axle holders under the frame",
                   "Press a nut into each pocket of the clamp bars and drop the bars into the slots from above, nuts "
                   "up. Lay a card over them and turn the frame over with it, so that none falls out. Set the holders "
                   f"on, teeth in the grooves. {{}} {_slid(plan)}.",
                   dict.fromkeys(_holders(plan), BELOW * plan.length) | {"clamp-bar": ABOVE * plan.length,
                                                                         "nut": 1.5 * ABOVE * plan.length},
                   there=("frame",), shared=True, tools=("stiff card",))
    yield _wheelsets(plan)


def _slid(plan: WagonPlan) -> str:
    """Say where the holders are clamped, and for which wheelbases."""
    gear, every = plan.gear, ", ".join(f"{one.base:g}" for one in plan.gear.scale)
    here = f"a wheelbase of {plan.base:g} mm"
    if not isinstance(gear, TwoAxleGear) or len(gear.scale) == 1:
        return f"Set both in the middle of their slots, for {here}; then tighten"
    never = f", but never clamp them at {gear.barred}" if gear.barred else ""
    asked = (f"{never}; then tighten. All checks were made at {plan.base:g} mm: before you set another, ask `partgen "
             "tune` where they hold")
    if not gear.slide.marks:
        return f"Set both in the middle of their slots, for {here}, or as many teeth off it: {every} mm{asked}"
    return (f"Slide both until the broad marks stand in the notches at their inner ends, for {here}: from the "
            f"innermost marks outwards it is {every} mm{asked}")


def bogies(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps that put bogies under the frame, and wheels into them."""
    yield from _slid_on(plan)
    arms = ("Turn the frame over. Set an arm on each spigot, its round seat outwards and up, and on it a bogie, so "
            "that the arm's ribs lie in the bogie's grooves: the arm carries the coupler and turns with the bogie." if
            plan.gear.arm else "Turn the frame over and set each bogie on its spigot.")
    yield screwed(bogie_screws(plan), "Bogies under the frame",
                   f"{arms} {{}} {_swings(plan.frame.bolsters)}. The "
                   "rear one, on the narrow pad, must also roll: that keeps all wheels on a track that is not true.",
                   {"bogie": BELOW * plan.length} | dict.fromkeys(items_of(plan, "coupler-arm"),
                                                                  0.5 * BELOW * plan.length),
                   there=("frame",), shared=True)
    yield _wheelsets(plan)


def _wheelsets(plan: WagonPlan) -> Step:
    clip, what = plan.gear.clip, "each axle's bearings" if plan.gear.clip.bearing else "each axle"
    how = (f"Set one point of each axle into its cup, then press the other up its groove until it snaps: "
           f"{push(clip.insertion)} at most." if isinstance(clip, PinCups) else
           f"Press {what} between the arms with both thumbs until it snaps: {push(clip.insertion)} at most.")
    return Step("Wheelsets", f"{how} It must spin, with {clip.shift:.1f} mm of play to the sides.",
                dict.fromkeys(_rolling(plan), BELOW * plan.length), shared=True)


def _tubes(plan: WagonPlan) -> str:
    """Say how the tubes over the axles are cut."""
    return (f"Cut metal tube of {plan.wheelset.tube_diameter:g} mm to {plan.gear.carrier_width:.0f} mm, a piece for "
            "each axle, and break its edges inside and out.")


def _holders(plan: WagonPlan) -> tuple[str, ...]:
    return items_of(plan, "axle-holder") + items_of(plan, "pin-holder")


def _rolling(plan: WagonPlan) -> tuple[str, ...]:
    wheels: tuple[str, ...] = ("wheel", "rod") if plan.wheelset.printed else ("wheel", "axle")
    wheels += {"bearing": ("bearing",), "tube": ("metal-tube",)}.get(plan.wheelset.ends, ())
    wheels += ("shim-ring",) if plan.gear.clip.shim else ()
    return (*wheels, "rubber-ring") if plan.wheelset.ring else wheels


def drawbars(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that puts the filled drawbars under the frame; then the wagon stands on its wheels."""
    new = dict.fromkeys((*items_of(plan, "coupler"), "coupler-cover", "magnet"), BELOW * plan.length)
    yield screwed(drawbar_screws(plan), "Drawbars",
                   f"Set each drawbar on its spigot{' at the end of an arm' if plan.gear.arm else ''}, letters away "
                   f"from the frame{_which(plan)}. {{}} "
                   f"{_swings(plan.frame.seats)} to both sides.",
                   new, hides=(*items_of(plan, "axle-holder"), "clamp-bar", "coupler-cover", "magnet"), shared=True)


def _which(plan: WagonPlan) -> str:
    front, rear = plan.coupling.front.marks, plan.coupling.rear.marks
    end = front_of_frame(plan)
    return "" if front == rear else (f", the one marked {front[0]} at the front{f' ({end})' if end else ''}, "
                                     f"{rear[0]} at the rear")


def _swings(pivots: Sequence[PivotPlan]) -> str:
    """Say how a pivot's screw is tightened and what is then free."""
    return (f"Tighten fully: the washer stops on the spigot's end, and {pivots[0].play:.1f} mm of play stay up and "
            "down. It must swing freely")
