"""Random boxes and rooms to arrange, for hypothesis."""

from itertools import combinations
from math import inf

from arrangements import lying, quarter_turns
from hypothesis import strategies as st
from msgspec.structs import replace

from partgen.packing.box import AIMS, Box, FloorZone, Space, Task

sizes = st.tuples(st.integers(8, 50), st.integers(8, 40), st.integers(5, 25))
rooms = st.sampled_from([0, 0, 5, 10, 20])


@st.composite
def boxes(draw, turned=True):
    length, width, height = draw(sizes)
    out = draw(st.sampled_from([(), (), (), ("back",), ("right",)]))
    ways = quarter_turns(length, width, height, draw(rooms), draw(rooms), draw(st.sampled_from([0, 0, 5])), out)
    flat = "top" not in out and all(p.room[4] == 0 for p in ways)
    return Box("", draw(st.integers(3, 150)), ways if turned else ways[:1], draw(st.sampled_from([1.0, 3.6])),
               flat and draw(st.booleans()), draw(st.booleans()))


@st.composite
def tasks(draw):
    found = draw(st.lists(boxes(), min_size=1, max_size=3))
    window = draw(st.booleans())
    if window:
        found.append(Box("", 4, (lying((32, 14, 8), (0, 0, 0, 0, 10, 0), window=((20.0, 28.0), (2.0, 12.0))),
                                 lying((14, 32, 8), (0, 0, 0, 0, 10, 0), window=((2.0, 12.0), (20.0, 28.0))))))
    if draw(st.booleans()):
        found.append(Box("", 7, tuple(lying((24, 17, 9), out=("top",), seen=seen) for seen in
                                      (((3.0, 20.5), (2.0, 11.0)), ((3.5, 21.0), (6.0, 15.0))))))
    found.append(Box("", 20, (lying((30, 26, 12), lift=3.0, feet=(((1, 8), (1, 8)), ((22, 29), (18, 25)))),)))
    for _ in range(draw(st.integers(0, 2))):
        found.append(Box("", 9, (lying((24, 17, 9), (0, 0, 4, 4, 0, 0), through=(0, 0, 3.8, 3.8, 0, 0)),
                                 lying((17, 24, 9), (4, 4, 0, 0, 0, 0), through=(3.8, 3.8, 0, 0, 0, 0)))))
    places = st.sampled_from(["anywhere"] * 6 + ["front", "middle", "back", "left", "right"])
    found = [replace(box, name=f"box {k}", at=draw(places)) for k, box in enumerate(found)]
    long, width, wider = draw(st.integers(60, 260)), draw(st.integers(45, 90)), draw(st.sampled_from([0, 0, 12, 30]))
    taken = tuple(FloorZone((-8, 0), (-8 * (side > 0), 8 * (side < 0)), 1, side) for side in (1, -1))
    slim = tuple((width + k * wider / 3, long * share) for k, share in enumerate((0.9, 0.6)) if wider)
    space = Space((draw(st.integers(0, 60)), long), (width, width + wider), (0, draw(st.integers(20, 60))), taken=taken,
                  carried=draw(st.sampled_from([inf, 30.0])), slim=slim,
                  blind=(FloorZone((-15, 5), (-inf, inf)), FloorZone((-20, 0), (-inf, inf), 1)), strip=(-12.3, 11.6),
                  rim=6.2, station=draw(st.sampled_from([None, 20.0])) if window else None)
    pairs = list(combinations(range(len(found)), 2))
    wires = draw(st.lists(st.sampled_from(pairs), max_size=4, unique=True))
    aims = ("wishes",) * draw(st.booleans()) + AIMS
    return Task(tuple(found), space, tuple(wires), draw(st.sampled_from([1, 2])), aims, effort=0.05)
