"""How body, sensors, lid and cradle are mounted, in words and as what the steps' pictures show."""

from collections import Counter
from collections.abc import Iterator

from partgen.parts.record import Step
from partgen.parts.steps.electronics import CUT, ENDED, for_wires, joined, laid
from partgen.parts.steps.fronts import front_of_body, front_of_cradle, front_without_cups
from partgen.parts.steps.telling import ABOVE, BELOW, items_of, push, screwed
from partgen.plan.body.sensor_holder import MARK_PITCH
from partgen.plan.deck.handles import handle_of
from partgen.plan.fasteners import board_screws, body_screws, cradle_screws, sensor_screws
from partgen.plan.item import feeding
from partgen.plan.leads import feeding_lights
from partgen.plan.small_things import fuses
from partgen.plan.wagon import WagonPlan

SIDES = ("left", "right")


def body(plan: WagonPlan) -> Iterator[Step]:
    """Yield the steps that put ballast into the frame, straps through the body's floor while their ways are open, and
    the body on the frame."""
    up, straps, ballast = 2 * ABOVE * plan.length, plan.body.fittings.straps, plan.frame.ballast
    if ballast.cells:
        yield Step("ballast into the frame",
                   f"Weigh out {ballast.mass:.0f} g of {ballast.said}, and share it out evenly among {_cells(plan)} in "
                   "the frame's upper face; nothing may stand out of them. Run a little white glue over it and let it "
                   "set: it must not rattle. The body's floor then shuts them.",
                   {"ballast": 0.5 * ABOVE * plan.length}, tools=("kitchen scale",))
    if straps:
        cut = ", ".join(f"{strap.length:g} mm for {strap.holds}" for strap in straps)
        yield Step("straps through the floor",
                   f"Cut hook-and-loop strap 10 mm wide: {cut}. Lead each down through one slot in the floor, along "
                   "the way under it and up through the other: the frame closes that way.",
                   {"strap": 2.5 * BELOW * plan.length}, ("body",), aside=True, tools=("ruler", "scissors"))
    over = "the sensor's hole in its floor over the one in the frame" if plan.hung else _over(plan)
    said = "They get their screws with the cradle, in the next step." if plan.laid_in else (
        "{} They go down through its floor and cut their own thread in the frame: turn them slowly, crosswise, and "
        "stop when the heads lie flush.")
    yield screwed(body_screws(plan), "body onto the frame",
                   f"Stand the frame on its wheels and set the body on it, {over}, the holes in its floor over those "
                   f"in the frame. {said}", {"body": up} | ({"strap": up} if straps else {}))


def _cells(plan: WagonPlan) -> str:
    """Say which cells of the frame ballast goes into, and about how many pieces into each."""
    ballast, used = plan.frame.ballast, len(plan.frame.ballast.used)
    (called, grams), every = ballast.piece, len(ballast.cells)
    which = f"all {every} cells" if used == every else (
        f"the {f'{used} cells' if used > 1 else 'one cell'} nearest the middle that the picture shows, of the {every}")
    many = f"about {max(round(ballast.mass / grams / used), 1)}{' in each' if used > 1 else ''}"
    return f"{which} ({many}, if they are {called})"


def _over(plan: WagonPlan) -> str:
    """Say how the body lies on a frame under which no sensor hangs."""
    front, marks = front_of_body(plan), plan.coupling.front.marks
    ahead = "the bogie that does not roll" if plan.frame.bolsters else (
        f"the drawbar marked {marks[0]}" if len(marks) == 1 else "")
    return f"its front ({front}) over {ahead}" if front and ahead else "either way round"


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
    names = items_of(plan, "sensor-holder")
    yield screwed(
        sensor_screws(plan), "sensor holder",
        f"Turn the wagon over. Put its wires on, press the nut into its pocket and stick a strip of tape over its "
        f"mouth, which looks down while the wagon lies on its back. Lay the {called} into the holder, "
        "its lenses over the opening, and hold it by two drops of hot-melt glue in opposite corners. Lead the wires up "
        "through frame and floor. Hold the block "
        "against the inner side of the lug under the frame, the line across the block at the single notch in the lug's "
        "front edge. {}", {**dict.fromkeys(names, 1.5 * below), "nut": 1.1 * below,
                           **{one.called: 0.8 * below for one in plan.hung}}, tools=("thin tape", "hot-melt glue gun"))
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
    yield screwed(board_screws(plan), "electronics", laid(plan), new, outside=outside, tools=tools)
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
                   f"beside the wagon, and lead them to {feeding_lights(plan)}, red to plus.{joined(plan)} "
                   f"{ENDED.capitalize()}; the fuse is out till then. Try the light before the lid goes on.",
                   {"light-strip": down}, tuple(above), aside=True,
                   tools=(*CUT, "scissors", "soldering iron", "solder"))
        above["light-strip"] = 2.2 * up
    clips = plan.lid.clips if plan.lid else None
    pressed = (f". That takes a push of {push(clips.insertion)} at most; to come off it takes a pull of "
               f"{clips.retention:.0f} to {clips.insertion:.0f} N") if clips else ""
    yield Step("lid",
               "Push the clips into their sockets under the lid, noses outward, then press the lid on until both sides "
               f"click{pressed}.{_opened(plan)}", {**above, "lid-clip": 1.7 * up},
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
    up, inserts = ABOVE * plan.length, items_of(plan, "insert")
    first, ahead = front_of_cradle(plan), front_without_cups(plan)
    how = f", its front ({first}) to the wagon's front ({ahead}); holes over holes" if first and ahead else (
        ", holes over holes")
    laid = f"Set the cradle on the lid{how}. {{}} They go down into the lid" if plan.lid else (
        f"Lay the cradle into the body{how}. {{}} They go down through both floors into the frame")
    laid += " and cut their own thread: turn them slowly until the heads lie flush."
    yield screwed(cradle_screws(plan), "cradle and cups",
                   f"{laid}{_rings(plan)}{_handles(plan)} Try every cup: it must come out with one hand.",
                   {"cradle": 1.5 * up, **dict.fromkeys(inserts, 2.2 * up),
                    **dict.fromkeys(("cup", "liquid"), (3.3 if inserts else 3) * up)})


def _rings(plan: WagonPlan) -> str:
    """Say how rings for slimmer cups go in and come out."""
    if not plan.inserts:
        return ""
    eared = [ring.release for ring, _ in plan.inserts if ring.ear]
    plain = [ring.release for ring, _ in plan.inserts if not ring.ear]
    said = [f"pinch its two ears together, which takes {push(max(eared))} at most, and lift it"] if eared else []
    said += [f"pull it up by its edge, which takes {push(max(plain))} at most"] if plain else []
    called = {seat.cup: cup.label for seat, cup in plan.cups}
    seats = Counter(seat.cup for seat, _ in plan.cups)
    which = "; ".join(f"for {cup.label} a ring into {'the seat' if seats[ring.seat] == 1 else 'any seat'} of "
                      f"{called[ring.seat]}" for ring, cup in plan.inserts)
    return (f" To carry another cup, clip in its ring, the slit where the seat is open: {which}. To take one out, "
            f"{'; one without ears: '.join(said)}.")


def _handles(plan: WagonPlan) -> str:
    """Say how cups with handles are turned."""
    sides = {handle.side for handle in map(handle_of, plan.deck) if handle}
    where = f"through the seats' windows on the {min(sides)}, seen from behind" if len(sides) == 1 else \
        "through a window of their seats, to the side that the picture shows"
    return f" Turn cups so that their handles stand out {where}." if sides else ""
