"""Plots that a maker understands at a glance: how well each limit holds over the wheelbase."""

import os
from pathlib import Path

INK, GREEN, LINES = "#2b2a27", "#2f5d4a", ("#a8651a", "#2f5d4a", "#44586e", "#a3312a", "#7a5c8a", "#6b665a", "#b08a2e")


def margins(tuning, checks, path: Path) -> tuple[Path, ...]:
    """Draw each check's margin over the variable, the working interval shaded; write PNG and SVG beside `path`.

    `tuning` is a Tuning, `checks` the ids worth a line. The bytes repeat from run to run.
    """
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot
    matplotlib.rcParams["svg.hashsalt"] = "partgen"
    figure, axes = pyplot.subplots(figsize=(8, 4.6), layout="constrained")
    values = [sample.value for sample in tuning.samples]
    axes.axvspan(tuning.low, tuning.high, color=GREEN, alpha=0.10, label="works")
    for check, colour in zip(checks, LINES * 3):
        shares = [100 * min(sample.margins.get(check, float("nan")), 1.0) for sample in tuning.samples]
        axes.plot(values, shares, color=colour, linewidth=1.8, label=check)
    axes.axhline(0, color=INK, linewidth=0.8)
    axes.axvline(tuning.best, color=GREEN, linewidth=1.4, linestyle="--")
    axes.annotate(f"best {tuning.best:.1f} mm", (tuning.best, 1.0), xycoords=("data", "axes fraction"),
                  xytext=(4, -12), textcoords="offset points", color=GREEN)
    _ends(axes, tuning)
    axes.set_xlabel(f"{tuning.variable.replace('_', ' ')} of {tuning.wagon} [mm]")
    axes.set_ylabel("margin, share of the limit [%]")
    axes.set_title(f"{tuning.wagon}: works from {tuning.low:.1f} to {tuning.high:.1f} mm", loc="left", color=INK)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(frameon=False, fontsize=9, ncols=2)
    written = []
    for suffix in (".png", ".svg"):
        target = path.with_name(path.name + suffix)
        fresh = target.with_name(f".{target.name}.{os.getpid()}")
        figure.savefig(fresh, format=suffix[1:], dpi=150, metadata={"Software": None} if suffix == ".png" else
                       {"Date": None, "Creator": "partgen"})
        fresh.replace(target)
        written.append(target)
    pyplot.close(figure)
    return tuple(written)


def _ends(axes, tuning):
    """Write at each end of the interval what binds there."""
    for value, binding, side in ((tuning.low, tuning.low_binds, "left"), (tuning.high, tuning.high_binds, "right")):
        if binding:
            axes.annotate(binding.check, (value, 0.0), xycoords=("data", "axes fraction"), ha=side,
                          xytext=(4 if side == "left" else -4, 6), textcoords="offset points", fontsize=9, color=INK)
