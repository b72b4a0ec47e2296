"""The picture of practice: one time line of everything that was done, and what it said of length.

The first place is the radiograph before treatment; every action adds one. Below stand bleeding and
the actions with the minutes they took. The student's own answer lies across it; the foramen and
what the evidence supports are drawn only when a case has been answered.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from lengthwise.evidence import ElectronicReading, PointTrial, WorkingFilm
from lengthwise.marking.practice_chair import Done, Sitting
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.panels.practice_words import tick_of
from lengthwise.panels.step_axes import no_line, prepare_steps
from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.trace_quality import assess_trace

SHOWN = 12
"""So many actions fit beside each other; earlier ones leave the picture on the left."""

ABOVE_MM, BELOW_MM = 7.0, 1.0
HATCHES = {"oozing": "///", "brisk": "xxxx"}
NOTHING_YET = "Choose what to do, press Do it:\nit appears here."
POINT, SIGNAL = cue_for("point_trial"), cue_for("electronic_reading")
BEFORE, FILM = cue_for("preoperative_film"), cue_for("working_film")
BEHIND = {"fc": "#ffffff", "ec": "none", "pad": 2.0}
LEGEND = (
    "■ ◆ end of the root on a radiograph\n● foramen signal of a reading\n"
    "▲ a mark ends; bar: its wet part  ▽ dry\n✕ tells no length  hatched: your interval"
)


@dataclass(frozen=True)
class Answer:
    """What the student is about to answer (mm); None while no length is meant."""

    low_mm: float
    high_mm: float
    length_mm: float


@dataclass(frozen=True)
class Opened:
    """What is seen once a case has been answered."""

    foramen_mm: float
    result: Reconciliation


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    ticks: tuple[Text, ...]
    blood: dict[str, PolyCollection]
    interval: Rectangle
    length: Line2D
    supported: Line2D
    foramen: Line2D
    before: Line2D
    roots: Line2D
    signals: Line2D
    wet_parts: Line2D
    marks: Line2D
    dry: Line2D
    no_length: Line2D
    nothing_yet: Text
    words: Text

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        below: list[Artist] = [self.interval, self.length, self.supported, self.foramen]
        seen = [
            self.wet_parts,
            self.before,
            self.roots,
            self.signals,
            self.dry,
            self.marks,
            self.no_length,
        ]
        return [*self.blood.values(), *below, *seen, self.nothing_yet, self.words, *self.ticks]

    def place(self, sitting: Sitting) -> None:
        """Draw what was done; of what no longer fits, the films and readings stand on the left."""
        first = max(len(sitting.done) - SHOWN, 0)
        done = sitting.done[first:]
        told = ["before: film" if not first else "…", *map(tick_of, done)]
        for place, tick in enumerate(self.ticks):
            tick.set_text(told[place] if place < len(told) else "")
        for word, cells in self.blood.items():
            cells.set_verts([_cell(at) for at, e in enumerate(done, 1) if e.bleeding == word])
        self._place_found([(max(at - first, 0), e) for at, e in enumerate(sitting.done, start=1)])
        self.nothing_yet.set_text("" if done else NOTHING_YET)

    def _place_found(self, done: list[tuple[int, Done]]) -> None:
        records = [(at, each.record) for at, each in done]
        films = [(at, r) for at, r in records if isinstance(r, WorkingFilm)]
        ends = [r.file_length_mm + r.tip_short_of_radiographic_apex_mm for _, r in films]
        self.roots.set_data([at for at, _ in films], ends)
        signals = [
            (at, assess_trace(r).signal_mm) for at, r in records if isinstance(r, ElectronicReading)
        ]
        came = [(at, mm) for at, mm in signals if mm is not None]
        self.signals.set_data([at for at, _ in came], [mm for _, mm in came])
        trials = [(at, r) for at, r in records if at and isinstance(r, PointTrial)]
        told = ("tip_straight", "tip_oblique")
        wet = [(at, r.length_mm - r.wet_mm, r.length_mm) for at, r in trials if r.mark_site in told]
        self.marks.set_data([at for at, *_ in wet], [end for _, end, _ in wet])
        self.wet_parts.set_data(
            [x for at, *_ in wet for x in (at, at, np.nan)],
            [y for _, end, tip in wet for y in (end, tip, np.nan)],
        )
        for artist, sites in ((self.dry, ("none",)), (self.no_length, ("side", "whole"))):
            some = [(at, r.length_mm) for at, r in trials if r.mark_site in sites]
            artist.set_data([at for at, _ in some], [mm for _, mm in some])

    def place_answer(self, answer: Answer | None, opened: Opened | None) -> None:
        """Draw the answer, and the truth where it may be seen."""
        across = [-1.0, SHOWN + 1.0]
        self.interval.set_visible(answer is not None)
        if answer is not None:
            self.interval.set_y(answer.low_mm)
            self.interval.set_height(answer.high_mm - answer.low_mm)
        length = [] if answer is None else [answer.length_mm] * 2
        self.length.set_data(across[: len(length)], length)
        supported = opened.result.working_length_mm if opened else None
        said = [] if supported is None else [supported] * 2
        self.supported.set_data(across[: len(said)], said)
        foramen = [] if opened is None else [opened.foramen_mm] * 2
        self.foramen.set_data(across[: len(foramen)], foramen)
        words = "" if answer is None else "thin line: your working length"
        if opened is not None:
            words += f"\nthick line: foramen, {opened.foramen_mm:.1f} mm"
            if supported is not None:
                words += f"\ndotted: supported length, {supported:.2f} mm"
        self.words.set_text(words.strip())


@dataclass(frozen=True)
class PracticePicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def grow(self, sitting: Sitting) -> None:
        """Take over what was done last; `show` sends it."""
        self.drawing.place(sitting)

    def show(self, answer: Answer | None, opened: Opened | None, sentence: str) -> None:
        """Draw the answer, and send the picture with the sentence that says so."""
        self.drawing.place_answer(answer, opened)
        self.live.show(sentence)


def practice_picture(sitting: Sitting, sentence: str) -> PracticePicture:
    """Draw the time line of a case, ready to grow."""
    drawing = draw_practice(sitting)
    return PracticePicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_practice(sitting: Sitting) -> Drawing:
    """Draw the plain figure of a sitting."""
    tooth = sitting.case.record.tooth_length_mm
    with course_style():
        figure = Figure(figsize=(4.5, 6.4))
        lengths = figure.add_axes((0.15, 0.265, 0.84, 0.58))
        bleeding = figure.add_axes((0.15, 0.2, 0.84, 0.035))
        for axes in (lengths, bleeding):
            prepare_steps(axes, SHOWN)
        lengths.set_ylim(np.ceil(tooth) + BELOW_MM, np.floor(tooth) - ABOVE_MM)
        lengths.set_ylabel("length from the reference (mm)")
        lengths.set_title(LEGEND, loc="left", fontsize=12)
        bleeding.set_ylim(0, 1)
        bleeding.set_yticks([0.5], ["blood"])
        bleeding.tick_params(axis="y", length=0)
        interval = Rectangle((-1, 0), SHOWN + 2, 0, fc="none", ec="#8a8a8a", hatch="//", lw=1)
        lengths.add_patch(interval)
        drawing = Drawing(
            figure=figure,
            ticks=tuple(
                bleeding.text(at, -0.3, "", rotation=90, ha="center", va="top", clip_on=False)
                for at in range(SHOWN + 1)
            ),
            blood={word: _cells(bleeding, hatch) for word, hatch in HATCHES.items()},
            interval=interval,
            length=no_line(lengths, color=INK, lw=1.4),
            supported=no_line(lengths, color=INK, lw=2, ls=(0, (1, 2))),
            foramen=no_line(lengths, color=INK, lw=3.2),
            before=no_line(lengths, color=BEFORE.colour, marker=BEFORE.marker, ls="", ms=9),
            roots=no_line(lengths, color=FILM.colour, marker=FILM.marker, ls="", ms=9),
            signals=no_line(lengths, color=SIGNAL.colour, marker=SIGNAL.marker, ls="", ms=10),
            wet_parts=no_line(lengths, color=POINT.colour, lw=5, alpha=0.45, solid_capstyle="butt"),
            marks=no_line(lengths, color=POINT.colour, marker="^", ls="", ms=9),
            dry=no_line(lengths, color=POINT.colour, marker="v", ls="", ms=9, mfc="white", mew=2),
            no_length=no_line(lengths, color=INK, marker="x", ls="", ms=9, mew=2.5),
            nothing_yet=lengths.text(
                SHOWN / 2 + 0.5, tooth - 4.5, NOTHING_YET, ha="center", va="center"
            ),
            words=lengths.text(SHOWN + 0.4, np.floor(tooth) - ABOVE_MM + 0.15, "", ha="right",
                               va="top", fontsize=11, bbox=BEHIND),
        )  # fmt: skip
        drawing.before.set_data([0], [tooth])
        drawing.place(sitting)
        drawing.place_answer(None, None)
    return drawing


def _cells(axes: Axes, hatch: str) -> PolyCollection:
    cells = PolyCollection([], fc="white", ec="#701f00", lw=1.0, hatch=hatch)
    axes.add_collection(cells)
    return cells


def _cell(at: int) -> list[tuple[float, float]]:
    return [(at - 0.5, 0.05), (at + 0.5, 0.05), (at + 0.5, 0.95), (at - 0.5, 0.95)]
