"""Lesson 04: set a point, leave it, look at its mark; try points by hand and write them down."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from ipywidgets import HTML, Box, Button, Layout, VBox

from lengthwise.bench.canal_state import CanalState
from lengthwise.bench.point_actions import TryPoint
from lengthwise.bench.points import step
from lengthwise.evidence import PointTrial
from lengthwise.panels.check_items import text_button
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.player import Player, player
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.trial_case import (
    FURTHEST_MM,
    Liquid,
    Meeting,
    lesson_state,
    meet,
)
from lengthwise.panels.trial_picture import TrialPicture, trial_picture
from lengthwise.panels.trial_words import log_sheet, sentence_of, summary_of
from lengthwise.panels.two_columns import two_columns

LIQUIDS: dict[str, Liquid] = {
    "nothing: dry, it touches tissue": "tissue",
    "blood, standing free": "blood",
    "water, left behind": "water",
}
SIZES = ("15", "20", "25", "30", "40", "50")
SHORTEST_MM, STEP_MM = 22.5, 0.25
START_MM, START_SIZE = 24.5, "20"
BRIEF_S, LONGEST_S, TICK_S = 0.2, 10.0, 0.2
MOST_TRIALS = 20
SEED = 4
EMPTY = "No point tried yet. Set one above and press “Try this point”."
ENOUGH = f"{MOST_TRIALS} points are in the log. Press “Start again” for a new one."


@dataclass
class Tried:
    """What was done by hand so far: the canal as it is now, and the log. It changes."""

    state: CanalState
    rng: np.random.Generator
    trials: list[PointTrial] = field(default_factory=list)


@dataclass(frozen=True)
class TrialPanel:
    """The panel: its controls, its picture, its sentence, its log.

    Attributes
    ----------
    length, contact
        Set length (mm) and contact time (s).
    play
        Lets the contact time run on with the clock.
    liquid, size
        What stands in the canal; size of the point.
    picture, sentence
        What answers: a point placed exactly.
    try_it, again
        Try this point by hand; begin anew with the canal as it was.
    tried, said, log
        What was tried, the last outcome in words, and all of them as a table.
    widget
        All of it, laid out.
    """

    length: Slider
    contact: Slider
    play: Player
    liquid: Choice
    size: Choice
    picture: TrialPicture
    sentence: Spoken
    try_it: Button
    again: Button
    tried: Tried
    said: Spoken
    log: HTML
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}

    def connect(self) -> None:
        """Let everything answer."""
        for control in (self.length, self.contact, self.size):
            control.observe(self._follow, "value")
        self.contact.observe(self._moved, "value")
        self.play.observe(self._played, "value")
        self.play.observe(self._plays, "playing")
        self.liquid.observe(self._other_canal, "value")
        self.try_it.on_click(self._try_point)
        self.again.on_click(self._start_again)

    def _follow(self, _change: object) -> None:
        met = _look(self.tried.state, self.liquid, self.length, self.contact, self.size)
        self.sentence.text = sentence_of(met)
        self.picture.show(met, self.sentence.text)

    def _played(self, change: dict[str, float]) -> None:
        self.contact.value = change["new"]

    def _plays(self, change: dict[str, bool]) -> None:
        self.sentence.aloud = not change["new"]  # five sentences a second are no sentence

    def _moved(self, change: dict[str, float]) -> None:
        if change["new"] != self.play.value:
            self.play.take_over(change["new"])

    def _try_point(self, _button: object) -> None:
        self.play.halt()  # a point that is tried was held as long as was chosen
        tried = self.tried
        if len(tried.trials) >= MOST_TRIALS:
            self.said.say(ENOUGH)
            return
        point = _point(self.length, self.contact, self.size)
        tried.state, outcome = step(tried.state, point, tried.rng)
        assert outcome.trial is not None  # a point that is tried always gives a record
        tried.trials.append(outcome.trial)
        self._write_down(f"{outcome.sentence}\n{summary_of(tried.trials)}")
        self._follow(None)

    def _write_down(self, words: str) -> None:
        self.said.say(words)
        trials = self.tried.trials
        self.log.value = log_sheet(trials)._repr_html_() if trials else ""

    def _start_again(self, _button: object) -> None:
        self.tried.trials.clear()
        self._other_canal(None)
        self._write_down(EMPTY)

    def _other_canal(self, _change: object) -> None:
        self.tried.state = lesson_state(LIQUIDS[self.liquid.value])
        self._follow(None)


def trial_panel() -> TrialPanel:
    """The end of a canal with a point in it, and a log of points tried by hand.

    Returns
    -------
    TrialPanel
        Display it as the last value of a cell; its text is its sentence.

    Examples
    --------
    >>> panel = trial_panel()
    >>> panel.sentence.text[:66]
    'Set to 24.5 mm, the point of size 20 goes 0.5 mm past where it mee'
    >>> panel.try_it.click()
    >>> len(panel.tried.trials)
    1
    """
    length = slider(
        "Point set to, from the cusp tip",
        value=START_MM,
        low=SHORTEST_MM,
        high=FURTHEST_MM,
        step=STEP_MM,
    )
    contact = slider("Left in contact for", value=1.0, low=BRIEF_S, high=LONGEST_S, step=TICK_S,
                     unit="s")  # fmt: skip
    play = player("Play, second by second", value=1.0, low=BRIEF_S,
                  high=LONGEST_S, step=TICK_S)  # fmt: skip
    liquid = choice("In the canal stands", list(LIQUIDS), value=next(iter(LIQUIDS)))
    size = choice("Size of the point", SIZES, value=START_SIZE, arrangement="row")
    tried = Tried(lesson_state(), np.random.default_rng(SEED))

    met = _look(tried.state, liquid, length, contact, size)
    sentence = Spoken(text=sentence_of(met))
    picture = trial_picture(tried.state.canal, met, sentence.text)
    try_it, again = text_button("Try this point"), text_button("Start again")
    said, log = Spoken(text=EMPTY), HTML()
    log.add_class("jp-RenderedHTMLCommon")  # it looks like every other table of the page

    hands = [length, contact, play, size, liquid, Box([try_it, again]), said]
    both = two_columns([picture.live.widget, sentence], hands)
    widget = VBox([both, log], layout=Layout(width="100%"))
    panel = TrialPanel(length, contact, play, liquid, size, picture, sentence, try_it, again,
                       tried, said, log, widget)  # fmt: skip
    panel.connect()
    return panel


def _point(length: Slider, contact: Slider, size: Choice) -> TryPoint:
    return TryPoint(length.value, contact.value, int(size.value))


def _look(
    state: CanalState, liquid: Choice, length: Slider, contact: Slider, size: Choice
) -> Meeting:
    return meet(state, LIQUIDS[liquid.value], _point(length, contact, size))
