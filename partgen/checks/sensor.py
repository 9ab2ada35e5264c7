"""Does the track sensor hang where it sees the marker, and clear of all that lies on the track."""

from collections.abc import Iterator

from partgen.dynamics.survey import play_of
from partgen.finding import Finding, down, judge, up
from partgen.identity import PartId
from partgen.plan.body.sensor_holder import DOWN, LEAST_WAY, NARROWEST, OVER_GROUND, Hung, ledge
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def sensor_gap(train: TrainPlan) -> Iterator[Finding]:
    """Hold how far every track sensor can be set up and down from its wished gap, how far its lowest setting is over
    what lies between the rails or over the rails, what its tray leaves open to look through, and how much of the
    marker's width is left beside what it sees."""
    track = train.description.track
    ground = max(track.ground, train.marker_top)
    for plan in train.asked:
        for who, one in named(plan):
            off, cure = _aside(train, plan, one, abs(one.eye[0] - one.way.x)), cure_of(train, plan, one)
            yield ways(plan, who, one.up, one.down, cure)
            yield _seeing(train, who, one)
            yield clearance(who, min(one.bottom - one.down - ground, _over_rails(train, plan, one)), cure)
            if marker := train.trackside.marker:
                beside = marker.foil[1] / 2 - off - one.sees
                yield judge("sensor-gap", who, beside, 0.0, "min", "mm",
                            f"on the sharpest curve it looks {up(-beside)} mm past the marker's side: the strip that "
                            f"it sees is {2 * one.sees:.1f} mm wide across the track, and it stands {off:.1f} mm off "
                            "the track's middle there")


def _aside(train: TrainPlan, plan: WagonPlan, one: Hung, reach: float) -> float:
    """Return how far [mm] what reaches `reach` [mm] before and behind its middle stands off the track's middle at most:
    n beyond a guided point its play counts (2 n + a)/a times, with their spacing a (`motion.play`)."""
    lever = max(2 * (abs(one.way.x) + reach) / plan.base, 1.0)
    thrown = one.throw(plan.base, plan.gear.bogie_wheelbase, train.description.track.min_radius, reach)
    return thrown + lever * play_of(plan, train.description)


def _over_rails(train: TrainPlan, plan: WagonPlan, one: Hung) -> float:
    """Return how far [mm] its lowest setting is over the rails at the tray's farther end."""
    return one.over(train.description.track.gauge / 2, _aside(train, plan, one, one.tray.half_x))


def cure_of(train: TrainPlan, plan: WagonPlan, one: Hung) -> str:
    """Return which gap leaves it ways enough, clear of all that it passes; with what more room, where none does.

    Under a larger gap its way down first grows to `DOWN`; from there on its lowest setting rises.
    """
    track, gap = train.description.track, plan.wagon.sensor_gap
    raw = one.bottom - OVER_GROUND - max(train.marker_top, track.ground)      # the way down that there is
    missing = max(raw - DOWN, 0.0) + OVER_GROUND - _over_rails(train, plan, one)
    least = max(gap - raw + (LEAST_WAY if missing <= 0 else DOWN + missing), 1.0)
    most = gap + one.above - LEAST_WAY
    if float(up(least)) <= most + 1e-9:
        return f"set sensor_gap to {up(least) if gap < least else down(most)} mm"
    lack = float(up(least)) - most
    height = plan.coupler.height + lack + plan.gear.frame_bottom - plan.coupling.lowest_frame
    return (f"no sensor_gap works under this frame, which is {up(lack)} mm too low: set sensor_gap to {up(least)} mm "
            f"and raise coupler.height to {up(height)} mm")


def _seeing(train: TrainPlan, who: PartId, one: Hung) -> Finding:
    """Hold what the ledges of a tray leave open in its sole."""
    printer, side = train.description.printer, min(one.tray.inner_x, one.tray.inner_y)
    free = side - 2 * ledge(printer)
    return judge("sensor-gap", who, free, NARROWEST, "min", "mm",
                 f"the ledges that it lies on leave {max(free, 0.0):.2f} mm to look through")


def named(plan: WagonPlan) -> Iterator[tuple[PartId, Hung]]:
    """Yield who is meant by every track sensor's holder, and what hangs in it."""
    items = [item for item in plan.items if item.part == "sensor-holder"]
    return ((plan.part_id(item.name), one) for item, one in zip(items, plan.hung, strict=True))


def ways(plan: WagonPlan, who: PartId, higher: float, lower: float, cure: str, slack: float = 0.0) -> Finding:
    """Hold the shorter of both ways [mm] that a sensor can be set from its wished gap; `slack` [mm] is for what was
    measured."""
    least = min(higher, lower)
    return judge("sensor-gap", who, least, LEAST_WAY - slack, "min", "mm",
                 f"it can be set only {max(least, 0.0):.2f} mm {'higher' if higher <= lower else 'lower'} than "
                 f"{plan.wagon.sensor_gap:g} mm over the marker: {cure}")


def clearance(who: PartId, over: float, cure: str, slack: float = 0.0) -> Finding:
    """Hold how far [mm] a sensor's lowest setting is over what it passes; `slack` [mm] as for `ways`."""
    return judge("sensor-gap", who, over, OVER_GROUND - slack, "min", "mm",
                 f"set lowest it is {over:.2f} mm over what lies between the rails, or over the rails on the sharpest "
                 f"curve: {cure}")
