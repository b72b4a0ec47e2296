"""A step of a lesson's slider against drawing the same figure anew: ratios in one run.

Everything between the slider and the bytes of the picture is in the step, physics included.
Drawing anew is the least that a plain redraw would do: saving the figure that is there already,
without making it again.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from tempfile import mkdtemp
from typing import Any

import pytest
from lengthwise.marking.practice_ways import begin
from lengthwise.panels.endings_panel import endings_panel
from lengthwise.panels.film_panel import film_panel
from lengthwise.panels.landmarks_panel import landmarks_panel
from lengthwise.panels.lesson import open_lesson
from lengthwise.panels.practice_controls import ANSWERS
from lengthwise.panels.practice_page import open_practice
from lengthwise.panels.practice_picture import PracticePicture
from lengthwise.panels.reading_panel import reading_panel
from lengthwise.panels.ruler_panel import ruler_panel
from lengthwise.panels.ruler_words import recommends_a_length
from lengthwise.panels.slider import Slider
from lengthwise.panels.supplies_panel import supplies_panel
from lengthwise.panels.trial_panel import trial_panel

LEAST = 1.5
"""A plain redraw also makes the figure again, which takes about as long as saving it."""

LESSONS = Path(__file__).resolve().parents[2] / "course" / "lessons"
GOAL_MS = 50.0


@dataclass(frozen=True)
class Case:
    """The practice panel, with names as the other panels have them."""

    low: Slider
    picture: PracticePicture


def ruler() -> Any:
    return open_lesson("06_one_ruler", LESSONS).ruler("odd one", "reading")


def practice() -> Case:
    page = open_practice(Path(mkdtemp()), seed=3).case
    page.controls.answer.value = next(iter(ANSWERS))
    return Case(page.controls.low, page.desk.picture)


def practice_ruler() -> Any:
    evidence = begin("tried", 7).evidence()
    return ruler_panel(evidence, moves="preoperative film", offers=recommends_a_length)


PANELS: dict[str, tuple[Callable[[], Any], str]] = {
    "01, place": (landmarks_panel, "place"),
    "02, source": (lambda: film_panel("hidden"), "horizontal"),
    "03, depth": (reading_panel, "depth"),
    "04, contact time": (trial_panel, "contact"),
    "04, length": (trial_panel, "length"),
    "06, reading": (ruler, "moved"),
    "06, target": (ruler, "target"),
    "07, place": (supplies_panel, "place"),
    "07, end": (endings_panel, "end"),
    "practice, interval": (practice, "low"),
    "practice, ruler": (practice_ruler, "moved"),
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
    places = [slider.min + (slider.max - slider.min) * i / 6 for i in range(7)]
    steps, redraws = [], []
    for place in places:  # side by side, so that what else the machine does meets both alike

        def move(to: float = place) -> None:
            slider.value = to

        steps.append(seconds(move))
        redraws.append(seconds(lambda: figure.savefig(io.BytesIO(), format="png")))
    ratio = median(redraws) / median(steps)
    record_property("step_ms", 1000 * median(steps))
    with capsys.disabled():
        print(  # noqa: T201
            f"\n  {name}: {1000 * median(steps):.0f} ms in the kernel (goal {GOAL_MS:.0f}), "
            f"{ratio:.1f} times as fast as saving the figure"
        )
    assert ratio >= LEAST, f"only {ratio:.1f} times as fast as saving the figure"
