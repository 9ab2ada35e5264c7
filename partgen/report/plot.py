"""Plots that a maker understands at a glance: how well each limit holds over the wheelbase."""

from pathlib import Path

from partgen.report.sheet import save

INK, GREEN, PALE = "#2b2a27", "#2f5d4a", "#c4bfb3"
LINES = ("#a8651a", "#44586e", "#a3312a", "#7a5c8a", "#b08a2e", "#2f5d4a", "#6b665a")


def margins(tuning, reserves, path: Path) -> None:
    """Draw each check's margin over the variable, the working interval shaded; write PNG and SVG beside `path`.

    `tuning` is a Tuning, `reserves` by check its margin at every sample as a share of its largest. The bytes
    repeat from run to run.
    """
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot
    matplotlib.rcParams |= {"svg.hashsalt": "partgen", "text.parse_math": False}      # "$" is one in a name
    figure, axes = pyplot.subplots(figsize=(8, 4.6), layout="constrained")
    values = [sample.value for sample in tuning.samples]
    least = [100 * min(shares) for shares in zip(*reserves.values())]
    axes.axvspan(tuning.low, tuning.high, color=GREEN, alpha=0.10)
    axes.fill_between(values, 0, least, color=GREEN, alpha=0.16, linewidth=0)
    _lines(axes, values, reserves)
    axes.axhline(0, color=INK, linewidth=0.8)
    axes.axvline(tuning.now, color=INK, linewidth=1.0, linestyle=":", label=f"described: {tuning.now:g} mm")
    axes.axvline(tuning.best, color=GREEN, linewidth=1.4, linestyle="--")
    axes.annotate(f"best {tuning.best:.1f} mm", (tuning.best, 0.0), xycoords=("data", "axes fraction"), ha="center",
                  xytext=(0, 24), textcoords="offset points", color=GREEN, weight="bold",
                  bbox={"boxstyle": "round,pad=0.3", "fc": "white", "ec": "none", "alpha": 0.9})
    _ends(axes, tuning)
    axes.set_xlabel(f"{tuning.variable.replace('_', ' ')} of {tuning.wagon} [mm]")
    axes.set_ylabel("margin left, of its largest [%]")
    axes.set_ylim(-4, 104)
    axes.margins(x=0.09)
    axes.set_title(f"{tuning.wagon}: works from {tuning.low:.1f} to {tuning.high:.1f} mm", loc="left", color=INK)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(frameon=False, fontsize=9, loc="upper center", bbox_to_anchor=(0.5, -0.13), ncols=5)
    save(figure, *(path.with_name(path.name + suffix) for suffix in (".png", ".svg")))
    pyplot.close(figure)


def _lines(axes, values, reserves):
    """Draw a line a check: in colour those that are the smallest somewhere or fall by half, the others pale."""
    smallest = {min(reserves, key=lambda check, k=k: reserves[check][k]) for k in range(len(values))}
    telling = [check for check, shares in reserves.items() if check in smallest or min(shares) < 0.5]
    pale = [check for check in reserves if check not in telling]
    for check in pale:
        axes.plot(values, 100 * reserves[check], color=PALE, linewidth=1.0,
                  label=f"{len(pale)} others, never near" if check == pale[0] else None)
    for check, colour in zip(telling, LINES * 3):
        axes.plot(values, 100 * reserves[check], color=colour, linewidth=2.0, label=check)


def _ends(axes, tuning):
    """Write beside each end of the interval what binds there."""
    for value, binding, side in ((tuning.low, tuning.low_binds, "right"), (tuning.high, tuning.high_binds, "left")):
        if binding:
            axes.annotate(f"{binding.check} binds", (value, 0.5), xycoords=("data", "axes fraction"), ha=side, va="center",
                          rotation=90, xytext=(-4 if side == "right" else 4, 0), textcoords="offset points", fontsize=9,
                          color=INK)
