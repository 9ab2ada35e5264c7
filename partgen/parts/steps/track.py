"""What is done with the parts that are printed for the track, in words and as what its picture shows."""

from collections.abc import Iterator, Mapping, Sequence

from partgen.finding import up
from partgen.parts.record import Step
from partgen.plan.fill_gauge import FillGaugePlan
from partgen.plan.trackside import WHEEL_TOLERANCE, Pressed, Trackside
from partgen.plan.wheel import JigPlan

DRAWN = ("with a small puller, or with the wheel's back on the open jaws of a vice and the axle driven out by a drift "
         "a little thinner than the axle")
DRAWING = "small puller, or vice and drift", "vice"     # the wheel is pressed on again in one
OFF = 24.0              # mm: how far new parts stand off in the picture
GO = "the side with one hole goes in, the wider one with two holes does not"


def track_gauges(track: Trackside) -> Iterator[Step]:
    """Yield the step that tries the track."""
    yield _trying(track, ("track-gauge",), "Try the track",
                 f"Every hand's breadth, in curves and over every joint, push the gauge between the rails: {GO}. Where "
                 "the track is another, bend or shim it, or measure track.gauge and gauge_tolerance again and build "
                 "anew before a wagon is printed.", ("rail", "sleeper"))


def wheel_gauges(track: Trackside) -> Iterator[Step]:
    """Yield the step that tries the wheelsets; where all are pressed on in a jig, that one's step tells of it."""
    if track.all_printed:
        return
    jig = any(item.part == "wheel-jig" for item in track.items)
    later = " What is pressed together on the jig is tried again then." if jig else ""
    yield _trying(track, ("wheel-gauge",), "Try the wheelsets",
                 f"Push the gauge between the backs of both wheels, beside the axle and all the way round: {GO}. Press "
                 f"a wheel along its axle until that holds, or measure the wheelset's back_to_back again.{later}",
                 ("wheel", "axle"))


def jigs(track: Trackside) -> Iterator[Step]:
    """Yield the step that readies the jigs for wheels pressed on at home."""
    rods, axles = ([one for one in track.pressed if one.printed == printed] for printed in (True, False))
    laid = [f"{what}{_of(track, of)}" for what, of in (("a rod", rods), ("an axle", axles)) if of]
    after = (" Keep the wheel gauge at hand: once both wheels are on a rod, push it between their backs, all the way "
             f"round: {GO}.") if track.all_printed else ""
    off = (f" Try now whether a wheel comes off its axle{_of(track, axles)}, {DRAWN}. Where none does, set ends = "
           "\"plain\" for that wheelset, which takes neither bearings nor a tube, and build anew before a wagon is "
           "printed.") if (
        axles) else ""
    yield _trying(track, ("wheel-jig", *(("wheel-gauge",) if track.all_printed else ())),
                 "Try the jig" if len(track.pressed) == 1 else "Try the jigs",
                 f"{_which(track)}Take blobs off both faces and out of the slot with a knife, lay {' and '.join(laid)} "
                 f"in, and measure over both faces with a caliper: {_apart(track)}, {WHEEL_TOLERANCE:g} mm more or "
                 "less. Every wheelset that is pressed together on the jig will be as wide as this: rub a wider one "
                 f"down on fine sandpaper, print a narrower one anew.{after}{off}", (),
                 tools=("knife", "caliper", "fine sandpaper", *(DRAWING if axles else ())))


def _apart(track: Trackside) -> str:
    """Say how wide the jigs are."""
    return " or ".join(dict.fromkeys(f"{one.apart:g} mm" for one in track.pressed))


def _which(track: Trackside) -> str:
    """Say which jig is for which wheels, where there is a choice."""
    slots = [item.plan.slot for item in track.items if isinstance(item.plan, JigPlan)]
    return "".join(f"The jig {one.apart:g} mm wide with a slot of {slot:g} mm is for the "
                   f"{'printed' if one.printed else 'bought'} wheels{_of(track, [one])}. "
                   for one, slot in zip(track.pressed, slots, strict=True) if track.mixed)


