"""The head of a panel on any of our sheets: its title, the unit beside it, and no frame but the axis of time or throttle."""

from __future__ import annotations

from matplotlib.axes import Axes

from quadsim.report import palette


def head_panel(ax: Axes, title: str, unit: str) -> None:
    """Write title and unit above the axes and take the other three sides of its frame away."""
    for side in ("top", "right", "left"):
        ax.spines[side].set_visible(False)
    written = ax.text(0.0, 1.035, title, transform=ax.transAxes, fontsize=7.8, fontweight="bold", va="bottom")
    ax.annotate(
        unit, (1.0, 0.0), xycoords=written, xytext=(5.0, 0.0), textcoords="offset points", va="bottom",
        color=palette.INK_SOFT, fontsize=7.0,
    )  # fmt: skip
