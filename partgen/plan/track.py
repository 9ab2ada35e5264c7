"""The track's plan laid out as a line that vehicles run on."""

from functools import lru_cache

from partgen.motion.path import Path, arc, straight

LEAD = 300.0            # mm of straight before and after the curves of the plan that is made when none is given


@lru_cache(maxsize=64)
def path_of(track) -> Path:
    """Return the track's plan as a path; without one: straight, sharpest curve left, then right, straight."""
    if not track.plan:
        bend = track.min_radius
        return Path((straight(LEAD), arc(bend, 90, "left"), arc(bend, 90, "right"), straight(LEAD)))
    laid = [piece for piece in track.plan for _ in range(piece.times)]
    return Path(tuple(straight(p.length) if p.go == "straight" else arc(p.radius, p.angle, p.go) for p in laid),
                track.closed)
