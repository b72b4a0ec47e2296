"""What pictures of one action after the other share: an axis with a place a step, empty lines."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.lines import Line2D


def prepare_steps(axes: Axes, shown: int) -> None:
    """Give ``axes`` a place for each of so many steps, with a grid behind what is drawn."""
    axes.set_xlim(-0.6, shown + 0.6)
    axes.set_xticks(range(shown + 1), [])
    axes.tick_params(axis="x", length=0)
    axes.grid(axis="x")
    axes.set_axisbelow(True)


def no_line(axes: Axes, **look: Any) -> Line2D:
    """A line that is drawn once and filled as things happen."""
    (line,) = axes.plot([], [], **look)
    return line
