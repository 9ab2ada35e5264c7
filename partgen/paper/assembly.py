"""How a wagon is put together: ordered steps, each with what is there already and what is added."""

from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from partgen.plan.screws import fasteners
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

BELOW, ABOVE = -0.16, 0.2       # of the body's length: how far new parts stand off in the picture


class Step(Struct, frozen=True):
    """One step. `wagons` it is for; its picture shows the first: what is `there`, and what is `new` by name with how
    far [mm] it stands off along z. `screws` names what the screws shown hold; with `front` only the front end shows.
    """

    title: str
    text: str
    wagons: tuple[str, ...]
    there: tuple[str, ...]
    new: dict[str, float]
    screws: tuple[str, ...] = ()
    front: bool = False


def steps(train: TrainPlan) -> tuple[Step, ...]:
    """Return every step for the whole train: running gear for all wagons of a kind together, then wagon by wagon."""
    kinds: dict[bool, list[WagonPlan]] = {}
    for plan in train.wagons:
        kinds.setdefault(plan.bogie is not None, []).append(plan)
    alike = [step for plans in kinds.values()
             for step in _running_gear(plans[0], tuple(plan.name for plan in plans))]
    return (*alike, *(step for plan in train.wagons for step in _body(plan)))


def _running_gear(plan: WagonPlan, wagons) -> Iterator[Step]:
    down, up = BELOW * plan.length, ABOVE * plan.length
    bars = tuple(item.name for item in plan.items if item.part == "coupler")
    yield Step("Magnets into the drawbars",
               f"Each drawbar takes {len(plan.coupling.front.pockets)} disc magnets on their edge, the pole facing outward "
               "as marked: N or one dash, S or two. Try the first pair against each other, a drop of glue, then press the "
               "cover in and let it set.", wagons, bars, {"magnet": 0.5 * up, "coupler-cover": up}, front=True)
    if plan.bogie:
        carriers, there = ("bogie",), ("frame",)
        yield Step("Bogies under the frame", f"Turn the frame over and set each bogie on its spigot. {_needs(plan, 'bogie')} Tighten until it "
                   "stops, then a quarter turn back: it must swing freely.", wagons, there, {"bogie": down},
                   ("bogie",))
    else:
        carriers, there = ("axle-holder", "clamp-bar"), ("frame",)
        yield Step("Axle holders under the frame", "Press a nut into each pocket of the clamp bars, drop the bars into the "
                   "slots from above and turn the frame over. Set the holders on it, teeth in the grooves. "
                   f"{_needs(plan, 'axle holder')} Slide both to the same mark, then tighten.", wagons, there,
                   {"axle-holder": down, "clamp-bar": up}, ("axle holder",))
    yield Step("Wheelsets", "Press each axle into its clips until it snaps. It must spin and have a little play to the "
               "sides.", wagons, (*there, *carriers), {"wheel": down, "axle": down})
    on = (*there, *carriers, "wheel", "axle")
    yield Step("Drawbars", f"Set each drawbar on its spigot. {_needs(plan, 'drawbar')} Tighten until it stops, then a "
               "quarter turn back: it must swing freely to both sides.", wagons, on,
               {**dict.fromkeys((*bars, "coupler-cover", "magnet"), down)}, ("drawbar",))


