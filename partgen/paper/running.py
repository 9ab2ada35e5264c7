"""The last steps: the wagons coupled on their track, the train pushed round it by hand before it carries drinks."""

from collections.abc import Iterator

from partgen.describe.train_tables import Coupler
from partgen.finding import counted
from partgen.paper import wiring
from partgen.parts.record import Bought, Step
from partgen.parts.steps.fronts import front_of
from partgen.parts.steps.telling import screwed
from partgen.parts.steps.track import OFF
from partgen.plan.adaptor import BETWEEN, Head
from partgen.plan.fasteners import adaptor_screws
from partgen.plan.train import TrainPlan


def steps(train: TrainPlan) -> Iterator[Step]:
    """Yield what is done with the whole train once its wagons are there."""
    names = tuple(plan.name for plan in train.wagons)
    ends = ". ".join(f"Front of {plan.name}: {front_of(plan)}" for plan in train.wagons)
    leads = (" Leads from wagon to wagon are not planned here and not on the bill: they are yours to make, of soft "
             "wire, with a plug, and with slack enough that none pulls where neighbours swing.") if sum(
                 bool(plan.modules) for plan in train.wagons) > 1 and not train.description.cable else ""
    if train.wagons:
        yield _adaptor(train.head) if train.head else _on_locomotive(train)
    yield from wiring.steps(train)
    yield Step("Couple the train",
               f"Set it on a straight piece of track, front first: locomotive, {', '.join(names)}. {ends}. Push "
               "neighbours together until their magnets meet. Where two push each other off, a magnet lies the wrong "
               f"way round: take that cover off and turn it.{leads}", {}, (), wagons=names, whole=True)
    tries = " Then pour cold water into the cups up to their marks and do it again." if any(
        plan.cups for plan in train.wagons) else ""
    yield Step("First run, by hand",
               "Cups empty, push the train slowly once all round the track, then pull it back, with a finger on its "
               "last wagon: every wheel stays down in curves and over joints, drawbars swing free, and nothing touches "
               f"what stands beside the track or lies between the rails.{tries} Only then let the locomotive pull it, "
               "at half the ride card's speed at first, then as the card says.", {}, (), wagons=names)
    if any(plan.hung for plan in train.wagons):
        yield _controller(train)


def _controller(train: TrainPlan) -> Step:
    """Return the step that loads the program and lets it learn its train."""
    track, longer = train.description.track, train.trackside.first_marker
    begins = ("anywhere on the track but with its track sensor over a marker: it runs slowly to "
              + ("the longer marker, by which it knows the first stop" if longer else
                 "the first marker that it meets. This has to be the first stop's" if len(track.stop) > 1 else
                 "its marker") if track.closed else
              "where the plan begins: it runs to the first stop")
    return Step("Let the controller learn its train",
                "Add ride.h, train.h and train.c of the folder firmware to the controller's own program; the example "
                "in train.h is the loop round them. With water in the cups, measure on a straight piece of track how "
                "fast the train runs with three motor commands: the slowest that keeps it moving, one in the middle, "
                f"and one a little over {train.description.ride.speed:g} mm/s. Write them into the settings. Give the "
                "track sensor a pull-up resistor, so that a pulled plug reads the most. Empty the cups. Switch the "
                f"train on {begins}. Once it has come slowly to three more stops it has learnt its motor's lag, and "
                "drinks may ride. It learns anew whenever it is switched on. Hold a hand in front of it, if it has a "
                "distance sensor, and pull the track sensor's plug once: it has to stop.", {}, ())


def _on_locomotive(train: TrainPlan) -> Step:
    """Return the step that gives the locomotive its half of the coupler, for which nothing is printed."""
    coupler, (height, inset) = train.description.coupler, train.hook
    pockets, marks = train.wagons[0].coupling.front.pockets, train.wagons[0].coupling.front.marks
    where = (f"two of them side by side, their middles {pockets[0] - pockets[1]:.1f} mm apart, one as far to the left "
             f"of the middle as the other to the right: seen from behind, the right one with its {marks[0]} "
             f"outwards, the left one with its {marks[1]}") if len(pockets) > 1 else (
        "one of them in the middle, its S outwards: the first wagon's front drawbar shows N")
    return Step("Magnets on the locomotive",
                "Nothing is printed for its half of the coupler: make a bar of wood or metal that turns to both sides "
                f"under its rear end. As it was planned, the bar turns on a screw {inset:g} mm inside the body's end, "
                f"and its magnets' faces stand {coupler.gap / 2:g} mm beyond that end, their middles "
                f"{height:g} mm over the rails. The magnets are as in the drawbars, "
                f"{coupler.magnet_diameter:g} x {coupler.magnet_length:g} mm; set {where}. Hold them to the front "
                "drawbar of the first wagon before the glue sets: they must draw it. A coupler that is there "
                "already and holds magnets so may stay.", {}, ())


