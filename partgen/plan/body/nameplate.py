"""The name plate on both side walls: a sunk tablet in a flush frame, its raised letters flush with the posts.

So nothing stands out beyond the body. Vents, openings and lamps are where modules need them: the plate goes where
they leave room. Places along a wall are counted as an Opening's are: from its middle, positive to the right as
seen from outside. Heights are over rail top; all in mm.
"""

from itertools import combinations, pairwise

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.finding import down, up
from partgen.plan.body import fittings
from partgen.plan.body.typeface import LETTERS

RELIEF, SHALLOWEST = 0.5, 0.3   # of letters over their tablet (common practice: 0.4 to 0.6, no source)
FOOT_GAP = 0.2          # flat ground between the sloping feet of two strokes
LARGEST, SHARE = 10.0, 0.5      # of capitals, and what they take of a field's height
TRACK, SPACE = 0.25, 0.25       # between two letters, and what a space adds, by the height of a capital
ASIDE, ABOVE = 0.4, 0.3         # of ground beside and above the text, by the same
FRAME = 1.2
CLIP = 1.2              # off each corner of the tablet
CLEAR = 1.5             # from the frame to a vent, a lamp or the smooth band round an opening
BAND = 3.0              # of wall that an opening's band and its slope take
BESIDE = 1.0            # from the frame to the rounded corners of the body
STRIP = (4.0, 2.0)      # a narrower rest of a field along, or a lower one upwards, is left out


class Plate(Struct, frozen=True):
    """The plate on one wall: its middle along it and over rail top, and from where to where the wall stays flush
    for it along and upwards."""

    wall: str
    along: float
    z: float
    flush: tuple[tuple[float, float], tuple[float, float]]


class NamePlate(Struct, frozen=True):
    """A text in capitals `letter` high, raised by `relief`; both walls' plates, none where it cannot be lettered.

    `least` is the height from which it prints legibly; `remedy` says what to change where `letter` is less, or
    where the wall leaves less `relief` than SHALLOWEST.
    """

    text: str
    letter: float
    least: float
    relief: float
    frame: float
    plates: tuple[Plate, ...] = ()
    remedy: str = ""

    @property
    def size(self) -> tuple[float, float]:
        """Length and height of the sunk tablet at the wall's face [mm]."""
        return tuple(side * self.letter for side in tablet(self.text))

    @property
    def placed(self) -> tuple[tuple[str, float, float], ...]:
        """Each letter, and where its ink starts and its base line lies from the middle of the tablet [mm]."""
        low, high = _band(self.text)
        x, placed = -_width(self.text) / 2, []
        for one in self.text:
            placed += [(one, x * self.letter, -(low + high) / 2 * self.letter)] if one != " " else []
            x += (SPACE if one == " " else LETTERS[one].width) + TRACK
        return tuple(placed)

    def taken(self, fields, levels, sunk: float) -> float:
        """Return the volume [mm3] that all plates take out of walls whose `fields`, between `levels`, are `sunk`
        [mm] already."""
        (long, high), deep = self.size, self.relief
        letters = [LETTERS[one] for one, *_ in self.placed]
        ink = deep * self.letter * sum(one.area * self.letter + one.girth * deep / 2 for one in letters)
        bare = deep * (long - deep) * (high - deep) - 2 * deep * CLIP**2
        filled = [sunk * _shared(plate.flush[1], levels) * sum(_shared(plate.flush[0], field) for field in fields)
                  for plate in self.plates]
        return len(self.plates) * (bare - ink) - sum(filled)


def _shared(one, other) -> float:
    return max(0.0, min(one[1], other[1]) - max(one[0], other[0]))


def tablet(text: str) -> tuple[float, float]:
    """Return length and height of a text's tablet by the height of a capital [1]."""
    low, high = _band(text)
    return _width(text) + 2 * ASIDE, high - low + 2 * ABOVE


def _band(text):
    drawn = [LETTERS[one] for one in text if one != " "]
    return min([0.0, *(one.bottom for one in drawn)]), max([1.0, *(one.top for one in drawn)])


def _width(text) -> float:
    return sum(SPACE if one == " " else LETTERS[one].width for one in text) + TRACK * (len(text) - 1)


