"""A cable between any two ends of the train, and how an end is named."""

import re

from msgspec import Struct
from pydantic import create_model

from partgen.describe.field import Clashes, Table, listing, number, text
from partgen.identity import LOCOMOTIVE, TRACK

RAILS = ("left", "right")
MOTOR = "motor"
STIFF = 14              # AWG: no thicker wire bends between wagons (common practice, no source)
LARGEST_PLUG = 60.0     # mm

END = ('"WAGON.MODULE", "WAGON.MODULE[2]" where it is in the wagon twice, "locomotive.motor", or "track.left" or '
       '"track.right" for what rubs on that rail or its wheels')

_Ends: type[Table] = create_model("_Ends", __base__=Table, **{  # type: ignore[call-overload]
    "from": (str, text(..., f"one end: {END}", "follow the cable", longest=90)),
    "to": (str, text(..., "the other end, named alike", "follow the cable", longest=90))})


class End(Struct, frozen=True):
    """One end: the wagon's name, LOCOMOTIVE or TRACK; what is there; which of several of that name, from 1."""

    place: str
    what: str
    which: int = 1

    @property
    def outside(self) -> bool:
        """Is it in no wagon?"""
        return self.place.casefold() in (LOCOMOTIVE, TRACK)


def end_of(named: str) -> End:
    """Return the end that is `named` so; its place is "" where no point parts it from what is there."""
    place, _, what = named.rpartition(".")
    found = re.fullmatch(r"(.+)\[([1-9][0-9]?)\]", what)
    return End(place, found[1], int(found[2])) if found else End(place, what)


class Cable(_Ends):
    """A cable between two modules, or from one to the locomotive or the rails, through whatever is between."""

    cores: int = number(2, "cores", 1, 12, "wires side by side in it", "a cable has one, no plug here more than twelve",
                        "count them")
    section: float = number(0.25, "mm2", 0.05, 2.5, "cross-section of the copper of each",
                            "thinner breaks, thicker does not bend between wagons", "printed on the cable or its reel")
    gauge: int = number(0, "AWG", 0, 30, "gauge number of each instead; 0: as section says",
                        "a larger number is too thin to last", "printed on the cable or its reel")
    plug: tuple[float, ...] = listing(
        (), "width and height of the largest plug that has to pass through walls; empty: bare wires, whose ends get "
        "their plugs, or are soldered, once they are through", "caliper over the plug, grip included", longest=2,
        unit="mm", why="a plug has a size", example="8, 6")
    current: float | None = number(
        None, "A", 0.001, 20, "largest current in each of its wires; left out: all that the train takes as it starts",
        "less is no current, over 20 A wires glow", "multimeter in line; 0.02 is plenty for a signal")

    @property
    def start(self) -> End:
        """The end that `from` names."""
        return end_of(self.named[0])

    @property
    def goal(self) -> End:
        """The end that `to` names."""
        return end_of(self.named[1])

    @property
    def named(self) -> tuple[str, str]:
        """Both ends as they are named in the description."""
        known: dict[str, str] = self.__dict__           # `from` is a word of the language
        return known["from"], known["to"]

    @property
    def ends(self) -> tuple[End, End]:
        """Both ends."""
        return self.start, self.goal

    def conflicts(self) -> Clashes:
        if 0 < self.gauge < STIFF:
            yield self.amiss("gauge", f"does not bend between wagons: {STIFF} or more")
        if self.gauge and "section" in self.model_fields_set:
            yield self.amiss("gauge", f"and section = {self.section:g} mm2 are two answers to one question: leave one "
                                      "of them out")
        if self.plug and (len(self.plug) != 2 or not all(0 <= side <= LARGEST_PLUG for side in self.plug)):
            yield "plug", (f"plug = {list(self.plug)} mm is no width and height of 0 to {LARGEST_PLUG:g} mm: measure "
                           "both, or leave it out for bare wires")
        if self.start == self.goal:
            yield self.amiss("to", "is where it comes from: name two ends")
        elif self.start.outside and self.goal.outside:
            yield self.amiss("to", "and from are both outside of the wagons: that cable is yours, leave it out")