def _adaptor(head: Head) -> Step:
    """Return the step that puts the adaptor under the locomotive."""
    fixed = {"tape": "Stick foam tape 1 mm thick all over its upper face, pull the film off and press it up for half a "
                     "minute; leave it for a day before it pulls",
             "glue": "Rub both faces with fine sandpaper, spread two-part glue thinly all over the upper one, press it "
                     "up and let it set for a day; none may run down to the drawbar",
             "screws": "Hold it up and mark its two holes. Look first what lies behind: a screw must meet neither "
                       "motor, cell nor wire. Drill, and screw it on from below"}[head.described.mount]
    count, said = len(head.bar.pockets), " and ".join(dict.fromkeys(head.bar.marks))
    # Like the wagons' own: magnets, cover and drawbar are told there.
    return screwed(adaptor_screws(head), "Magnet head on the locomotive",
                   f"Fill one more drawbar (marked {said}) with {counted(count, 'magnet')} and its cover, as for the "
                   "wagons, and hold it to the front drawbar of the first wagon: they must draw each other. Wipe the "
                   "flat face under the locomotive's rear end with spirit. The adaptor belongs in the middle, its edge "
                   f"nearest to the round seat flush with the body's end. {fixed}. Then set the drawbar on its spigot, "
                   "letters away from the plate. {} It must swing freely to both sides, its magnets' middles "
                   f"{head.coupling.height:g} mm over the rails.",
                   {item.name: -OFF * place for place, item in zip((1, 2, 3), head.items, strict=True)}
                   | {"magnet": -2.5 * OFF}, there=("locomotive",),
                   tools=TAKES[head.described.mount])


TAKES = {"tape": ("cloth", "scissors"), "glue": ("cloth", "fine sandpaper"),
         "screws": ("cloth", "drill", "screwdriver")}
"""The tools to mount an adaptor, by its mount."""


def bought(train: TrainPlan) -> Iterator[Bought]:
    """Yield the magnets on the locomotive, and what holds them."""
    coupler, (height, inset) = train.description.coupler, train.hook
    if train.head:
        yield from _with_adaptor(train.head, coupler)
        return
    for count in [len(plan.coupling.front.pockets) for plan in train.wagons[:1]]:
        yield Bought("magnets", count, "disc magnet, for the locomotive", f"{coupler.magnet_diameter:g} x "
                     f"{coupler.magnet_length:g} mm, {coupler.remanence:g} T", "on a bar of your own at its rear end, "
                     f"{height:g} mm over the rails; not needed where its coupler has them")
        yield Bought("mounts", 1, "bar of wood or metal and the screw it turns on, for the locomotive",
                     f"{coupler.gap / 2 + inset:g} mm from the screw to the magnets' faces",
                     "under its rear end; not needed where its coupler has magnets")
        yield Bought("glue", count, "drop of glue", "two-part or thick instant glue", "at the locomotive's magnets")


def _with_adaptor(head: Head, coupler: Coupler) -> Iterator[Bought]:
    """Yield the magnets of the adaptor's drawbar, and what holds the adaptor; its pivot's screw is on the bill as the
    wagons' are."""
    plan, count, mount = head.plan, len(head.bar.pockets), head.described.mount
    yield Bought("magnets", count, "disc magnet, axially magnetised", f"{coupler.magnet_diameter:g} x "
                 f"{coupler.magnet_length:g} mm, {coupler.remanence:g} T", "in the locomotive's drawbar")
    yield Bought("glue", count, "drop of glue", "two-part or thick instant glue", "at the locomotive's magnets")
    face = f"{plan.length:g} x {plan.width:g}"
    if mount == "tape":
        yield Bought("mounts", 1, "double-sided tape", f"{face} x {BETWEEN['tape']:g} mm",
                     "between adaptor and locomotive")
    elif mount == "glue":
        yield Bought("glue", 1, "two-part glue, thin film", f"{face} mm", "between adaptor and locomotive")
    else:
        yield Bought("fasteners", len(plan.holes), "screw for the locomotive's floor", f"{head.screw.name} or a wood "
                     f"screw no thicker, as long as {plan.thick:.1f} mm of adaptor and the floor take",
                     "adaptor under the locomotive")
