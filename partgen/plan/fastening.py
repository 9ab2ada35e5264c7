"""What holds frame, body, lid and cradle together: how thick the things are that its screws pass, and those screws."""

from partgen.describe.cargo_tables import Module
from partgen.describe.printer_tables import Printer
from partgen.plan.context import Context
from partgen.plan.fits import hole
from partgen.plan.hardware import SCREWS, Driven, Screw

FLOOR = 2.4             # of a body, at least
STRAP_DEEP = 1.2        # way for a strap under that floor
TRAY = 2.4              # a cradle's plate
COUNTERSINK = 0.7       # of that plate: the heads of all three screws sink to its face or below
BORDER = 1.6            # width of the raised edge that keeps a spill on it
BORDER_HEIGHT = 1.2     # of that edge
WITHIN = 0.5            # cradle within the lid's edge, or within the walls, each side
HEAD_CLEAR = 0.3        # head of a screw to that border
LID_PLATE, RIM = 2.4, 5.0       # thickness of a lid, and how far its rim reaches down inside the walls, at least
DRIP = 0.4              # depth of the groove under its eaves
ROOF = 1.2              # over the lid's clips, within the rim's depth, at least
LID_BLIND = 1.2         # what closes a cradle screw's core against the inside
UNDER_BOSS = 0.4        # free below the bosses of those cores
STANDOFF = 3.0          # least height of the bosses under a board: its solder points need it


def floor(printer: Printer) -> float:
    """Return how thick [mm] a body's floor is: two lines stay over the straps' ways."""
    return max(FLOOR, STRAP_DEEP + printer.thinnest_wall)


def lid_plate(printer: Printer) -> float:
    """Return how thick [mm] a lid's plate is: two lines stay over the groove under its eaves."""
    return max(LID_PLATE, DRIP + printer.thinnest_wall)


def lid_rim(printer: Printer) -> float:
    """Return how far [mm] a lid's rim reaches down: its clips keep their height under a roof of two lines."""
    return RIM + max(printer.thinnest_wall - ROOF, 0.0)


def laid_in(context: Context) -> bool:
    """Does the cradle lie on the floor of an open body? Then the body's screws hold both."""
    return bool(context.wagon.cups) and not context.wagon.modules


def body_screw(context: Context) -> Driven:
    """Return the screws from above through the body's floor, and a cradle on it, into the frame."""
    return context.screw.driven(floor(context.printer) + (TRAY if laid_in(context) else 0.0))


def tray_head(context: Context) -> float:
    """Return how wide [mm] the heads' 90 degree countersink is at the face of a cradle's plate."""
    return hole(context.screw.clearance, "screw", context.printer) + 2 * COUNTERSINK * TRAY


def head_inset(context: Context) -> float:
    """Return how far [mm] from the body's outside a screw's middle must be for its head to keep clear of the border
    of a cradle laid in; 0 where none is."""
    edge = context.wagon.wall + WITHIN + max(BORDER + HEAD_CLEAR, context.printer.thinnest_wall)
    return edge + tray_head(context) / 2 if laid_in(context) else 0.0


def cradle_screw(context: Context) -> Driven:
    """Return the screws from above through the cradle's plate into the lid."""
    return context.screw.driven(TRAY)


def lid_boss(context: Context) -> float:
    """Return how far [mm] the bosses for those screws reach down below the lid's plate."""
    return cradle_screw(context).core_depth + max(LID_BLIND, context.printer.thinnest_wall) - lid_plate(context.printer)


def over_modules(context: Context) -> float:
    """Return how much [mm] of a body's height its lid takes over the modules: the rim, or the bosses of a cradle."""
    return max(lid_rim(context.printer), lid_boss(context) + UNDER_BOSS if context.wagon.cups else 0.0)


def board_screw(module: Module) -> Screw:
    """Return the thickest screw that passes a board's holes, the thinnest where none does."""
    fitting = [screw for screw in SCREWS.values() if screw.thread < module.hole]
    return max(fitting, key=lambda screw: screw.thread, default=SCREWS["M2"])


def standoff(module: Module) -> float:
    """Return how high [mm] the bosses under a board are: its screws end within floor and boss, whose core goes right
    through."""
    return module.standoff or max(STANDOFF, board_screw(module).driven(module.board).core_depth - FLOOR)
