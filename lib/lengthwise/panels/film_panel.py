"""Lesson 02: turn source and receptor, move the file, and see what the radiograph makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from ipywidgets import Layout, VBox

from lengthwise.bench.film import film_image
from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import Technique, off_receptor, set_up
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.film_cases import film_case
from lengthwise.panels.film_picture import FilmPicture, Scene, film_picture
from lengthwise.panels.film_words import film_sentence
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.two_columns import two_columns

PARALLEL, LEANING = "parallel to the tooth", "leaning by 30 degrees"
HIDDEN, SHOWN = "hidden", "shown"
TECHNIQUE: dict[str, Technique] = {PARALLEL: "paralleling", LEANING: "bisecting"}
FOCUS_MM = {"20 cm": 200.0, "30 cm": 300.0, "40 cm": 400.0}
GRAIN_SEED = 8
"""The same bone in every frame: only what the hand moves may change."""


@dataclass(frozen=True)
class FilmPanel:
    """The panel: its controls, its picture, its sentence.

    Attributes
    ----------
    file, vertical, horizontal, away
        The sliders: file (mm), beam (degrees), crown to receptor (mm).
    lies, focus, truth
        How the receptor lies, how far the focus is, whether the tooth is shown from its side.
    picture, sentence
        What answers.
    widget
        All of it, laid out.
    """

    file: Slider
    vertical: Slider
    horizontal: Slider
    away: Slider
    lies: Choice
    focus: Choice
    truth: Choice
    picture: FilmPicture
    sentence: Spoken
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}


@dataclass(frozen=True)
class _View:
    scene: Scene
    sentence: str


def film_panel(name: str, *, file_mm: float = 22.0, lies: str = PARALLEL) -> FilmPanel:
    """Take radiographs of one of the lesson's teeth, as many as one likes.

    Parameters
    ----------
    name
        The tooth, see `lengthwise.panels.film_cases.film_case`.
    file_mm
        Where the file's tip stands at the start (mm).
    lies
        `PARALLEL` or `LEANING`: how the receptor lies at the start.

    Returns
    -------
    FilmPanel
        Display it as the last value of a cell; its text is its sentence.

    Examples
    --------
    >>> panel = film_panel("hidden")
    >>> before = panel.sentence.text
    >>> panel.file.value = 23.0
    >>> panel.sentence.text != before, "In truth" in panel.sentence.text
    (True, False)
    >>> panel.truth.value = SHOWN
    >>> "past the foramen" in panel.sentence.text
    True
    """
    canal, outline = film_case(name)
    last = round(canal.apex_mm * 4) / 4
    file = slider("File set to", value=file_mm, low=last - 4.0, high=last + 1.5, step=0.25)
    vertical = slider(
        "Beam steeper than aimed", value=0.0, low=-20.0, high=20.0, step=1.0, unit="°"
    )
    horizontal = slider(
        "Source moved to distal", value=0.0, low=-25.0, high=25.0, step=1.0, unit="°"
    )
    away = slider("Crown to receptor", value=20.0, low=4.0, high=30.0, step=1.0)
    placed = choice("The receptor lies", [PARALLEL, LEANING], value=lies, arrangement="row")
    focus = choice("Focus to receptor", list(FOCUS_MM), value="40 cm", arrangement="row")
    truth = choice("The tooth from its side", [HIDDEN, SHOWN], value=HIDDEN, arrangement="row")
    if lies == LEANING:
        away.value, focus.value = 4.0, "20 cm"

    def look() -> _View:
        setup = set_up(
            canal,
            TECHNIQUE[placed.value],
            vertical_deg=vertical.value,
            horizontal_deg=horizontal.value,
            focus_mm=FOCUS_MM[focus.value],
            away_mm=away.value,
        )
        image = film_image(
            canal,
            outline,
            setup,
            file_length_mm=file.value,
            rng=np.random.default_rng(GRAIN_SEED),
        )
        landmarks = project_landmarks(canal, outline, setup.view, file.value)
        shown = truth.value == SHOWN
        sentence = film_sentence(
            canal, landmarks, file.value, off_receptor(setup, landmarks), shown
        )
        return _View(Scene(image, setup, file.value, shown), sentence)

    start = look()
    picture = film_picture(canal, outline, start.scene, start.sentence)
    sentence = Spoken(text=start.sentence)

    def follow(_change: object) -> None:
        view = look()
        picture.show(view.scene, view.sentence)
        sentence.text = view.sentence

    _observe((file, vertical, horizontal, away, placed, focus, truth), follow)
    hands = [file, vertical, horizontal, away, placed, focus, truth]
    both = two_columns([picture.live.widget, sentence], hands)
    widget = VBox([both], layout=Layout(width="100%"))
    return FilmPanel(
        file, vertical, horizontal, away, placed, focus, truth, picture, sentence, widget
    )


def _observe(controls: tuple[Any, ...], answer: Callable[[object], None]) -> None:
    for control in controls:
        control.observe(answer, "value")