def _gaps(text):
    """Yield the width at the faces of every gap in and between letters [1], and by how much of the relief [1] the feet
    on both sides of it reach into it."""
    yield from ((LETTERS[one].gap, 2.0) for one in text if one != " ")
    yield from ((TRACK, LETTERS[one].right + LETTERS[other].left) for one, other in pairwise(text)
                if " " not in (one, other))


def highest_relief(text, letter) -> float:
    """Return the highest relief [mm] that leaves flat ground between the feet of any two strokes."""
    return min((gap * letter - FOOT_GAP) / feet for gap, feet in _gaps(text))


def least(text: str, two_lines: float) -> float:
    """Return from which height of a capital [mm] on every stroke is two lines wide, and some flat ground stays
    between the feet of any two, which slope at 45 degrees."""
    stroke = min(LETTERS[one].stroke for one in text if one != " ")
    return max(two_lines / stroke, *((SHALLOWEST * feet + FOOT_GAP) / gap for gap, feet in _gaps(text)))


def resolve(text: str, body, printer: Printer) -> NamePlate | None:
    """Resolve the name plate of `body`, fittings included; None for no text."""
    text = " ".join(text.upper().split())
    if not text:
        return None
    two_lines = printer.thinnest_wall
    frame, need, depth = max(FRAME, two_lines), least(text, two_lines), body.wall - body.flute - two_lines
    rooms = {wall: _rooms(body, wall, frame) for wall in ("left", "right")}
    wish = max(need, min(LARGEST, SHARE * (body.field_z[1] - body.field_z[0])))
    letter = min(_largest(text, free, frame, wish) for free in rooms.values())
    relief = min(RELIEF, depth, highest_relief(text, letter))
    if depth < SHALLOWEST - 1e-9:
        return NamePlate(text, letter, need, depth, frame, remedy=_thin(body, depth, printer))
    if letter < need - 1e-9:
        return NamePlate(text, letter, need, SHALLOWEST, frame, remedy=_cramped(text, rooms, frame, letter, printer))
    plates = tuple(_hung(text, wall, free, frame, letter, body) for wall, free in rooms.items())
    return NamePlate(text, letter, need, relief, frame, plates)


# Where there is room: free rectangles of a wall as ((left, right), (low, high)), the frame included

def _rooms(body, wall, frame):
    """Return every free rectangle of a side wall between vents, openings and lamps, as large as it goes."""
    half = body.length / 2 - body.corner - BESIDE
    low, high = body.field_z[0] - frame, _seen_up_to(body) + frame
    taken = [span for span in _taken(body, wall) if span[1][1] > low and span[1][0] < high]
    edges = sorted({low, high, *(z for _, spans in taken for z in spans if low < z < high)})
    found = []
    for band in combinations(edges, 2):
        spans = sorted(along for along, up_to in taken if up_to[0] < band[1] and band[0] < up_to[1])
        start = -half
        for left, right in (*spans, (half, half)):
            if left > start:
                found.append(((start, min(left, half)), band))
            start = max(start, right)
    return tuple(found)


def _seen_up_to(body) -> float:
    """Return the height [mm] up to which a side is seen: the valance of a light strip hangs as low as the lid's rim."""
    fitted, high = body.fittings, body.field_z[1]
    return min(high, body.bottom + body.floor + fitted.vent_top) if fitted.ways else high


def _taken(body, wall):
    """Yield what vents, openings and lamps of a wall take, with what keeps the plate clear of them."""
    fitted, floor = body.fittings, body.bottom + body.floor
    for one in [one for one in fitted.openings if one.wall == wall]:
        half, high = one.width / 2 + BAND, one.low + one.height + one.gable
        yield _about(one.along, half), (floor + one.low - BAND - CLEAR, floor + high + BAND + CLEAR)
    for x in [x for x, side in fitted.vents if side == wall]:
        span = (floor + fitted.vent_low - CLEAR, floor + fitted.vent_top + CLEAR)
        yield _about(fittings.along(wall, x, 0.0), fittings.VENT / 2), span
    for x in [x for x, side in fitted.lamps if side == wall]:
        level, half = floor + fitted.lamp_level, 0.75 * fitted.lamp + CLEAR
        yield _about(fittings.along(wall, x, 0.0), fitted.lamp / 2), (level - half, level + half)


def _about(middle, half):
    return middle - half - CLEAR, middle + half + CLEAR


