"""How each printed part is mounted, in words and as what its picture shows; `parts.PARTS` has them in order."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from math import ceil
from typing import Any

from partgen.parts.electronics_steps import for_wires, laid
from partgen.parts.record import Step
from partgen.parts.track_steps import DRAWING, DRAWN
from partgen.plan.body.sensor_holder import MARK_PITCH
from partgen.plan.deck.handles import handle_of
from partgen.plan.fasteners import (
    Fastener,
    board_screws,
    body_screws,
    bogie_screws,
    cradle_screws,
    drawbar_screws,
    holder_screws,
    sensor_screws,
)
from partgen.plan.item import feeding
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.running_gear.two_axle import TwoAxleGear
from partgen.plan.small_things import fuses
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import rod_length

SIDES = ("left", "right")
BELOW, ABOVE = -0.16, 0.2       # of the body's length: how far new parts stand off in the picture


def covers(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that fills the drawbars with magnets."""
    down, bars = BELOW * plan.length, _named(plan, "coupler")
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
    first = {"tube": " Slide the tubes on.", "bearing": " Slide two bearings on each."}.get(wheelset.ends, "")
    rings = " Roll a rubber ring into the groove of each tread." if wheelset.ring else ""
    ends = "turn both ends to points in a drill" if wheelset.ends == "pin" else "break their edges with a file"
    wood = "scraps of wood with holes for the points" if wheelset.ends == "pin" else "scraps of wood"
    yield Step("Printed wheels onto their rods",
               "They are printed solid, with 100 % infill, so that they keep their grip. "
               f"Cut {count} rods of {wheelset.axle_diameter:g} mm to {rod_length(wheelset):.1f} mm, {ends}.{first} "
               "Start a wheel on either end, flanges inwards, lay the rod into its jig's slot and "
               f"press both wheels on in a vice, between {wood}, until their backs lie flat against the jig: "
               f"it takes up to {10 * ceil(wheel.push / 10)} N. Spin the rod in a drill: what wobbles is pressed on "
               f"again, and fine paper takes a seam off the tread.{rings}",
               dict.fromkeys(_rolling(plan), 0.0) | {"rod": 0.5 * ABOVE * plan.length}, (), aside=True, front=True,
               shared=True, tools=("caliper", "hacksaw", "file", "vice", "drill", "fine sandpaper"))


