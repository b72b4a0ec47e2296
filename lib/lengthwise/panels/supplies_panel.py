"""Lesson 07: what reaches the working length of this tooth, and what is left to hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ipywidgets import Layout, VBox

from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.landmarks_panel import START_AGE, TEETH, section_of
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.supplies_picture import Scene, SuppliesPicture, supplies_picture
from lengthwise.panels.supplies_words import supplies_sentence
from lengthwise.panels.two_columns import two_columns
from lengthwise.reconciliation.supplies import lay_out
from lengthwise.reference.supplies import Hold
from lengthwise.reference.tables import apex_distance

HOLDS: dict[str, Hold] = {"fingers": "fingers", "a handpiece": "handpiece"}
CANINE = next(iter(TEETH))
LONG_PLACE = 90.0


@dataclass(frozen=True)
class SuppliesPanel:
    """The panel: its controls, its picture, its sentence.

    Attributes
    ----------
    tooth, held_by
        Which kind of tooth; what holds the files.
    place
        This tooth's place among 100 of its kind in order of length.
    reduced, target
        What was taken off the reference point (mm); how far short of the foramen the school
        works (mm).
    picture, sentence
        What answers.
    widget
        All of it, laid out.
    """

    tooth: Choice
    held_by: Choice
    place: Slider
    reduced: Slider
    target: Slider
    picture: SuppliesPicture
    sentence: Spoken
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}


def supplies_panel(start: str = CANINE, place: float = LONG_PLACE) -> SuppliesPanel:
    """Lay instruments and points against a tooth, at true length.

    Parameters
    ----------
    start
        One of `lengthwise.panels.landmarks_panel.TEETH`.
    place
        The tooth's place among 100 of its kind in order of length, 1 to 99.

    Returns
    -------
    SuppliesPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If the tooth or its place is not one of those.

    Examples
    --------
    >>> panel = supplies_panel()
    >>> "The shortest file that reaches is 31 mm" in panel.sentence.text
    True
    >>> panel.place.value = 20
    >>> "The shortest file that reaches is 28 mm" in panel.sentence.text
    True
    """
    kind = choice("Tooth", list(TEETH), value=start)
    among = slider("This tooth, of 100 in order of length, is number", value=place, low=1, high=99,
                   step=1, unit="of 100")  # fmt: skip
    reduced = slider("Taken off the reference point", value=0.0, low=0.0, high=3.0, step=0.5)
    target = slider(
        "Working length short of the foramen by", value=0.5, low=0.0, high=2.0, step=0.25
    )
    held_by = choice("Files are held by", list(HOLDS), value="fingers", arrangement="row")

    def look() -> tuple[Scene, str]:
        fdi = TEETH[kind.value]
        section = section_of(fdi, among.value, apex_distance(fdi).mean_mm, START_AGE, target.value)
        plan = lay_out(
            section.foramen_mm - target.value,
            reference_reduced_mm=reduced.value,
            held_by=HOLDS[held_by.value],
        )
        said = supplies_sentence(fdi, plan, target.value, reduced.value)
        return Scene(section, reduced.value, plan), said

    scene, said = look()
    picture, sentence = supplies_picture(scene, said), Spoken(text=said)

    def follow(_change: object) -> None:
        scene, said = look()
        picture.show(scene, said)
        sentence.text = said

    controls = (kind, among, reduced, target, held_by)
    for control in controls:
        control.observe(follow, "value")
    widget = beside([picture.live.widget, sentence], controls)
    return SuppliesPanel(kind, held_by, among, reduced, target, picture, sentence, widget)


def beside(shown: list[Any], hands: tuple[Any, ...]) -> VBox:
    """What is shown and what the hand moves: beside each other, or below on a phone."""
    return VBox([two_columns(shown, hands)], layout=Layout(width="100%"))