def _of(track: Trackside, pressed: Sequence[Pressed]) -> str:
    """Say whose wheelsets are meant, where not all are."""
    return " of " + " and ".join(f"{', '.join(one.wagons)} (wheelset {one.wheelset})" for one in pressed) if (
        track.mixed) else ""


def templates(track: Trackside) -> Iterator[Step]:
    """Yield the step that tries the sharpest curve."""
    yield _trying(track, ("radius-template",), "Try the sharpest curve",
                 "Lay its round edge against the inner side of the outer rail wherever the curve looks sharpest, also "
                 "over joints. Light under the middle of the edge: the curve is sharper than described, so measure "
                 "track.min_radius again or lay it wider. Light at its ends does no harm.", ("curve",))


def markers(track: Trackside) -> Iterator[Step]:
    """Yield the step that lays the markers between the rails."""
    names = [item.name for item in track.items if item.part == "marker"]
    longer = (" The longer one belongs to the plan's first stop: by its length the controller knows where the train is."
              ) if track.first_marker else ""
    yield Step("Markers between the rails",
               "Stick bright foil or tape into the recess of each marker. Wipe the sleepers dry with a cloth, put "
               "thin double-sided tape under the whole marker, and press it down on the sleepers midway between the "
               f"rails, where the ride card says.{longer} Roll a wagon over it by hand: nothing may touch it. A knife "
               "under its end takes it off again.", dict.fromkeys(names, OFF), ("rail", "sleeper"),
               tools=("scissors", "cloth", "knife"))


def fill_gauges(track: Trackside) -> Iterator[Step]:
    """Yield the step that marks the cups."""
    gauges = {item.name: item.plan for item in track.items if isinstance(item.plan, FillGaugePlan)}
    yield Step("Fill marks on the cups", fill_marks(gauges, {}), dict.fromkeys(gauges, OFF), ("cup", "liquid"),
               tools=("kitchen measure",))


def fill_marks(gauges: Mapping[str, FillGaugePlan], lower: Mapping[str, tuple[float, float]]) -> str:
    """Say how cups get their marks by their gauges; of those that may not be filled as high as their gauge shows,
    `lower` has by name how deep instead and how far below the rim that is [mm], 0 deep for no drink at all."""
    which = ", ".join(f"the gauge{_dots(plan.dots)} over the rim of {plan.called}" for plan in gauges.values()
                      if plan.cup not in lower)
    said = [f"Hang {which}, clear of a handle, and pour in water until it just touches the tongue."] if which else []
    for plan in (plan for plan in gauges.values() if plan.cup in lower):
        deep, mark = lower[plan.cup]
        instead = (f"pour in water up to {up(mark)} mm below the rim by a ruler, {deep:g} mm deep" if deep else
                   "it may ride with no drink at all")
        said.append(f"The gauge{_dots(plan.dots)} for {plan.called} stands too high for this ride: make no mark by it; "
                    f"{instead}. Mend the description and print the gauge again.")
    return " ".join((*said,
                     "On a glass, put a strip of tape round the outside at the water's height. A mark outside a cup "
                     "that one cannot see through shows nothing: tip its water into a kitchen measure instead, and "
                     "pour as much each time. Never pour a drink with the gauge in the cup: printed plastic is not "
                     "food-safe."))


def _dots(count: int) -> str:
    """Say how a gauge among several is told from the others."""
    return f" with {count} {'holes' if count > 1 else 'hole'}" if count else ""


def _trying(track: Trackside, parts: tuple[str, ...], title: str, text: str, there: tuple[str, ...],
            tools: tuple[str, ...] = ()) -> Step:
    """Return a step with all items of some kinds of part."""
    names = [item.name for item in track.items if item.part in parts]
    return Step(title, text, dict.fromkeys(names, OFF), there, tools=tools)
