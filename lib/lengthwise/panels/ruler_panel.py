"""Lesson 06: every source on one ruler; drop or distrust one and the answer moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from ipywidgets import HTML, Layout, VBox

from lengthwise.evidence import Evidence
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.moves import Move, move
from lengthwise.panels.ruler_picture import Answer, Floats, Hill, RulerPicture, ruler_picture
from lengthwise.panels.ruler_words import (
    DISTRUST,
    DROP,
    KEEP,
    LANDMARKS,
    TableRow,
    answer_words,
    doubts,
    live_sentence,
    plain_mean_mm,
    table_html,
    takes_a_length,
)
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.two_columns import two_columns
from lengthwise.reconciliation import Reconciliation, Source, reconcile_sources, sources_of
from lengthwise.reconciliation.families import Canal, canal_of
from lengthwise.reconciliation.result_view import place_mm
from lengthwise.reconciliation.ridges import Ridge, ridges_of

MEASURED, CARRIED = "where it was measured", "carried to the foramen"
DISTRUST_TO = 0.2
"""What "distrust" leaves of a source: one chance in five that it is sound."""

RULER_STEP_MM = 0.025
HALF_RULER_MM = 3.25


@dataclass(frozen=True)
class RulerPanel:
    """The panel: its controls, its picture, its sentence, its table.

    Attributes
    ----------
    carried
        Shows each source on its own landmark or carried to the foramen.
    moved, target
        The sliders.
    trust
        Keep, distrust or drop, one control for each source.
    picture, sentence, verdict, table
        What answers. The verdict and the table follow when the hand lets go.
    widget
        All of it, laid out.
    """

    carried: Choice
    moved: Slider
    target: Slider
    trust: tuple[Choice, ...]
    picture: RulerPicture
    sentence: Spoken
    verdict: Spoken
    table: HTML
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}


@dataclass(frozen=True)
class _View:
    """Everything that one position of the controls comes to."""

    sources: tuple[Source, ...]
    result: Reconciliation
    hills: tuple[Hill, ...]
    answer: Answer
    sentence: str


def ruler_panel(
    evidence: Evidence,
    *,
    moves: str = "reading",
    target_mm: float = 0.5,
    shown: str = CARRIED,
    offers: Callable[[Reconciliation], bool] = takes_a_length,
) -> RulerPanel:
    """Lay all sources of a case on one ruler.

    Parameters
    ----------
    evidence
        The case.
    moves
        What the first slider moves, see `lengthwise.panels.moves.MOVABLE`.
    target_mm
        The school's distance of the working length from the foramen (mm) at the start.
    shown
        `MEASURED` or `CARRIED`: how the sources are shown at the start.
    offers
        Where a length is drawn: `takes_a_length` answers at once, `recommends_a_length` says the
        same as the verdict and takes longer.

    Returns
    -------
    RulerPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If the case has no record of the kind that is to be moved.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "working_film", "file_length_mm": 25.0,
    ...      "tip_short_of_radiographic_apex_mm": 1.0},
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 25.0}]}''')
    >>> panel = ruler_panel(case)
    >>> before = panel.sentence.text
    >>> panel.trust[-1].value = "drop"
    >>> panel.sentence.text != before, "Dropped: electronic reading" in panel.sentence.text
    (True, True)
    """
    moving = move(evidence, moves)
    names = [source.name for source in sources_of(evidence)]
    carried = choice("Show each source", [MEASURED, CARRIED], value=shown)
    moved = _move_slider(moving)
    target = slider(
        "Working length short of the foramen by", value=target_mm, low=0.0, high=2.0, step=0.25
    )
    trust = tuple(
        choice(_capital(name), [KEEP, DISTRUST, DROP], value=KEEP, arrangement="row")
        for name in names
    )

    def look() -> _View:
        chosen = [control.value for control in trust]
        case, on_foramen = moving.applied(moved.value), carried.value == CARRIED
        return _view(case, ruler_mm, chosen, target.value, on_foramen, offers)

    ruler_mm = _ruler_around(evidence)
    start = look()
    picture = ruler_picture(
        ruler_mm,
        [(source.name, source.kind) for source in start.sources],
        start.hills,
        start.answer,
        start.sentence,
    )
    sentence, verdict, table = Spoken(text=start.sentence), Spoken(), HTML()

    def follow(_change: object) -> None:
        view = look()
        picture.show(view.hills, view.answer, view.sentence)
        sentence.text = view.sentence

    def sum_up(_change: object) -> None:
        view = look()
        rows = _table_rows(view)
        verdict.text = doubts(view.result, rows)
        table.value = table_html(view.result, rows)

    _observe((moved, target), "value", follow)
    _observe((moved, target), "settled", sum_up)
    _observe((carried, *trust), "value", follow)
    _observe(trust, "value", sum_up)
    sum_up(None)
    widget = _laid_out(picture, sentence, verdict, table, (moved, target, carried), trust)
    return RulerPanel(carried, moved, target, trust, picture, sentence, verdict, table, widget)


def _move_slider(moving: Move) -> Slider:
    return slider(
        moving.label,
        value=moving.start,
        low=moving.low,
        high=moving.high,
        step=moving.step,
        unit=moving.unit,
    )


def _observe(controls: tuple[Any, ...], trait: str, answer: Callable[[object], None]) -> None:
    for control in controls:
        control.observe(answer, trait)


def _ruler_around(evidence: Evidence) -> Floats:
    """The ruler: whole half millimetres, wide enough for what the sources say."""
    result = reconcile_sources(evidence, [sources_of(evidence)])[0]
    middle = round(result.foramen_mm * 2) / 2
    count = round(2 * HALF_RULER_MM / RULER_STEP_MM) + 1
    return np.asarray(middle - HALF_RULER_MM + RULER_STEP_MM * np.arange(count))


def _view(
    evidence: Evidence,
    ruler_mm: Floats,
    chosen: list[str],
    target_mm: float,
    carried: bool,
    offers: Callable[[Reconciliation], bool],
) -> _View:
    sources = tuple(
        source.distrusted(min(source.trust, DISTRUST_TO)) if choice_ == DISTRUST else source
        for source, choice_ in zip(sources_of(evidence), chosen, strict=True)
    )
    kept = tuple(source for source, choice_ in zip(sources, chosen, strict=True) if choice_ != DROP)
    result = reconcile_sources(evidence, [kept], target_mm=target_mm)[0]
    hills = tuple(
        _hill(alone(canal_of(evidence, (source,))), choice_, ruler_mm, carried)
        for source, choice_ in zip(sources, chosen, strict=True)
    )
    mean_mm, offered = plain_mean_mm(evidence, kept), offers(result)
    answer = Answer(
        np.interp(ruler_mm, result.grid_mm, result.density_per_mm, left=0.0, right=0.0),
        result.best_length_mm if offered else None,
        answer_words(result, offered),
        mean_mm,
    )
    dropped = [s.name for s, choice_ in zip(sources, chosen, strict=True) if choice_ == DROP]
    return _View(sources, result, hills, answer, live_sentence(result, mean_mm, dropped, offered))


@lru_cache(maxsize=256)
def alone(canal: Canal) -> Ridge:
    """Weigh a canal's only source; kept, because a panel asks for most of them again and again."""
    return ridges_of(canal)[0]


def middle_and_spread(grid_mm: Floats, density: Floats) -> tuple[float, float]:
    """Give the mean and the standard deviation (mm) of a density on a grid.

    Examples
    --------
    >>> middle_and_spread(np.array([1.0, 2.0, 3.0]), np.array([0.0, 1.0, 0.0]))
    (2.0, 0.0)
    """
    weights = density / density.sum()
    mean = float(grid_mm @ weights)
    return mean, float(np.sqrt((grid_mm - mean) ** 2 @ weights))


def _hill(ridge: Ridge, chosen: str, ruler_mm: Floats, carried: bool) -> Hill:
    own = ridge.foramen_per_mm if carried else ridge.landmark_per_mm
    middle, spread = middle_and_spread(ridge.grid_mm, own)
    density = np.interp(ruler_mm, ridge.grid_mm, own, left=0.0, right=0.0)
    said = place_mm(middle, spread)
    if not carried:
        said = f"{LANDMARKS[ridge.source.kind]} {middle:.1f} mm"
    if chosen == DROP:
        return Hill(density, None, "dropped", 0.0)
    if chosen == DISTRUST:
        return Hill(density, middle, f"distrusted {middle:.1f} mm", 0.4)
    return Hill(density, middle, said, 1.0)


def _table_rows(view: _View) -> list[TableRow]:
    rows = []
    for source in view.sources:
        own = alone(canal_of(view.result.evidence, (source,)))
        middle, spread = middle_and_spread(own.grid_mm, own.foramen_per_mm)
        rows.append(TableRow(source.name, source.kind, middle, spread))
    return rows


def _laid_out(
    picture: RulerPicture,
    sentence: Spoken,
    verdict: Spoken,
    table: HTML,
    sliders: tuple[Any, ...],
    trust: tuple[Choice, ...],
) -> VBox:
    both = two_columns([picture.live.widget, sentence], [*sliders, *trust])
    return VBox([both, verdict, table], layout=Layout(width="100%"))


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]
