"""The ways in a two-axle frame along which the axle holders slide: slots for the clamp bars, and teeth."""

from msgspec import Struct

GROOVE_GAP = 0.1        # tooth to groove, all round
LEAST_LAND = 0.95       # between two grooves: two lines
SLOT_BRIDGE = 3.0       # what must stay between two slots, or they become one
CLEAR = 0.5             # beside the holder's teeth


class SlidePlan(Struct, frozen=True):
    """Slots and grooves of a frame in wagon axes, all in mm.

    `slots` are (start, end) along x where the clamp bar slides, `necks` where the screws pass.
    """

    slots: tuple[tuple[float, float], ...]
    necks: tuple[tuple[float, float], ...]
    slot_width: float
    neck_width: float
    neck_height: float
    grooves: tuple[tuple[float, float], ...]     # start, end along x of each toothed stretch
    groove_width: float                          # along y
    tooth_pitch: float
    tooth_height: float
    tooth_crest: float

    @property
    def shoulder(self) -> float:
        """Height [mm] of the slot's 45 degree shoulders."""
        return (self.slot_width - self.neck_width) / 2

    @property
    def groove_foot(self) -> float:
        """Width of a groove [mm] in the underside: tooth, 45 degree flanks and the gap beside them."""
        return self.tooth_crest + 2 * self.tooth_height + 2 * GROOVE_GAP

    @property
    def groove_depth(self) -> float:
        """Depth of a groove [mm]."""
        return self.tooth_height + GROOVE_GAP

    @property
    def groove_stretches(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """(start, end) along x [mm] of every groove, whole pitches from its axle, by stretch.

        Where the stretches of two axles overlap they are one; out of step there, grooves join that would
        leave too thin a land.
        """
        half, stretches = self.groove_foot / 2, []
        for start, end in self.grooves:
            each_side, axle = int(((end - start) / 2 - half) / self.tooth_pitch), (start + end) / 2
            stretches.append([(axle + k * self.tooth_pitch - half, axle + k * self.tooth_pitch + half)
                              for k in range(-each_side, each_side + 1)])
        if self.grooves[0][1] + LEAST_LAND > self.grooves[1][0]:
            stretches = [stretches[0] + stretches[1]]
        return tuple(merged(spans, LEAST_LAND) for spans in stretches)

    def volume(self, thickness: float) -> float:
        """Return what slots and grooves take out of a frame `thickness` [mm] high [mm3]."""
        straight = thickness - self.neck_height - self.shoulder
        section = (self.neck_width * self.neck_height + self.shoulder * (self.slot_width + self.neck_width) / 2
                   + straight * self.slot_width)
        spans = [span for stretch in self.groove_stretches for span in stretch]
        grooves = sum(end - start - self.groove_depth for start, end in spans) * self.groove_depth
        return (section * sum(end - start for start, end in self.slots)
                + grooves * max(self.groove_width - self.neck_width, 0.0))


def merged(spans, bridge: float):
    """Return (start, end) spans with those closer than `bridge` [mm] made one."""
    joined = []
    for start, end in sorted(spans):
        if joined and start - joined[-1][1] < bridge:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)
