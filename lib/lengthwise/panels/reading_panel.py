"""Lesson 03: one motion of a file in two canals, what the meter makes of it, and what to change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ipywidgets import HTML, Layout, VBox

from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.player import Player, player
from lengthwise.panels.reading_case import Reading, reading_of, world
from lengthwise.panels.reading_picture import ReadingPicture, reading_picture
from lengthwise.panels.reading_setting import (
    CANALS,
    CHANGES,
    END_MM,
    LIQUIDS,
    READS_WELL,
    SIZES,
    START_MM,
    TROUBLES,
    Setting,
    changed,
)
from lengthwise.panels.reading_words import sentence_of, signs_sheet
from lengthwise.panels.slider import SHORT_PAST, Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.two_columns import two_columns

START_CANAL = "with a wide foramen"
STEP_MM, TICK_S = 0.05, 0.2
TITLES = {
    False: ("A: an ordinary\ncanal", "B: your canal"),
    True: ("A: your canal,\nbefore", "B: your canal,\nafter the change"),
}


@dataclass(frozen=True)
class ReadingPanel:
    """The panel: its controls, its picture, its sentence, the three signs.

    Attributes
    ----------
    canal, liquid, trouble, size
        Your canal, what is in it, what disturbs the reading, size of the file.
    depth
        Tip of both files against the foramen (mm).
    play
        Lets the motion run with the clock.
    change
        What you would change; the trace is taken again.
    picture, sentence, signs
        What answers.
    widget
        All of it, laid out.
    """

    canal: Choice
    liquid: Choice
    trouble: Choice
    size: Choice
    depth: Slider
    play: Player
    change: Choice
    picture: ReadingPicture
    sentence: Spoken
    signs: HTML
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}

    @property
    def setting(self) -> Setting:
        """What your canal is read in, before any change."""
        return _setting(self.canal, self.liquid, self.trouble, self.size)

    @property
    def readings(self) -> tuple[Reading, Reading]:
        """A and B as they are shown."""
        return pair(self.setting, self.change.value)

    def connect(self) -> None:
        """Let everything answer."""
        for control in (self.canal, self.liquid, self.trouble, self.size, self.change):
            control.observe(self._other, "value")
        self.depth.observe(self._set_by_hand, "value")
        self.play.observe(self._played, "value")
        self.play.observe(self._plays, "playing")

    def _move(self) -> None:
        a, b = self.readings
        for name, reading in (("A", a), ("B", b)):
            self.picture.drawing.place(name, reading, self.play.value)
        self.sentence.text = sentence_of(a, b, self.play.value)
        self.picture.live.show(self.sentence.text)

    def _other(self, _change: object) -> None:
        a, b = self.readings
        for name, title, reading in zip("AB", _titles(self.change), (a, b), strict=True):
            self.picture.drawing.change(name, title, reading)
        self.signs.value = signs_sheet(a, b)._repr_html_()
        self._move()

    def _set_by_hand(self, _change: object) -> None:
        # Only a hand moves the slider away from where the motion is; then the motion follows.
        if abs(_tip_mm(self.play.value) - self.depth.value) > STEP_MM / 2:
            self.play.take_over(reading_of(READS_WELL).first_moment_s(self.depth.value))

    def _plays(self, change: dict[str, bool]) -> None:
        self.sentence.aloud = not change["new"]  # five sentences a second are no sentence

    def _played(self, _change: object) -> None:
        if abs(_tip_mm(self.play.value) - self.depth.value) > STEP_MM / 2:
            self.depth.value = on_step(reading_of(READS_WELL), self.play.value)
        self._move()


def pair(setting: Setting, change: str) -> tuple[Reading, Reading]:
    """An ordinary canal beside yours; or yours before and after a change."""
    if change == CHANGES[0]:
        return reading_of(READS_WELL), reading_of(setting)
    return reading_of(setting), reading_of(changed(setting, change))


def on_step(reading: Reading, moment_s: float) -> float:
    """Where the tip is at a moment, on the slider's nearest step (mm past the foramen)."""
    return round(float(reading.tip_mm[reading.sample_at(moment_s)]) / STEP_MM) * STEP_MM


def reading_panel(start: str = START_CANAL) -> ReadingPanel:
    """Two canals, one motion, two traces.

    Parameters
    ----------
    start
        One of `CANALS`.

    Returns
    -------
    ReadingPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If there is no such canal.

    Examples
    --------
    >>> panel = reading_panel()
    >>> panel.depth.value = -1.0
    >>> panel.sentence.text[:56]
    'After 12.9 s the tip in B is 1.0 mm short of the foramen'
    """
    canal = choice("Your canal: an upper canine", list(CANALS), value=start)
    liquid = choice("In it stands", LIQUIDS, value=LIQUIDS[0], arrangement="row")
    trouble = choice("What disturbs", TROUBLES, value=TROUBLES[0])
    size = choice("Size of the file", [str(each) for each in SIZES], value="15", arrangement="row")
    change = choice("What would you change?", CHANGES, value=CHANGES[0])
    plain = reading_of(READS_WELL)
    last_s = float(plain.time_s[-1])
    depth = slider("Tip, measured from the foramen", value=on_step(plain, last_s), low=START_MM,
                   high=END_MM, step=STEP_MM, sides=SHORT_PAST)  # fmt: skip
    play = player("Play the motion", value=last_s, low=0.0, high=last_s, step=TICK_S)
    a, b = pair(_setting(canal, liquid, trouble, size), change.value)
    over_a, over_b = _titles(change)
    signal = float(world()[1].curve.foramen_quotient[0])
    sentence = Spoken(text=sentence_of(a, b, last_s))
    picture = reading_picture({"A": (over_a, a), "B": (over_b, b)}, last_s, signal, sentence.text)
    signs = HTML(signs_sheet(a, b)._repr_html_())
    signs.add_class("jp-RenderedHTMLCommon")  # it looks like every other table of the page
    hands = [play, depth, canal, size, liquid, trouble, change]
    both = two_columns([picture.live.widget, sentence, signs], hands)
    widget = VBox([both], layout=Layout(width="100%"))
    panel = ReadingPanel(canal, liquid, trouble, size, depth, play, change, picture, sentence,
                         signs, widget)  # fmt: skip
    panel.connect()
    return panel


def _tip_mm(moment_s: float) -> float:
    """Where the motion has the tip at a moment (mm past the foramen), if the canal lets it pass."""
    plain = reading_of(READS_WELL)
    return float(plain.tip_mm[plain.sample_at(moment_s)])


def _setting(canal: Choice, liquid: Choice, trouble: Choice, size: Choice) -> Setting:
    return Setting(canal.value, liquid.value, trouble.value, int(size.value))


def _titles(change: Choice) -> tuple[str, str]:
    return TITLES[change.value != CHANGES[0]]
