"""What is shown below a practice case once it has been answered: the ruler and the chart."""

from __future__ import annotations

from ipywidgets import Widget

from lengthwise.marking.practice_chair import Sitting
from lengthwise.marking.practice_marks import Verdict
from lengthwise.panels.practice_layout import head
from lengthwise.panels.practice_words import ruler_words
from lengthwise.panels.ruler_panel import ruler_panel
from lengthwise.panels.ruler_words import recommends_a_length
from lengthwise.panels.spoken import Spoken


def shown_after(sitting: Sitting, found: Verdict) -> tuple[Widget, ...]:
    """Weigh everything of a case anew, on a ruler, with the line for the chart."""
    ruler = ruler_panel(
        found.result.evidence, moves="preoperative film", offers=recommends_a_length
    )
    return (
        head("On one ruler"),
        Spoken(text=ruler_words(sitting)),
        ruler.widget,
        Spoken(text=f"Chart: {found.result.chart_line}"),
    )
