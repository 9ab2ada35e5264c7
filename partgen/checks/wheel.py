"""Wheels between the rails."""

from partgen.finding import judge
from partgen.formulas.wheel import play
from partgen.plan.train import TrainPlan

LEAST_PLAY = 0.2        # mm; under this paint and dirt stop a wheel (common practice, no source)
LEAST_SHARE = 0.01      # of the gauge


def wheel_play(train: TrainPlan):
    """Hold the play between flanges and rails against what paint, dirt and a tight joint use up."""
    track = train.description.track
    limit = max(LEAST_PLAY, LEAST_SHARE * track.gauge)
    for plan in train.asked:
        wheels = plan.wheelset
        value = play(track.gauge, wheels.back_to_back, wheels.flange_thickness)
        yield judge("wheel-play", plan.name, value, limit, "min", "mm",
                    f"move the wheels together on their axle: back_to_back {wheels.back_to_back:g} -> "
                    f"{wheels.back_to_back - (limit - value):.2f} mm")
