"""What a wagon carries inside: electronics."""

from typing import Any, Literal

from pydantic import model_validator

from partgen.describe.field import SLACK, Clashes, Table, choice, listing, number, text
from partgen.describe.printer_tables import LONGEST_BRIDGE

Side = Literal["front", "back", "left", "right", "top", "bottom"]
OPPOSITE: dict[str, str] = {"front": "back", "back": "front", "left": "right", "right": "left",
                            "top": "bottom", "bottom": "top"}
Where = Literal["anywhere", "front", "middle", "back", "left", "right"]
"""Where in its wagon a module shall lie."""
MOST_PLUG_ROOM = 80.0


TOUCHED = 1.0           # W of what gets warm to the touch (common practice, no source)


class LooksOut(Table):
    """What a face shows to the outside: a charging port, a switch, a display, a lamp, a track sensor."""

    side: Side = choice(...,
                        "the face: front, back, left and right stand at a wall, top looks up through the lid, bottom "
                        "down at the track", "look at it as you measured it")
    width: float = number(..., "mm", 1, 200, "how wide the hole is; on top and bottom: across", "a hole has a size",
                          "what must go through it, a plug with its grip")
    height: float = number(..., "mm", 1, 200, "how high; on top and bottom: lengthwise", "it has a size", "as width")
    aside: float = number(0.0, "mm", -200, 200,
                          "its middle from the face's middle, towards left; on left and right: towards front",
                          "it lies on the face", "caliper from the edge")
    rise: float = number(0.0, "mm", -200, 200,
                         "its middle from the face's middle, upwards; on top and bottom: towards front",
                         "it lies on the face", "caliper from the edge")
    shape: Literal["rectangle", "round", "slot", "grille"] = choice(
        "rectangle", "of a hole in a wall; a slot has round ends, a grille upright bars", "look at it")
    panel: float = number(0.0, "mm", 0, 4, "how thick the wall must be for what snaps in; 0: as it is",
                          "no wall is thicker",
                          "caliper from its bezel to its clips")


