"""A step of a lesson's slider against drawing the same figure anew: ratios in one run.

Everything between the slider and the bytes of the picture is in the step, physics included.
Drawing anew is the least that a plain redraw would do: saving the figure that is there already,
without making it again.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable
from statistics import median
from typing import Any

import pytest
from lengthwise.panels.endings_panel import endings_panel
from lengthwise.panels.landmarks_panel import landmarks_panel
from lengthwise.panels.reading_panel import reading_panel
from lengthwise.panels.supplies_panel import supplies_panel
from lengthwise.panels.trial_panel import trial_panel

LEAST = 1.5
"""A plain redraw also makes the figure again, which takes about as long as saving it."""

PANELS: dict[str, tuple[Callable[[], Any], str]] = {
    "01, place": (landmarks_panel, "place"),
    "03, depth": (reading_panel, "depth"),
    "04, contact time": (trial_panel, "contact"),
    "04, length": (trial_panel, "length"),
    "07, place": (supplies_panel, "place"),
    "07, end": (endings_panel, "end"),
}


def seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


@pytest.mark.slow
@pytest.mark.parametrize("name", PANELS)
def test_a_step_is_faster_than_saving_the_figure(
    name: str,
    record_property: Callable[[str, object], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    make, control = PANELS[name]
    panel = make()
    slider, figure = getattr(panel, control), panel.picture.live.figure
    places = [slider.min + (slider.max - slider.min) * i / 20 for i in range(21)]
    steps, redraws = [], []
    for place in places:  # side by side, so that what else the machine does meets both alike

        def move(to: float = place) -> None:
            slider.value = to

        steps.append(seconds(move))
        redraws.append(seconds(lambda: figure.savefig(io.BytesIO(), format="png")))
    ratio = median(redraws) / median(steps)
    record_property("step_ms", 1000 * median(steps))
    with capsys.disabled():
        print(f"\n  lesson {name}: {1000 * median(steps):.0f} ms, {ratio:.1f} times")  # noqa: T201
    assert ratio >= LEAST, f"only {ratio:.1f} times as fast as saving the figure"