def _largest(text, rooms, frame, wish) -> float:
    """Return the largest height of capitals [mm], `wish` at most, in any of the rooms."""
    return max([0.0, *(min(wish, *_heights(text, room, frame)) for room in rooms)])


def _heights(text, room, frame):
    return [(span[1] - span[0] - 2 * frame) / unit for span, unit in zip(room, tablet(text))]


def _hung(text, wall, rooms, frame, letter, body) -> Plate:
    """Return the plate in the room that takes it nearest to the middle of the wall."""
    size = [unit * letter + 2 * frame for unit in tablet(text)]
    middle = (0.0, sum(body.field_z) / 2)
    fitting = [room for room in rooms if min(_heights(text, room, frame)) > letter - 1e-6]
    spots = [tuple(_spot(*of) for of in zip(room, size, middle)) for room in fitting]
    along, z = min(spots, key=lambda spot: (round(abs(spot[0]), 6), round(abs(spot[1] - middle[1]), 6), spot))
    flush = (_flush(along, size[0] / 2, body.fields(body.length), STRIP[0]),
             _flush(z, size[1] / 2, (body.field_z,), STRIP[1]))
    return Plate(wall, along, z, flush)


def _spot(span, size, wish) -> float:
    """Return the wished place where it is free, else the middle of the room: hardly beside looks like a fault."""
    return wish if span[0] - 1e-6 <= wish - size / 2 and wish + size / 2 <= span[1] + 1e-6 else sum(span) / 2


def _flush(middle, half, fields, strip):
    """Return from where to where the frame goes, on to the next post or band where little of a field is left."""
    low, high = middle - half, middle + half
    for start, end in fields:
        low = start - FRAME / 2 if -FRAME / 2 < low - start < strip else low
        high = end + FRAME / 2 if -FRAME / 2 < end - high < strip else high
    return low, high


# What to change

def _thin(body, depth, printer) -> str:
    lines = down((body.wall - body.flute - SHALLOWEST) / 2, 2)
    more = f"set wall = {up(body.wall + SHALLOWEST - depth, 2)} mm, or " if not body.flute else ""
    return (f"a wall of {body.wall - body.flute:.2f} mm leaves {max(depth, 0.0):.2f} mm over two printed lines to sink "
            f"letters into: {more}print with lines of {lines} mm, or leave plate out")


def _cramped(text, rooms, frame, letter, printer) -> str:
    need = least(text, printer.thinnest_wall)
    size = [unit * need + 2 * frame for unit in tablet(text)]
    cures = [*_shorter(text, rooms, frame, printer), *_larger(rooms, size)]
    return (f"{text} is legible from {up(need, 2)} mm on, and {letter:.2f} mm is what the side walls have room for: "
            f"{', or '.join(cures) if cures else f'leave {size[0]:.0f} x {size[1]:.0f} mm of wall free, or no plate'}")


def _shorter(text, rooms, frame, printer):
    """Yield the longest beginning of the text that has room."""
    for count in range(len(text) - 1, 0, -1):
        start = text[:count].rstrip()
        need = least(start, printer.thinnest_wall)
        if all(_largest(start, free, frame, need) > need - 1e-9 for free in rooms.values()):
            yield f"shorten it to {len(start)} characters, as {start}"
            return


def _larger(rooms, size):
    """Yield by how much a longer or a higher body makes room; only what grows with the body counts."""
    every = [room for free in rooms.values() for room in free]
    ends = [(min(room[k][0] for room in every), max(room[k][1] for room in every)) for k in (0, 1)] if every else ()
    longer, higher = [], []
    for free in rooms.values():
        grown = [(size[0] - x1 + x0, (x0 == ends[0][0]) + (x1 == ends[0][1])) for (x0, x1), (z0, z1) in free
                 if z1 - z0 >= size[1] - 1e-6]
        longer.append(min((2 * lack / share for lack, share in grown if share), default=None))
        raised = [size[1] - z1 + z0 for (x0, x1), (z0, z1) in free if x1 - x0 >= size[0] - 1e-6 and z1 == ends[1][1]]
        higher.append(min(raised, default=None))
    for word, lacks in (("longer", longer), ("higher", higher)):
        if lacks and None not in lacks and max(lacks) > 0:
            yield f"make the body {up(max(lacks))} mm {word}"
