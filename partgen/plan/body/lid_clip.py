"""The lid's snap clips: a block in a socket under the lid, two arms along the wall, beads on the wall.

A clip is a part of its own so that it lies flat on the bed: its arms bend along their layers.
"""

from collections.abc import Iterator, Sequence
from math import radians, sqrt

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.formulas.snap import arm_force, arm_length, arm_strain, slenderness, wedge
from partgen.plan.fastening import ROOF
from partgen.plan.fits import FACETS, nearer, outside, printed, slot
from partgen.plan.hardware import FRICTION, LEAST_HOLD, OFTEN, PLASTICS, THUMB
from partgen.plan.item import PartPlan, Place
from partgen.plan.outline import Span, Spans, between

BEAD = 0.7              # how far the beads stand out of the wall
NOSE_GAP = 0.15         # between a nose and the wall
TRAVEL = BEAD - NOSE_GAP        # of a nose past its bead
RIDGE = 0.6             # flat of a nose between its two 45 degree flanks
NOSE = 4.0              # width of a nose along the wall
BEAD_FLAT = 0.2         # of their ridge
BEAD_LONG = NOSE + 1.0  # of a bead's ridge
WINDOW_OVER = 0.6       # window in the rim longer than the bead, each end
WINDOW = BEAD_LONG + 2 * BEAD + 2 * WINDOW_OVER     # nose and bead pass it
FLANK = radians(45)     # of noses and beads
PUSH = 38.0             # N to press a lid on that arms as thin as two lines are made long enough for
THICKEST = 1.8          # arms
ARM_ROOM = 0.4          # arm to the lid's rim at rest, and to the socket at full travel
LONGEST_ARM = 13.0
BLOCK = 7.0             # width of the block, and of the roof that bridges it
GRIP = 5.0              # of the block in its socket
SINK = 0.3              # block behind the rim's face
RISE = 1.1              # clip's upper face below the plate
BEHIND_RIM = 0.2        # socket's roof less deep than the rim
SOCKET_WALL = 1.6
PLAY = 0.1              # clip to socket, up and down each
STEP = 4.0              # from one place on the side walls to the next that is tried
WALL_OF = {0.0: "front", 90.0: "left", 180.0: "back", -90.0: "right"}    # by what turns its outward side forward [deg]
SHARE = 0.85            # of the permissible strain that the arms are made long enough for: finite elements find up to
                        # 13 % more at their roots, where corners notch them


