"""What carries a wagon: two axles in holders, or two bogies; the rest of the plan sees no difference."""

from msgspec import Struct

from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.wheel import play
from partgen.plan.context import Context, Shortfall
from partgen.plan.fastening import body_screw
from partgen.plan.fits import FITS
from partgen.plan.item import Item
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear.arm import ArmPlan
from partgen.plan.running_gear.axle_clip import AxleClip
from partgen.plan.running_gear.holder import SlidePlan
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.running_gear.wheelbases import Setting, barred
from partgen.plan.wheel import WheelPlan

WHEEL_GAP = 1.2         # between flange top and frame; the axle's own slack is about a quarter of it
PLATE = 2.4             # thinnest of axle holder and bogie, over the clips
RIB = 1.6               # thinnest wall of a frame


class RunningGear(Struct, frozen=True, kw_only=True):
    """What carries a wagon, as the rest of the plan sees it; lengths and heights over rail top in mm."""

    carriers: str           # what it is called in a remedy
    base_name: str          # the field that says how far the guided points stand apart
    base: float             # that distance: axle to axle, or pivot to pivot
    bogie_wheelbase: float = 0.0
    roll: float = 0.0       # [rad], either way, of one of two bogies under the body
    travel: float = 0.0     # of axle holders, either way: whole teeth
    scale: tuple[Setting, ...] = ()     # wheelbases at which they can be clamped, by the marks from inside outwards
    axles: tuple[float, ...]    # where the wheelsets stand along x on straight track
    axle_z: float
    wheel_top: float        # what the flanges reach
    clip: AxleClip | PinCups
    carrier_width: float    # of holder or bogie, along the axles
    frame_bottom: float
    frame_thickness: float
    rib: float              # thinnest wall of the frame
    middle: float           # width that the frame keeps free of body screws
    spine: float            # width of the frame's spine
    slide: SlidePlan | None = None
    bolsters: tuple[PivotPlan, ...] = ()
    blocks: tuple[tuple[float, float, float], ...]  # (start, end, half width) of what stays solid in the frame
    blind: tuple[tuple[float, float], ...]          # from where to where along x nothing sees the track
    seat_distance: float    # from a guided point to the coupler seat's pivot that it wants
    least_seat_distance: float  # under which gear and seat stand in each other's place
    arm: ArmPlan | None = None          # that carries a coupler, on each bogie
    wanting: tuple[Shortfall, ...]      # what cannot be whatever the body is
    items: tuple[Item, ...]
    wheel: WheelPlan | None = None      # where wheels are printed

    @property
    def settings(self) -> tuple[float, ...]:
        """Wheelbases [mm] at which axle holders can be clamped and may be."""
        return tuple(one.base for one in self.scale if not one.barred)

    @property
    def barred(self) -> str:
        """At which others they must not be and why, in words; "" where there are none."""
        return barred(self.scale)


def least_thickness(context: Context) -> float:
    """Return how thick [mm] a frame must be for the body's screws to end within it; their cores go right through."""
    return body_screw(context).core_depth


def side_play(gear: RunningGear, wheelset: Wheelset, track: Track) -> float:
    """Return how far [mm] each guided point can go to either side: its wheels between the rails where the gauge is
    widest, its axle in the holder, a bogie on its pivot."""
    pivot = FITS["running"].clearance if gear.bogie_wheelbase else 0.0
    return between_rails(wheelset, track) + (gear.clip.shift + pivot) / 2


def between_rails(wheelset: Wheelset, track: Track) -> float:
    """Return how far [mm] wheels can go to either side between rails where the gauge is widest."""
    widest = float(play(track.gauge + track.gauge_tolerance, wheelset.back_to_back, wheelset.flange_thickness))
    return max(widest, 0.0) / 2
