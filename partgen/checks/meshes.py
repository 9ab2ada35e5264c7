"""Is every mesh a sound body: closed, one piece, as large as its solid, on the bed; do a wagon's fit together."""

from collections.abc import Iterator
from functools import partial

import numpy as np
from trimesh import Trimesh

from partgen.checks.bed import fit
from partgen.checks.sensor import clearance, cure_of, named, ways
from partgen.finding import Finding, judge
from partgen.plan.wagon import WagonPlan
from partgen.solids.built import Built
from partgen.solids.overlap import overlaps
from partgen.solids.settings import setting

VOLUME_SHARE = 0.005    # facets cut corners: half a percent is fine enough for any fit
EXACT = 0.15            # mm between a sensor's wished gap and the one that is built: half a layer, and facets
MEASURED = 0.1          # mm: what facets and the search for them take off a way that is planned just so
OVERLAP = 1.0           # mm3; facets of two round fits cross by less


def closed_mesh(built: Built) -> Iterator[Finding]:
    """Count the edges that do not join exactly two triangles in opposite directions; inside out counts too."""
    for plan, item, mesh in built.parts():
        yield judge("closed-mesh", plan.part_id(item.name), open_edges(mesh), 0, "max", "1",
                    "the kernel left a gap in this part: report it with the description; a wall or radius changed "
                    "by 0.1 mm often closes it")


def open_edges(mesh: Trimesh) -> int:
    """Return how many directed edges lack their opposite, plus one when the mesh is inside out or empty."""
    start, end = mesh.edges.T.astype(np.int64)
    edges, count = np.unique(start * len(mesh.vertices) + end, return_counts=True)
    back = edges % len(mesh.vertices) * len(mesh.vertices) + edges // len(mesh.vertices)
    place = np.minimum(np.searchsorted(edges, back), len(edges) - 1)
    opposite = np.where(edges[place] == back, count[place], 0)
    loose = np.where(count == opposite, count - 1, np.abs(count - opposite)).sum()
    return int(loose) + int(not mesh.volume > 0)


def one_body(built: Built) -> Iterator[Finding]:
    """Count the separate bodies of each mesh, inner shells of closed voids included."""
    for plan, item, mesh in built.parts():
        yield judge("one-body", plan.part_id(item.name), mesh.body_count, 1, "max", "1",
                    f"{mesh.body_count} separate bodies: enlarge the wagon or its walls so that they join")


def volume_match(built: Built) -> Iterator[Finding]:
    """Hold the mesh's volume against its solid's."""
    for plan, item, mesh in built.parts():
        solid = built.volumes[plan.name, item.name]
        yield judge("volume-match", plan.part_id(item.name), abs(mesh.volume / solid - 1), VOLUME_SHARE, "max", "1",
                    f"mesh and solid differ by {abs(mesh.volume - solid):.1f} mm3: report it with the description")


def bed(built: Built) -> Iterator[Finding]:
    """Hold every mesh in its print pose against the printer's room."""
    for plan, item, _ in built.parts():
        x, y, z = built.laid(plan, item).extents
        yield fit(plan.part_id(item.name), (x, y, z), built.train.description.printer)


def sensor_gap(built: Built) -> Iterator[Finding]:
    """Hold the gap from a sensor tray's ledge to the marker, how far the lug's slot lets its screw go, and the lowest
    setting over what lies between the rails."""
    train, track = built.train, built.train.description.track
    for plan in train.asked:
        for who, one in named(plan):
            found = setting(built, plan, one, who.part)
            gap = found.face - train.marker_top
            yield judge("sensor-gap", who, abs(gap - plan.wagon.sensor_gap), EXACT, "max", "mm",
                        f"its face is built {gap:.2f} mm over the marker instead of {plan.wagon.sensor_gap:g} mm: "
                        "report it with the description")
            cure = cure_of(train, plan, one)
            yield ways(plan, who, found.up, found.down, cure, slack=MEASURED)
            yield clearance(who, found.low - found.down - max(track.ground, train.marker_top),
                            cure, slack=MEASURED)


def interference(built: Built) -> Iterator[Finding]:
    """Hold the largest overlap of any two assembled parts of a wagon against a facet's worth."""
    for plan in built.train.wagons:
        there = tuple(built.known(plan, item) for item in plan.items if not item.loose)
        name, other, overlap = built.kept.data("overlaps", there, partial(_largest_overlap, built, plan),
                                               tuple[str, str, float])
        yield judge("interference", plan.who, overlap, OVERLAP, "max", "mm3", f"{name} and {other} overlap by "
                    f"{overlap:.1f} mm3: lengthen or widen the body by 2 mm and build again")


def _largest_overlap(built: Built, plan: WagonPlan) -> tuple[str, str, float]:
    named = [(item.name if item.count == 1 else f"{item.name} {number}", mesh)
             for item, number, mesh in built.standing(plan)]
    return max(overlaps(named), key=lambda pair: pair[-1], default=("", "", 0.0))