def _body(plan: WagonPlan) -> Iterator[Step]:
    up, name = ABOVE * plan.length, (plan.name,)
    bars = (item.name for item in plan.items if item.part == "coupler")
    on = ["frame", "bogie", "wheel", "axle", *bars]         # what of the running gear is seen from above
    yield Step(f"{plan.name}: body onto the frame", f"{_needs(plan, 'body')} Tighten crosswise.", name, tuple(on),
               {"body": 2 * up}, ("body",))
    on.append("body")
    holders = tuple(item.name for item in plan.items if item.part == "sensor-holder")
    if holders:
        yield Step(f"{plan.name}: sensor holder", "Lay the sensor's head on the sole of its holder, wires upwards, and push "
                   f"the holder up through the window in the frame until it stands {plan.wagon.sensor_gap:g} mm over a "
                   "marker laid between the rails: one click is 1 mm.", name, tuple(on),
                   dict.fromkeys(holders, BELOW * plan.length))
        on += holders
    modules = tuple(dict.fromkeys(placed.name for placed in plan.layout.placed))
    if modules:
        yield Step(f"{plan.name}: electronics", f"Lay in {', '.join(modules)} between the fences, plugs to their openings; "
                   "lead cables through the gaps in the fences.", name, tuple(on), dict.fromkeys(modules, 2 * up))
        on += modules
    if plan.lid:
        panes = (*(("pane",) if plan.lid.panes else ()), *(("light-strip",) if plan.lid.strip else ()))
        yield from _window(plan)
        yield from _strips(plan)
        yield Step(f"{plan.name}: lid", "Push the clips into their sockets under the lid, noses outward, then press the "
                   "lid on until both sides click.", name, tuple(on), {**dict.fromkeys(("lid", *panes), 2.2 * up), "lid-clip": 1.7 * up})
        on = [one for one in on if one not in modules] + ["lid", *panes]
    if plan.cradle:
        inserts = tuple(item.name for item in plan.items if item.part == "insert")
        held = _needs(plan, "cradle") or "Lay the cradle into the body, on its floor."
        rings = " Clip the rings into the seats of slimmer cups." if inserts else ""
        yield Step(f"{plan.name}: cradle and cups", f"{held}{rings} Try every cup: it must come out with one hand.",
                   name, tuple(on), {"cradle": 1.5 * up, **dict.fromkeys(inserts, 2.2 * up), "cup": 3 * up,
                                     "liquid": 3 * up}, ("cradle",))


def _window(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that closes the lid's windows, where it has any."""
    for_each = [f"{pane.sheet.length:g} x {pane.sheet.width:g} mm over {', '.join(pane.names)}" for pane in plan.lid.panes]
    if for_each:
        yield Step(f"{plan.name}: window in the lid", f"Lay the lid on its deck and run a thin bead of clear glue round the "
                   f"recess of its window. Lay the pane in ({'; '.join(for_each)}), weigh it down and let it set: it "
                   "keeps a spill out. Leave out only what a finger must reach through.", (plan.name,), ("lid",),
                   {"pane": BELOW * plan.length})


def _strips(plan: WagonPlan) -> Iterator[Step]:
    """Yield the step that puts the light strips under the eaves, where there are any."""
    if strip := plan.lid.strip:
        ways = " and ".join(f"{abs(x):.0f} mm {'before' if x > 0 else 'behind' if x < 0 else 'from'} its middle on the {wall}"
                            for x, wall in strip.ways)
        yield Step(f"{plan.name}: light strips", "Lay the lid on its deck. Cut two low-voltage strips at the mark next below "
                   f"{strip.strip:g} mm, solder their wires to the pads nearest the gaps in the rim ({ways}), insulate the "
                   "joints and stick the strips into the grooves under the eaves, lights towards you. Lead the wires through "
                   "the gaps; on the wagon they lie in the notches of the walls. Leave them long enough to lay the lid "
                   "beside the wagon, and try the light before the lid goes on.", (plan.name,),
                   ("lid", *(("pane",) if plan.lid.panes else ())), {"light-strip": BELOW * plan.length})


def _needs(plan: WagonPlan, what: str) -> str:
    """Say which screws, nuts and washers a step takes."""
    used = [one for one in fasteners(plan) if one.what == what]
    said = []
    for (length, standard), count in Counter((one.length, one.standard) for one in used).items():
        said.append(f"{count} x {plan.wagon.screw} x {length} mm ({standard})")
    said += [f"{count} {word}{'s' if count > 1 else ''}" for word, count in (
        ("washer", sum(one.washer for one in used)), ("nut", sum(one.nut for one in used))) if count]
    cut = next((f", cut to {one.room:.1f} mm" for one in used if not one.long_enough), "")
    return f"Screw with {', '.join(said)}{cut}." if said else ""