class Module(Table):
    """One piece of electronics as a box with room for its plugs."""

    label: str = text("module", "what it is, in a few words", "your own words", longest=40)
    length: float = number(..., "mm", 2, 400, "size along the wagon as it lies when not turned",
                           "no module is smaller, no wagon is longer inside",
                           "caliper over everything that sticks out, plugs pulled")
    width: float = number(..., "mm", 2, 200, "size across the wagon as it lies when not turned",
                          "no module is smaller, no wagon is wider inside", "as length")
    height: float = number(..., "mm", 1, 150, "size upwards as it lies when not turned",
                           "no module is flatter, no wagon carries higher", "as length, the tallest part included")
    mass: float = number(..., "g", 0.1, 3000, "mass", "all weighs something, no such train pulls more", "kitchen scale")
    turns: tuple[Literal["round", "side", "end", "over"], ...] = listing(
        ("round",), "how it may be turned to fit: round by quarter turns as it lies, on its left or right side, on its "
        "front or back end, over with its top down; empty: it lies as measured",
        "think of its plugs and of what must stay upright", longest=4)
    plugs: tuple[Side, ...] = listing((), "faces where a plug or wires go in: front, back, left, right, top, bottom",
                                      "look at it as you measured it", longest=6)
    plug_room: float = number(12.0, "mm", 0, MOST_PLUG_ROOM, "free room in front of each of those faces",
                              "0 is for soldered wires, and no plug with its bend needs more than 80",
                              "put the plug in, measure to the bend of the cable")
    plug_rooms: tuple[float, ...] = listing(
        (), "free room in front of each of those faces where they differ, in the order of plugs; empty: plug_room",
        "as plug_room", longest=6, unit="mm", why="as plug_room")
    looks_out: tuple[LooksOut, ...] = listing((), "what must be seen or reached from outside", "look at it", longest=6,
                                              example='{ side = "front", width = 10, height = 4 }')
    mount: Literal["lip", "bosses", "strap", "tape", "panel"] = choice(
        "lip", "how it is held: in a tray with a lip, on screw bosses, by a strap through slots beside it, on a land "
        "for double-sided tape, or in the panel that it looks out through, by its own clips or nut")
    holes: tuple[tuple[float, float], ...] = listing(
        (), "its screw holes, for bosses: [lengthwise, across] from its middle, towards front and left",
        "caliper from hole to hole, middles", longest=12, unit="mm", why="they lie on it")
    hole: float = number(3.0, "mm", 1, 6, "diameter of its screw holes", "smaller takes no screw", "caliper")
    board: float = number(1.6, "mm", 0.4, 10, "how thick it is round those holes", "thinner bends, thicker is no board",
                          "caliper")
    standoff: float = number(0.0, "mm", 0, 20, "height of the bosses under it; 0: as high as its screws ask",
                             "higher is a rack", "what its solder points and plugs need below")
    carries: bool = choice(False, "may another module lie on top of it", "flat and cool: true")
    lies_on_top: bool = choice(False, "may it lie on top of another module", "light and seldom taken out: true")
    at: Where = choice("anywhere", "where in its wagon it shall lie, its middle: in the front, middle or back third of "
                       "the length, or left or right of the middle", "leave out, or choose what is handy")
    head: tuple[float, ...] = listing(
        (), "for what looks down at the track: length, width and height of its head where that hangs on a lead; empty: "
        "the board itself hangs under the floor", "caliper over the head, lead left out", longest=3, unit="mm",
        why="it hangs between the wheels", example="12, 8, 10")
    heat: float = number(0.0, "W", 0, 20, "what of its power turns into warmth inside the box; 0: it stays cool",
                         "over 20 W softens any print", "volts times amperes in, less what leaves it; a board that "
                         "only gets warm to the touch has about 1")
    current: float | None = number(None, "mA", 0, 20000, "mean current it takes behind the converter, a motor with its "
                                   "driver; left out: supply.load_current counts for all", "over 20 A the wires glow",
                                   "multimeter in line, over one lap with full cups")
    battery: bool = choice(False, "is it a battery or power bank", "look at it")
    charges: bool = choice(False, "is it a socket or board through which a battery is charged, and which feeds nothing "
                           "while the train runs", "look at it")
    dry: bool = choice(False, "is that battery of dry cells, or of rechargeable ones of their size", "printed on them")

    @property
    def warm(self) -> bool:
        """Does it get warm?"""
        return self.heat > 0

    @property
    def looks_down(self) -> bool:
        """Is it a track sensor?"""
        return any(opening.side == "bottom" for opening in self.looks_out)

    @property
    def hangs(self) -> tuple[float, float, float] | None:
        """Length, width and height [mm] of what of it hangs under the floor: itself, or its head; None where nothing
        does."""
        if not self.looks_down:
            return None
        length, width, height = self.head or (self.length, self.width, self.height)
        return length, width, height

    def room(self, side: str) -> float:
        """Return the free room [mm] that a plug needs in front of face `side`; 0 where none goes in."""
        rooms = self.plug_rooms or (self.plug_room,) * len(self.plugs)
        return max((room for plug, room in zip(self.plugs, rooms, strict=True) if plug == side), default=0.0)

    def face(self, side: str) -> tuple[float, float]:
        """Return width and height [mm] of face `side`, as a LooksOut counts them; the bottom is what looks down."""
        whole = self.length, self.width, self.height
        length, width, height = self.hangs or whole if side == "bottom" else whole
        return length if side in ("left", "right") else width, length if side in ("top", "bottom") else height

    @model_validator(mode="before")
    @classmethod
    def _by_touch(cls, given: Any) -> Any:
        """Read `warm` of older files: true is TOUCHED watts where no heat is given."""
        if not isinstance(given, dict) or not isinstance(given.get("warm"), bool):
            return given
        told = {name: value for name, value in given.items() if name != "warm"}
        return ({"heat": TOUCHED} if given["warm"] else {}) | told

    def conflicts(self) -> Clashes:
        if self.dry and not self.battery:
            yield "dry", "dry = true is about a battery's cells: give battery = true too, or leave dry out"
        yield from _plugs(self)
        yield from _head(self)
        if self.head and len(self.head) != 3:
            return
        for opening in self.looks_out:
            yield from _opening(self, opening)
        yield from _sides(self)
        yield from _holes(self)
        yield from _stacking(self)


def _plugs(module: Module) -> Clashes:
    if module.plug_rooms and len(module.plug_rooms) != len(module.plugs):
        yield "plug_rooms", (f"plug_rooms has {len(module.plug_rooms)} entries for {len(module.plugs)} plugs: give one "
                             "for each face in plugs, or leave it out")
    for room in module.plug_rooms:
        if not 0 <= room <= MOST_PLUG_ROOM:
            yield "plug_rooms", (f"plug_rooms has {room:g} mm, outside 0 to {MOST_PLUG_ROOM:g} mm: "
                                 "no plug with its bend needs more")