class LidClipPlan(PartPlan, frozen=True):
    """A clip in its own frame: x outward with 0 at the rim's outer face, y along the wall, z = 0 at half height.

    All in mm. `arm` runs from the block's side to the middle of the nose.
    """

    CENTROID = 0.0          # from the middle

    height: float
    depth: float            # from the rim's face to the block's back
    arm: float
    thickness: float        # of the arms, as drawn
    spread: float           # by which they come out thicker
    face: float             # from the rim's face inward to the arms' outer side
    reach: float            # of the noses beyond the rim's face
    material: str

    @property
    def end(self) -> float:
        """Half the extent [mm] along the wall."""
        return BLOCK / 2 + self.arm + NOSE / 2

    @property
    def nose(self) -> float:
        """y [mm] of a nose's middle."""
        return BLOCK / 2 + self.arm

    @property
    def flank(self) -> float:
        """Height [mm] of a nose's 45 degree flanks."""
        return (self.height - RIDGE) / 2

    @property
    def printed(self) -> float:
        """Thickness [mm] of the arms as they come out: what bends."""
        return printed(self.thickness, self.spread)

    @property
    def strain(self) -> float:
        """Strain [1] of an arm whose nose passes its bead."""
        return arm_strain(self.printed, self.arm, TRAVEL)

    @property
    def force(self) -> float:
        """Sideways force [N] that holds an arm's nose as far back as its bead needs."""
        # Its root is rounded by about as much as the block gives way.
        return arm_force(PLASTICS[self.material].modulus, self.height, self.printed, self.arm, TRAVEL)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.depth + self.reach, 2 * self.end, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from its pieces."""
        block = BLOCK * (self.depth - SINK)
        arms = 2 * (self.arm + NOSE / 2) * self.thickness
        noses = 2 * NOSE * ((self.face + self.reach) * self.height - self.flank**2)
        return (block + arms) * self.height + noses


class LidClips(Struct, frozen=True):
    """A lid's clips, and the places of their sockets; heights below the body's upper edge [mm]."""

    clip: LidClipPlan
    sockets: tuple[Place, ...]
    middle: float           # of the clip
    bead_middle: float      # of the beads' ridges
    hole: float             # width of the sockets' cavity
    wall: float             # of the sockets
    roof: float
    gap: float              # rim to wall

    @property
    def permissible(self) -> float:
        """Strain [1] of the material when bent again and again."""
        return PLASTICS[self.clip.material].permissible(OFTEN)

    @property
    def insertion(self) -> float:
        """Push [N] that the lid goes on with, at the most friction."""
        return self.clip.force * _push(FRICTION[1])

    @property
    def retention(self) -> float:
        """Pull [N] that it comes off with, at the least friction."""
        return self.clip.force * _push(FRICTION[0])

    @property
    def socket(self) -> tuple[float, float]:
        """From where to where [mm] inward from the rim's face a socket stands."""
        clip = self.clip
        return clip.depth - GRIP, clip.depth + PLAY + self.wall

    @property
    def blocks(self) -> tuple[Spans, ...]:
        """From where to where [mm] along x and y of the lid every socket reaches."""
        near, far = self.socket
        return tuple(_block(socket, near, far, self.hole / 2 + self.wall) for socket in self.sockets)

    def taken(self, wall: str) -> tuple[Span, ...]:
        """From where to where [mm] the clips take a wall: as x counts along the left or right one, as y does along an
        end."""
        half = self.clip.nose + WINDOW / 2
        return tuple((at - half, at + half) for socket in self.sockets if WALL_OF[socket.yaw] == wall
                     for at in [socket.y if wall in ("front", "back") else socket.x])

    @property
    def bead_foot(self) -> float:
        """How far [mm] below the body's upper edge the beads' lower flanks meet the wall."""
        return self.bead_middle + BEAD_FLAT / 2 + BEAD

    @property
    def bead_volume(self) -> float:
        """Volume [mm3] of all beads."""
        return 2 * len(self.sockets) * BEAD * (BEAD + BEAD_FLAT) * (BEAD_LONG + BEAD)

    @property
    def volume(self) -> float:
        """Volume [mm3] of a lid's sockets, their cavities taken out."""
        near, far = self.socket
        deep = self.middle + self.clip.height / 2 + PLAY + self.roof
        block = (self.hole + 2 * self.wall) * (far - near) * deep
        return len(self.sockets) * (block - self.hole * (far - self.wall - near) * (self.clip.height + 2 * PLAY))


class LidRim(Struct, frozen=True):
    """The rim that reaches from a lid down inside the walls; lengths in mm.

    `corner` is what its corners, or the bosses in them, keep free of all else along it.
    """

    length: float           # outer
    width: float            # outer
    wall: float             # thickness
    depth: float            # how far it reaches down
    rounding: float         # radius of its upright corners
    gap: float              # rim to wall
    corner: float


def resolve(rim: LidRim, printer: Printer, windows: Sequence[Spans] = ()) -> LidClips:
    """Resolve the clips of a lid with that rim; `windows` are what else it has inside its rim.

    The clips sit on the end walls where the arms are long enough there, else on the side walls, staggered; where a
    window is in the way, farther apart on the side walls.
    """
    found = [_clips(rim, printer, *station) for station in _stations(rim, printer)]
    return next((clips for clips in found
                 if all(between(block, window) >= 0 for block in clips.blocks for window in windows)), found[0])


