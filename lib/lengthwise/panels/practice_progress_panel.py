"""How it is going: level, error with interval, beliefs over time; table, sentence, and a file."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any

import numpy as np
from ipywidgets import HTML, Box, Layout, VBox
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text

from lengthwise.marking.practice_difficulty import difficulties
from lengthwise.marking.practice_progress import as_csv
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.panels.practice_progress_tables import tables_html
from lengthwise.panels.practice_progress_words import progress_sentence
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.step_axes import no_line
from lengthwise.reference import practice as q

SHOWN = 40
"""So many cases fit beside each other."""

WIDEST_MM, FURTHEST_LOGIT = 3.0, 3.0
DIFFICULTY = "◆ difficulty of each case"


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    title: Text
    level: Line2D
    sure: Line2D
    met: Line2D
    intervals: Line2D
    errors: Line2D
    missed: Line2D
    ticks: tuple[Text, ...]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        parts: list[Artist] = [self.sure, self.level, self.met, self.intervals, self.errors]
        return [*parts, self.missed, self.title, *self.ticks]

    def place(self, record: PracticeRecord) -> None:
        """Draw the last cases."""
        first = max(len(record.finished) - SHOWN, 0)
        cases = list(enumerate(record.finished[first:], start=1))
        levels = list(enumerate(record.levels[first:]))
        top = FURTHEST_LOGIT
        few = len(record.finished) < q.FIRST_LEVEL_CASES.value
        if few:  # it is not told yet, so it is not drawn
            levels = []
        self.title.set_text(DIFFICULTY if few else f"—— your level   {DIFFICULTY}")
        self.level.set_data([at for at, _ in levels], [r.logit for _, r in levels])
        self.sure.set_data(*_bars([(at, r.logit, r.sd_logit) for at, r in levels], top))
        known = [(at, difficulties()[c.kind].logit) for at, c in cases if c.kind in difficulties()]
        self.met.set_data([at for at, _ in known], [logit for _, logit in known])
        spans = [
            (at, case.error_mm, (case.high_mm - case.low_mm) / 2, bool(case.covered))
            for at, case in cases
            if case.error_mm is not None and case.high_mm is not None and case.low_mm is not None
        ]
        self.intervals.set_data(*_bars([(at, mm, half) for at, mm, half, _ in spans], WIDEST_MM))
        for artist, covered in ((self.errors, True), (self.missed, False)):
            some = [(at, mm) for at, mm, _, holds in spans if holds == covered]
            clipped = np.clip([mm for _, mm in some], -WIDEST_MM, WIDEST_MM)
            artist.set_data([at for at, _ in some], clipped)
        for place, tick in enumerate(self.ticks):
            tick.set_text(str(first + 10 * place) if place or first else "")


@dataclass(frozen=True)
class ProgressPanel:
    """The panel: its picture, its sentence, its tables, its file.

    Attributes
    ----------
    drawing, live
        The picture.
    sentence, table, file
        What answers.
    widget
        All of it, laid out.
    """

    record: PracticeRecord
    drawing: Drawing
    live: LiveFigure
    sentence: Spoken
    table: HTML
    file: HTML
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}

    def show(self) -> None:
        """Take over what has been added to the record; where nothing was, nothing is drawn."""
        told = progress_sentence(self.record)
        if told == self.sentence.text:
            return
        self.drawing.place(self.record)
        self.sentence.text = told
        self.live.show(" ".join(self.sentence.text.splitlines()))
        some = bool(self.record.finished)
        self.live.widget.layout.display = "" if some else "none"
        self.table.value = tables_html(self.record) if some else ""
        self.file.value = _file(self.record)


def progress_panel(record: PracticeRecord) -> ProgressPanel:
    """Show how it is going, ready to grow."""
    drawing = _draw()
    drawing.place(record)
    words = progress_sentence(record)
    live = live_figure(drawing.figure, drawing.moving, " ".join(words.splitlines()))
    sentence, table, file = Spoken(), HTML(), HTML()
    # Laid out by itself: while there is nothing to see it leaves no hole.
    live.widget.layout.flex, live.widget.layout.min_width = "0 1 450px", "0"
    words_beside = VBox([sentence], layout=Layout(flex="1 1 300px", min_width="0"))
    both = Box(
        [live.widget, words_beside],
        layout=Layout(display="flex", flex_flow="row wrap", grid_gap="0 20px"),
    )
    # Across the whole width: beside the picture its last columns were cut off.
    laid_out = VBox([both, table, file], layout=Layout(width="100%"))
    panel = ProgressPanel(record, drawing, live, sentence, table, file, laid_out)
    panel.show()
    return panel


def _file(record: PracticeRecord) -> str:
    if not record.finished:
        return ""
    text = as_csv(record.finished, record.levels)
    data = base64.b64encode(text.encode()).decode("ascii")
    return (
        '<p style="font-size: 16px; line-height: 1.5; overflow-wrap: anywhere">'
        '<a style="color: #0b4f8a; text-decoration: underline" download="practice.csv" '
        f'href="data:text/csv;base64,{data}">Save all cases as a table (practice.csv)</a>.</p>'
    )


def _draw() -> Drawing:
    with course_style():
        figure = Figure(figsize=(4.5, 5.2))
        level = figure.add_axes((0.15, 0.56, 0.80, 0.34))
        error = figure.add_axes((0.15, 0.09, 0.80, 0.34))
        for axes in (level, error):
            axes.set_xlim(-0.6, SHOWN + 0.6)
            axes.set_xticks(range(0, SHOWN + 1, 10), [])
            axes.axhline(0, color="#9a9a9a", lw=1)
        level.set_ylim(-FURTHEST_LOGIT, FURTHEST_LOGIT)
        title = level.set_title("", loc="left", fontsize=12)
        level.set_ylabel("level")
        error.set_ylim(WIDEST_MM, -WIDEST_MM)
        error.set_ylabel("mm from the foramen")
        error.set_title(
            "● middle of your interval, ✕ if it misses\nabove 0: short; below: long",
            loc="left", fontsize=12,
        )  # fmt: skip
        colour = cue_for("point_trial").colour
        return Drawing(
            figure,
            title,
            no_line(level, color=INK, lw=2),
            no_line(level, color="#b5b5b5", lw=2),
            no_line(level, color=cue_for("working_film").colour, marker="D", ls="", ms=5),
            no_line(error, color=colour, lw=3, alpha=0.45),
            no_line(error, color=colour, marker="o", ls="", ms=6),
            no_line(error, color=INK, marker="x", ls="", ms=8, mew=2),
            tuple(
                error.text(10 * at, WIDEST_MM + 0.15, "", ha="center", va="top", clip_on=False)
                for at in range(SHOWN // 10 + 1)
            ),
        )


def _bars(
    spans: list[tuple[int, float, float]], furthest: float
) -> tuple[list[float], list[float]]:
    """Upright bars around values, kept inside the picture."""
    xs, ys = list[float](), list[float]()
    for at, middle, half in spans:
        ends = np.clip([middle - half, middle + half], -furthest, furthest)
        xs += [at, at, np.nan]
        ys += [*ends, np.nan]
    return xs, ys