def _head(module: Module) -> Clashes:
    """Yield what is wrong where something hangs under the floor, or shall."""
    if module.head and (len(module.head) != 3 or not all(2 <= side <= 60 for side in module.head)):
        yield "head", (f"head = {list(module.head)} mm is no length, width and height of 2 to 60 mm each: measure all "
                       "three, or leave it out where the board itself looks down")
    elif module.head and not module.looks_down:
        yield "head", ("head is of what looks down, but nothing does: give looks_out = [{ side = 'bottom', ... }], or "
                       "leave head out")
    if module.looks_down and not module.head and module.mount not in ("tape", "lip"):
        yield "mount", (f"mount = {module.mount!r} is of what stands in the body, but a board that looks down hangs in "
                        "a tray under the floor, held by two drops of glue: leave mount out")
    if module.looks_down and not module.head:
        for name, others in (("plugs", {*module.plugs} - {"top", "bottom"}),
                             ("looks_out", {opening.side for opening in module.looks_out} - {"top", "bottom"})):
            if others:
                yield name, (f"{name} names {' and '.join(sorted(others))}, but a board that looks down hangs in a "
                             "holder that is open at its top alone: lead its wires out there, or measure its head")


def _opening(module: Module, opening: LooksOut) -> Clashes:
    """Yield what is wrong where a hole lies beyond its own face, or is shaped as none can be."""
    yield from _shape(opening)
    wide, high = module.face(opening.side)
    for at, size, along, middle in (("width", opening.width, wide, opening.aside),
                                    ("height", opening.height, high, opening.rise)):
        if size / 2 + abs(middle) > along / 2 + SLACK:
            yield "looks_out", (f"looks_out has a hole on the {opening.side} that reaches "
                                f"{size / 2 + abs(middle) - along / 2:.4g} mm beyond the face's {along:g} mm: "
                                f"take down its {at}, or measure its middle again")


def _shape(opening: LooksOut) -> Clashes:
    upright, larger = opening.side not in ("top", "bottom"), max(opening.width, opening.height)
    if not upright and (opening.shape != "rectangle" or opening.panel):
        yield "looks_out", (f"looks_out has shape or panel on the {opening.side}, where a window is left open: leave "
                            "them out there")
    elif opening.shape == "round" and abs(opening.width - opening.height) > SLACK:
        yield "looks_out", (f"looks_out has a round hole {opening.width:g} mm wide and {opening.height:g} mm high: "
                            "give its diameter for both, or shape = 'slot'")
    elif (opening.shape in ("round", "slot") or opening.panel) and larger > LONGEST_BRIDGE:
        yield "looks_out", (f"looks_out has a hole of {larger:g} mm with a level or round top, over the "
                            f"{LONGEST_BRIDGE:g} mm that a printer bridges: make it smaller, or leave shape and "
                            "panel out")


def _sides(module: Module) -> Clashes:
    """Yield what is wrong where a face that stands at a wall is asked for more."""
    sides = {opening.side for opening in module.looks_out}
    for side in sorted(sides & set(module.plugs)):
        yield "plugs", (f"plugs and looks_out both name {side}: a face that looks out stands at the wall and leaves "
                        "no room for a plug inside, so take it out of one of them")
    both = sorted(side for side in sides if OPPOSITE[side] in sides)
    if both:
        yield "looks_out", f"looks_out names {' and '.join(both)}, which cannot both stand at a wall: name one"


def _holes(module: Module) -> Clashes:
    if module.mount == "bosses" and not module.holes:
        yield "mount", "mount = 'bosses', but no holes are given: measure them, or choose lip, strap or tape"
    if module.mount == "panel" and not any(opening.panel for opening in module.looks_out):
        yield "mount", ("mount = 'panel', but nothing in looks_out has a panel: say there how thick it must be, or "
                        "choose lip, strap or tape")
    for along, across in module.holes:
        beyond = max(abs(along) - module.length / 2, abs(across) - module.width / 2) + module.hole / 2
        if beyond > SLACK:
            yield "holes", (f"holes has [{along:g}, {across:g}] mm, {beyond:.4g} mm beyond the edge with its "
                            f"{module.hole:g} mm: count from the middle of the module")


def _stacking(module: Module) -> Clashes:
    """Yield what is wrong where a module shall lie above or below another and cannot."""
    sides, hung = {opening.side for opening in module.looks_out}, module.looks_down and not module.head
    for found, why in (("top" in sides, "it looks out at the top"), ("top" in module.plugs, "a plug goes in there"),
                       (module.warm, "it gets warm"), (hung, "it hangs under the floor")):
        if module.carries and found:
            yield "carries", f"carries = true, but nothing may lie on it as {why}: carries = false"
    for found, why in ((hung, "it looks down at the track"),
                       (module.mount == "bosses", "its screw bosses stand on the floor"),
                       (module.mount == "panel", "it hangs in its panel"),
                       ("bottom" in module.plugs, "a plug goes in from below")):
        if module.lies_on_top and found:
            yield "lies_on_top", f"lies_on_top = true, but it cannot as {why}: lies_on_top = false"