def _stations(rim: LidRim, printer: Printer) -> Iterator[tuple[float, float]]:
    """Return where the sockets may stand, best first: 0 on the end walls, else how far [mm] beside the middle of the
    side walls; and how long the arms are there."""
    two_lines = printer.thinnest_wall
    between_gaps = WINDOW / 2 + (slot(BLOCK, "snug", printer) - BLOCK) / 2 + two_lines      # of rim, two lines too
    thinnest = printed(two_lines, printer.peg_offset)
    need = max(_least_arm(thinnest, _height(rim, printer), printer.material), between_gaps)
    along, across = (side / 2 - rim.wall - rim.corner - (BLOCK + BEAD_LONG) / 2 - BEAD - WINDOW_OVER
                     for side in (rim.length, rim.width))
    if across >= need:
        yield 0.0, max(min(max(LONGEST_ARM, need), across), NOSE)
    low = (slot(BLOCK, "snug", printer) / 2 + max(SOCKET_WALL, two_lines)
           + max(ARM_ROOM, printer.line_width / 2 + FACETS))
    for k in range(max(int((along - need - low) / STEP) + 1, 1 if across < need else 0)):
        beside = low + k * STEP
        yield beside, max(min(max(LONGEST_ARM, need), along - beside), NOSE)


def _clips(rim: LidRim, printer: Printer, beside: float, arm: float) -> LidClips:
    """Resolve both clips with arms `arm` long: on the end walls, or `beside` [mm] either way of the middle of the side
    walls."""
    height, room = _height(rim, printer), ARM_ROOM + max(printer.peg_offset, 0.0)
    force = sqrt(LEAST_HOLD / _push(FRICTION[0]) * THUMB / _push(FRICTION[1]))
    slender = _slender(height, printer.material, force)     # as far from letting go as from what a thumb gives
    bends = SHARE * PLASTICS[printer.material].permissible(OFTEN) / arm_strain(1.0, arm, TRAVEL)
    thickness = max(printer.thinnest_wall, outside(min(arm / slender, bends, THICKEST), printer))
    clip = LidClipPlan(height=height, arm=arm, thickness=thickness, spread=printer.peg_offset, face=rim.wall + room,
                       reach=rim.gap - nearer(printer) - NOSE_GAP,
                       depth=rim.wall + thickness + TRAVEL + 2 * room + GRIP, material=printer.material)
    middle = RISE + clip.height / 2
    ends = Place(rim.length / 2), Place(-rim.length / 2, yaw=180.0)
    sides = Place(beside, rim.width / 2, yaw=90.0), Place(-beside, -rim.width / 2, yaw=-90.0)
    return LidClips(clip, sides if beside else ends, middle, middle - (RIDGE + BEAD_FLAT) / 2 - TRAVEL - PLAY,
                    hole=slot(BLOCK, "snug", printer), wall=max(SOCKET_WALL, printer.thinnest_wall),
                    roof=_roof(printer), gap=rim.gap)


def _roof(printer: Printer) -> float:
    return max(ROOF, printer.thinnest_wall)


def _height(rim: LidRim, printer: Printer) -> float:
    """Return the height [mm] of a clip, of which the roof over it leaves this."""
    return rim.depth - BEHIND_RIM - _roof(printer) - PLAY - RISE


def _push(friction: float) -> float:
    """Return the push [N] on a lid over the sideways force of one arm: two clips with two arms each."""
    return 4 * wedge(friction, FLANK)


def _slender(height: float, material: str, force: float) -> float:
    """Return the length of an arm over its thickness whose nose passes its bead with a sideways `force` [N]."""
    return slenderness(PLASTICS[material].modulus, height, TRAVEL, force)


def _least_arm(thickness: float, height: float, material: str) -> float:
    """Return the shortest arm [mm] of that thickness which neither bends too sharply nor takes too hard a push."""
    return max(arm_length(thickness, TRAVEL, SHARE * PLASTICS[material].permissible(OFTEN)),
               thickness * _slender(height, material, PUSH / _push(FRICTION[1])))


def _block(socket: Place, near: float, far: float, half: float) -> Spans:
    """Return what a socket takes that reaches from `near` to `far` [mm] inward and `half` [mm] to either side."""
    x, y, (low, high) = socket.x, socket.y, (-far, -near) if socket.yaw in (0.0, 90.0) else (near, far)
    if socket.yaw in (0.0, 180.0):
        return (x + low, x + high), (y - half, y + half)
    return (x - half, x + half), (y + low, y + high)