def holders(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps that put axle holders and their clamp bars on the frame, and wheels into them."""
    yield _screwed(holder_screws(plan), "Axle holders under the frame",
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
    yield _screwed(bogie_screws(plan), "Bogies under the frame",
                   f"Turn the frame over and set each bogie on its spigot. {{}} {_swings(plan.frame.bolsters)}. The "
                   "rear one, on the narrow pad, must also roll: that keeps all wheels on a track that is not true.",
                   {"bogie": BELOW * plan.length}, there=("frame",), shared=True)
    yield _wheelsets(plan)


def _wheelsets(plan: WagonPlan) -> Step:
    clip, what = plan.gear.clip, "each axle's bearings" if plan.gear.clip.bearing else "each axle"
    off = (f"Draw one wheel off each axle, {DRAWN}. Slide two bearings on, each with a shim ring towards its wheel, "
           "and press the wheel back on in its jig, in a vice. " if clip.shim else "")
    if isinstance(clip, PinCups):
        return Step("Wheelsets",
                    "Set one point of each axle into its cup, then press the other up its groove until it snaps: "
                    f"{_push(clip.insertion)} at most. It must spin, with {clip.end_play:.1f} mm of play to the "
                    "sides.",
                    dict.fromkeys(_rolling(plan), BELOW * plan.length), shared=True)
    return Step("Wheelsets",
                f"{off}Press {what} between the arms with both thumbs until it snaps: {_push(clip.insertion)} at "
                f"most. It must spin, with {clip.end_play:.1f} mm of play to the sides.",
                dict.fromkeys(_rolling(plan), BELOW * plan.length), shared=True, tools=DRAWING if clip.shim else ())


def _push(force: float) -> str:
    """Say a force [N] as a hand and a kitchen scale know it."""
    return f"{force:.0f} N ({force / 9.81:.1f} kg on a kitchen scale)"


def _holders(plan: WagonPlan) -> tuple[str, ...]:
    return _named(plan, "axle-holder") + _named(plan, "pin-holder")


def _rolling(plan: WagonPlan) -> tuple[str, ...]:
    wheels: tuple[str, ...] = ("wheel", "rod") if plan.wheelset.printed else ("wheel", "axle")
    wheels += ("bearing",) if plan.wheelset.ends == "bearing" else ()
    return (*wheels, "rubber-ring") if plan.wheelset.ring else wheels


def drawbars(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that puts the filled drawbars under the frame; then the wagon stands on its wheels."""
    new = dict.fromkeys((*_named(plan, "coupler"), "coupler-cover", "magnet"), BELOW * plan.length)
    yield _screwed(drawbar_screws(plan), "Drawbars",
                   f"Set each drawbar on its spigot, letters away from the frame{_which(plan)}. {{}} "
                   f"{_swings(plan.frame.seats)} to both sides.",
                   new, hides=(*_holders(plan), "clamp-bar", "coupler-cover", "magnet"), shared=True)


def _which(plan: WagonPlan) -> str:
    front, rear = plan.coupling.front.marks, plan.coupling.rear.marks
    return "" if front == rear else f", the one marked {front[0]} at the front, {rear[0]} at the rear"


def body(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps that put ballast into the frame, straps through the body's floor while their ways are open, and
    the body on the frame."""
    up, straps, ballast = 2 * ABOVE * plan.length, plan.body.fittings.straps, plan.frame.ballast
    if ballast.cells:
        yield Step("ballast into the frame",
                   f"Weigh out {ballast.mass:.0f} g of {ballast.said}, and fill all {len(ballast.cells)} cells in the "
                   f"frame's upper face equally high, {ballast.filled:.0f} mm; nothing may stand out of them. Run a "
                   "little white glue over it and let it set: it must not rattle. The body's floor then shuts them.",
                   {"ballast": 0.5 * ABOVE * plan.length}, tools=("kitchen scale",))
    if straps:
        cut = ", ".join(f"{strap.length:g} mm for {strap.holds}" for strap in straps)
        yield Step("straps through the floor",
                   f"Cut hook-and-loop strap 10 mm wide: {cut}. Lead each down through one slot in the floor, along "
                   "the way under it and up through the other: the frame closes that way.",
                   {"strap": 2.5 * BELOW * plan.length}, ("body",), aside=True, tools=("ruler", "scissors"))
    over = "the sensor's hole in its floor over the one in the frame" if plan.hung else (
        "its front over the bogie that does not roll" if plan.frame.bolsters else "either way round")
    said = "They get their screws with the cradle, in the next step." if plan.laid_in else (
        "{} They go down through its floor and cut their own thread in the frame: turn them slowly, crosswise, and "
        "stop when the heads lie flush.")
    yield _screwed(body_screws(plan), "body onto the frame",
                   f"Stand the frame on its wheels and set the body on it, {over}, the holes in its floor over those "
                   f"in the frame. {said}", {"body": up} | ({"strap": up} if straps else {}))


def name_plates(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that glues in the name plates, with the change of filament that letters them."""
    if found := plan.body.name_plates:
        yield Step("name plates into the walls",
                   f"They are printed letters up, on a bed of their own: {feeding(found[0].change)}, and go on: all "
                   "above that is letters. Rub the first colour off the nozzle. Spread a thin film of glue in the "
                   "recess of either side wall, press the plate in, letters upright, and let it set.",
                   {"name-plate": ABOVE * plan.length}, outside={"name-plate": 1}, tools=("cloth",))


def sensors(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that hangs the track sensors."""
    below, gap = BELOW * plan.length, plan.wagon.sensor_gap
    called = ", ".join(one.called.replace("-", " ") for one in plan.hung)
    ways = "; ".join(f"from {gap - one.down:.1f} to {gap + one.up:.1f} mm" for one in plan.hung)
    names = _named(plan, "sensor-holder")
    yield _screwed(
        sensor_screws(plan), "sensor holder",
        f"Turn the wagon over. Put its wires on and drop the nut into its pocket. Lay the {called} into the holder, "
        "its lenses over the opening, and hold it by two drops of hot-melt glue in opposite corners. Lead the wires up "
        "through frame and floor. Hold the block "
        "against the inner side of the lug under the frame, the line across the block at the single notch in the lug's "
        "front edge. {}", {**dict.fromkeys(names, 1.5 * below), "nut": 1.1 * below,
                           **{one.called: 0.8 * below for one in plan.hung}}, tools=("hot-melt glue gun",))
    yield Step("sensor set over a marker",
               "Stand the wagon on its track, the sensor over a marker, and look from beside. With the line across the "
               f"block at the single notch it looks from {gap:g} mm over the marker; each notch in the lug's rear edge "
               f"is {MARK_PITCH:g} mm ({ways}). Where it does not see the marker, or sees the sleepers too, loosen the "
               "screw, slide the block and tighten it again.", {}, on_track=True)


def lid(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps from the electronics that a lid covers, over its windows and light strips, to the lid itself."""
    up, down = ABOVE * plan.length, BELOW * plan.length
    modules = tuple(dict.fromkeys(placed.name for placed in plan.layout.placed))
    mounts = dict.fromkeys(pad.what for pad in plan.body.fittings.pads)
    tools = (*(("scissors",) if mounts else ()), *(("side cutters",) if plan.body.eyes else ()), *for_wires(plan))
    outside = {one.name: int(one.wall in SIDES) for one in plan.layout.cutouts if one.panel}
    new = {**dict.fromkeys((*mounts, *modules), 2 * up), **dict.fromkeys(outside, up)}
    new |= ({"lamp": up} if plan.body.fittings.lamps else {}) | ({"fuse": 2.4 * up} if any(fuses(plan)) else {})
    yield _screwed(board_screws(plan), "electronics", laid(plan), new, outside=outside, tools=tools)
    above = {"lid": 2.2 * up}
    if plan.lid and plan.lid.panes:
        for_each = [f"{pane.sheet.length:g} x {pane.sheet.width:g} mm over {', '.join(pane.names)}"
                    for pane in plan.lid.panes]
        yield Step("window in the lid",
                   "Lay the lid on its deck and run a thin bead of clear glue round the recess of its window. Lay the "
                   f"pane in ({'; '.join(for_each)}), weigh it down and let it set: it keeps a spill out. Leave out "
                   "only what a finger must reach through.", {"pane": down}, ("lid",), aside=True,
                   tools=("ruler", "saw or shears for clear sheet"))
        above["pane"] = 2.2 * up
    if plan.lid and (strip := plan.lid.strip):
        ways = " and ".join(f"{_along(x)} on the {wall}" for x, wall in strip.ways)
        yield Step("light strips",
                   f"Lay the lid on its deck. Cut two low-voltage strips at the mark next below {strip.strip:g} mm, "
                   f"solder their wires to the pads nearest the gaps in the rim ({ways}), insulate the joints and "
                   "stick the strips into the grooves under the eaves, lights towards you. Lead the wires through the "
                   "gaps; on the wagon they lie in the notches of the walls. Leave them long enough to lay the lid "
                   "beside the wagon, and try the light before the lid goes on.", {"light-strip": down},
                   tuple(above), aside=True, tools=("ruler", "scissors", "soldering iron"))
        above["light-strip"] = 2.2 * up
    clips = plan.lid.clips if plan.lid else None
    push = (f". That takes a push of {_push(clips.insertion)} at most; to come off it takes a pull of "
            f"{clips.retention:.0f} to {clips.insertion:.0f} N") if clips else ""
    yield Step("lid",
               "Push the clips into their sockets under the lid, noses outward, then press the lid on until both sides "
               f"click{push}.{_opened(plan)}", {**above, "lid-clip": 1.7 * up},
               hides=(*modules, "lid-clip", "strap", "tape", "felt", "fuse"),
               tools=("coin",) if plan.body.fittings.notches else ())


def _along(x: float) -> str:
    """Say where along a wall something is, `x` [mm] before its middle."""
    return f"{abs(x):.0f} mm {'before' if x > 0 else 'behind'} its middle" if round(x) else "at its middle"


def _opened(plan: WagonPlan) -> str:
    ends = " or ".join(wall for _, wall in plan.body.fittings.notches)
    return f" To open it, twist a coin in the notch under its edge at the {ends}." if ends else ""


def cradle(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that puts the cradle on, with its inserts and cups."""
    up, inserts = ABOVE * plan.length, _named(plan, "insert")
    laid = "Set the cradle on the lid, holes over holes. {} They go down into the lid" if plan.lid else (
        "Lay the cradle into the body, holes over holes. {} They go down through both floors into the frame")
    laid += " and cut their own thread: turn them slowly until the heads lie flush."
    yield _screwed(cradle_screws(plan), "cradle and cups",
                   f"{laid}{_rings(plan)}{_handles(plan)} Try every cup: it must come out with one hand.",
                   {"cradle": 1.5 * up, **dict.fromkeys(inserts, 2.2 * up),
                    **dict.fromkeys(("cup", "liquid"), (3.3 if inserts else 3) * up)})


def _rings(plan: WagonPlan) -> str:
    """Say how rings for slimmer cups go in and come out."""
    if not plan.inserts:
        return ""
    eared = [ring.release for ring, _ in plan.inserts if ring.ear]
    plain = [ring.release for ring, _ in plan.inserts if not ring.ear]
    said = [f"pinch its two ears together, which takes {_push(max(eared))} at most, and lift it"] if eared else []
    said += [f"pull it up by its edge, which takes {_push(max(plain))} at most"] if plain else []
    return (" Clip the rings into the seats of slimmer cups, the slit where the seat is open. To take one out, "
            f"{'; one without ears: '.join(said)}.")


def _handles(plan: WagonPlan) -> str:
    """Say how cups with handles are turned."""
    sides = {handle.side for handle in map(handle_of, plan.deck) if handle}
    where = f"through the seats' windows on the {min(sides)}, looking forward" if len(sides) == 1 else \
        "through a window of their seats, to the side that the picture shows"
    return f" Turn cups so that their handles stand out {where}." if sides else ""


def _named(plan: WagonPlan, part: str) -> tuple[str, ...]:
    """Return the names of a wagon's items of that kind of part."""
    return tuple(item.name for item in plan.items if item.part == part)


def _screwed(screws: Iterable[Fastener], title: str, text: str, new: dict[str, float], **more: Any) -> Step:
    """Return a step that puts in screws; in its text they stand for {}."""
    used = tuple(screws)
    return Step(title, text.replace("{}", f"Screw with {named(used)}."), new, screws=used, **more)


def named(used: Sequence[Fastener]) -> str:
    """Say which screws, nuts and washers a step takes."""
    said = [f"{count} x {name} x {length} mm ({standard})" for (name, length, standard), count in
            Counter((one.screw.name, one.length, one.standard) for one in used).items()]
    for word, count in (("washer", sum(bool(one.washer) for one in used)), ("nut", sum(bool(one.nut) for one in used))):
        said += [f"{count} {word}{'s' if count > 1 else ''}"] if count else []
    return ", ".join(said)


def _swings(pivots: Sequence[PivotPlan]) -> str:
    """Say how a pivot's screw is tightened and what is then free."""
    return (f"Tighten fully: the washer stops on the spigot's end, and {pivots[0].play:.1f} mm of play stay up and "
            "down. It must swing freely")
