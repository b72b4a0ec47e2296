"""Lesson 07: what it costs to end short or past, by both landmarks, and what studies found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from ipywidgets import VBox

from lengthwise.evidence import Context
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.endings_picture import (
    LONGEST_MM,
    SHORTEST_MM,
    Ending,
    EndingsPicture,
    endings_picture,
)
from lengthwise.panels.landmarks_panel import TEETH
from lengthwise.panels.slider import SHORT_PAST, Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.supplies_panel import CANINE, beside
from lengthwise.panels.supplies_words import ending_sentence
from lengthwise.reconciliation.decision import Loss
from lengthwise.reference.constants import TARGET_SHORT_OF_FORAMEN_MM
from lengthwise.reference.tables import apex_distance

Pulp = Literal["vital", "necrotic"] | None
PULPS: dict[str, Pulp] = {"vital": "vital", "necrotic": "necrotic", "not recorded": None}
NEAR = {"no": False, "yes": True}


@dataclass(frozen=True)
class EndingsPanel:
    """The panel: its controls, its picture, its sentence.

    Attributes
    ----------
    end
        Where the filling ends, mm past the foramen; negative is short of it.
    tooth, pulp, near
        Which kind of tooth, which sets how far beyond the foramen the root goes on; the pulp
        before treatment; whether a nerve or the sinus is near.
    picture, sentence
        What answers.
    widget
        All of it, laid out.
    """

    end: Slider
    tooth: Choice
    pulp: Choice
    near: Choice
    picture: EndingsPicture
    sentence: Spoken
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}


def endings_panel(end_mm: float = 0.2) -> EndingsPanel:
    """Let a filling end short of or past the foramen.

    Parameters
    ----------
    end_mm
        Where it ends at the start: mm past the foramen, negative short of it.

    Returns
    -------
    EndingsPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If the end lies outside the picture.

    Examples
    --------
    >>> panel = endings_panel()
    >>> panel.sentence.text[:88]
    'The filling ends 0.2 mm past the foramen and 0.2 mm short of the radiographic apex: the '
    >>> panel.end.value = 1.0
    >>> "count it as past the apex" in panel.sentence.text
    True
    """
    end = slider(
        "The filling ends, measured from the foramen",
        value=end_mm, low=-SHORTEST_MM, high=-LONGEST_MM, step=0.1, sides=SHORT_PAST,
    )  # fmt: skip
    tooth = choice("Tooth", list(TEETH), value=CANINE)
    pulp = choice("Pulp before treatment", list(PULPS), value="not recorded", arrangement="row")
    near = choice("Nerve or sinus near", list(NEAR), value="no", arrangement="row")

    def look() -> tuple[Ending, str]:
        context = Context(pulp=PULPS[pulp.value], near_nerve_or_sinus=NEAR[near.value])
        loss = Loss.for_context(context, TARGET_SHORT_OF_FORAMEN_MM.value)
        ending = Ending(-end.value, apex_distance(TEETH[tooth.value]).mean_mm, loss)
        said = ending_sentence(ending.short_of_foramen_mm, ending.apex_beyond_mm, loss)
        return ending, said

    ending, said = look()
    picture, sentence = endings_picture(ending, said), Spoken(text=said)

    def follow(_change: object) -> None:
        ending, said = look()
        picture.show(ending, said)
        sentence.text = said

    controls = (end, pulp, near, tooth)
    for control in controls:
        control.observe(follow, "value")
    widget = beside([picture.live.widget, sentence], controls)
    return EndingsPanel(end, tooth, pulp, near, picture, sentence, widget)
