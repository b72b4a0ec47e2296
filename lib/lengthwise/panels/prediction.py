"""Commit an answer first; only then the panel shows what the sources say.

Looking is easy to mistake for having known. Who has written a number down before the answer is
shown can compare the two, above all the width of the interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from ipywidgets import Button, VBox

from lengthwise.panels.asked_first import COMMITTED, Behind, hide
from lengthwise.panels.check_items import text_button
from lengthwise.panels.ruler_panel import RulerPanel
from lengthwise.panels.ruler_words import count_past
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.reconciliation import Reconciliation

BEFORE = "Set the two sliders, then commit. The ruler appears then, further down, below its tasks."
NOT_MOVED = (
    "At least one of the two sliders still stands where it stood when you came. Move both to the "
    "interval that you would stand behind, even if you come back to these; then commit."
)
MUCH_TOO_NARROW = 0.7
MUCH_TOO_WIDE = 1.8
ENOUGH = 0.85


@dataclass(frozen=True)
class Prediction:
    """An interval to commit to, and the panel behind it.

    Attributes
    ----------
    low, high
        The ends of the interval that the student would stand behind nine times in ten (mm).
    button, answer
        Commit, and what is said about it.
    panel, behind
        Hidden until then; a cell of its own shows it in its place.
    widget
        The question, laid out.
    """

    low: Slider
    high: Slider
    button: Button
    answer: Spoken
    panel: RulerPanel
    behind: Behind
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.answer.text}


def predict(result: Reconciliation, panel: RulerPanel) -> Prediction:
    """Ask for an interval of the foramen before the panel is shown.

    Parameters
    ----------
    result
        The reconciliation of the case as it was written down.
    panel
        The panel of the same case.

    Returns
    -------
    Prediction
        Display it as the last value of a cell.
    """
    ruler = panel.picture.drawing.ruler_mm
    middle = float(ruler[len(ruler) // 2])
    # on whole tenths, so that what is typed is what is committed
    first, last = np.ceil(ruler[0] * 10) / 10, np.floor(ruler[-1] * 10) / 10
    low, high = (
        slider(label, value=start, low=float(first), high=float(last), step=0.1)
        for label, start in (
            ("The foramen lies at least at", middle - 2.0),
            ("and at most at", middle + 2.0),
        )
    )
    button, answer = text_button("Commit my interval"), Spoken(text=BEFORE)
    behind = hide(panel)

    def commit(_button: object) -> None:
        if not (low.touched and high.touched):
            answer.say(NOT_MOVED)
            return
        if low.value >= high.value:
            answer.say(
                f"The interval runs from {low.value:.1f} to {high.value:.1f} mm: "
                "make the first end the smaller one, then commit."
            )
            return
        answer.say(comparison(result, low.value, high.value))
        low.disabled = high.disabled = True
        button.description = COMMITTED
        behind.reveal()

    button.on_click(commit)
    widget = VBox([low, high, button, answer])
    return Prediction(low, high, button, answer, panel, behind, widget)


def comparison(result: Reconciliation, low_mm: float, high_mm: float) -> str:
    """Compare an interval with the one that the sources support; never just right or wrong.

    Examples
    --------
    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation import reconcile
    >>> result = reconcile(Evidence.from_json('''{"schema": "lengthwise/evidence/1",
    ...     "tooth": "13", "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 25.0}]}'''))
    >>> "would be wrong more often than you think" in comparison(result, 25.0, 25.2)
    True
    """
    best_low, best_high = result.interval_mm()
    holds = result.probability_past(high_mm) - result.probability_past(low_mm)
    said = (
        f"You said {low_mm:.1f} to {high_mm:.1f} mm. All sources together support "
        f"{best_low:.1f} to {best_high:.1f} mm; your interval holds the foramen in "
        f"{count_past(holds)}."
    )
    width, best = high_mm - low_mm, best_high - best_low
    middle = (low_mm + high_mm) / 2
    side = "near" if middle < (best_low + best_high) / 2 else "far from"
    pulled = (
        f" It lies too {side} the crown: look which source pulled you there, and drop it on the "
        "ruler."
    )
    if not best_low <= middle <= best_high and holds < ENOUGH:
        return said + pulled
    if width < MUCH_TOO_NARROW * best:
        return said + " An interval this narrow would be wrong more often than you think."
    if holds >= ENOUGH and width > MUCH_TOO_WIDE * best:
        return (
            said
            + " It leaves little out, but it is wider than what these sources leave open: try to "
            "promise a little more."
        )
    if holds >= ENOUGH:
        return said + " You could stand behind it nine times in ten."
    out = "smaller number smaller" if side == "far from" else "larger number larger"
    return said + f" It lies where the sources point, but leaves out too much: make its {out}."
