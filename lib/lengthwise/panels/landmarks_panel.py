"""Lesson 01: where a canal ends in this tooth, and what the average says about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from ipywidgets import Layout, VBox

from lengthwise.anatomy import assumptions as a
from lengthwise.anatomy.canals import Canals, by_age, draw_canals
from lengthwise.anatomy.teeth import outline
from lengthwise.evidence.tenths import apart_mm
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.landmarks_picture import (
    LABELS,
    Floats,
    LandmarksPicture,
    Section,
    landmarks_picture,
    told_mm,
)
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.two_columns import two_columns
from lengthwise.reference.shared import read_only
from lengthwise.reference.tables import apex_distance, tooth

TEETH = {
    "upper canine (13, Universal 6)": "13",
    "upper central incisor (11, Universal 8)": "11",
    "lower canine (33, Universal 22)": "33",
    "lower second premolar (45, Universal 29)": "45",
    "upper first molar, palatal (16, Universal 3)": "16",
}
MANY, SEED = 1000, 1
OFF_MM = 0.5
START_PLACE, START_AGE = 90.0, 40.0


@dataclass(frozen=True)
class LandmarksPanel:
    """The panel: its controls, its picture, its sentence.

    Attributes
    ----------
    tooth
        Which kind of tooth.
    place
        This tooth's place among 100 of its kind in order of length.
    short
        How far short of the apex the foramen lies (mm).
    age, target
        Age of the patient (years); how far short of the foramen the school works (mm).
    picture, sentence
        What answers.
    widget
        All of it, laid out.
    """

    tooth: Choice
    place: Slider
    short: Slider
    age: Slider
    target: Slider
    picture: LandmarksPicture
    sentence: Spoken
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}


@lru_cache(maxsize=len(TEETH))
def population(fdi: str) -> Canals:
    """1 000 canals of a kind, always the same ones."""
    return read_only(draw_canals(fdi, MANY, np.random.default_rng(SEED)))


def landmarks_panel(start: str = "upper canine (13, Universal 6)") -> LandmarksPanel:
    """A tooth in long section among 1 000 of its kind.

    Parameters
    ----------
    start
        One of `TEETH`.

    Returns
    -------
    LandmarksPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If the tooth is not one of them.

    Examples
    --------
    >>> panel = landmarks_panel()
    >>> panel.sentence.text[:71]
    'In 100 of these teeth the average, 26.4 mm, is more than 0.5 mm off in '
    >>> panel.place.value = 50
    >>> "short of this one" in panel.sentence.text
    False
    """
    kind = choice("Tooth", list(TEETH), value=start)
    place = slider("This tooth, of 100 in order of length, is number", value=START_PLACE, low=1,
                   high=99, step=1, unit="of 100")  # fmt: skip
    # Where it lies on average, to a tenth: lesson 07 shows the same canine.
    usual = round(apex_distance(TEETH[start]).mean_mm if start in TEETH else 0.0, 1)
    short = slider("The foramen lies short of the apex by", value=usual, low=0.0, high=2.5,
                   step=0.1)  # fmt: skip
    age = slider("Age of the patient", value=START_AGE, low=a.YOUNGEST_YEARS.value,
                 high=a.OLDEST_YEARS.value, step=1, unit="years")  # fmt: skip
    target = slider(
        "Working length short of the foramen by", value=0.5, low=0.0, high=2.0, step=0.25
    )

    def look() -> tuple[Section, Floats, str]:
        fdi = TEETH[kind.value]
        section = section_of(fdi, place.value, short.value, age.value, target.value)
        return section, population(fdi).apex_mm, sentence_of(fdi, section, target.value)

    section, lengths, said = look()
    picture = landmarks_picture(section, lengths, said)
    sentence = Spoken(text=said)

    def follow(_change: object) -> None:
        section, lengths, said = look()
        picture.show(section, lengths, said)
        sentence.text = said

    for control in (kind, place, short, age, target):
        control.observe(follow, "value")
    both = two_columns([picture.live.widget, sentence], [kind, place, short, age, target])
    widget = VBox([both], layout=Layout(width="100%"))
    return LandmarksPanel(kind, place, short, age, target, picture, sentence, widget)


def section_of(fdi: str, place: float, short_mm: float, age_years: float, target_mm: float
               ) -> Section:  # fmt: skip
    """A tooth at a place among 100, with its landmarks where the sliders put them."""
    canals = population(fdi)
    length = float(np.quantile(canals.apex_mm, place / 100))
    outside = outline(fdi)
    foramen = length - short_mm
    at_age = np.array([age_years])
    constriction = foramen - float(by_age("constriction_to_foramen", at_age)[0])
    widths = np.median(canals.diameter_md_mm, axis=0)
    narrow = float(np.median(canals.constriction_diameter_mm))
    marks = (
        outside.cej_mm * length / outside.length_mm,
        tooth(fdi).overall_mean_mm,
        constriction,
        # As it is told, so that whoever takes the target off the foramen finds the same.
        round(foramen, 1) - target_mm,
        foramen,
        length,
    )
    return Section(
        outline=outside,
        length_mm=length,
        foramen_mm=foramen,
        constriction_mm=constriction,
        canal_mm=(
            outside.cervix_md_mm / 5,
            float(widths[2]),
            float(widths[1]),
            narrow,
            float(by_age("foramen_diameter", at_age)[0]),
        ),
        marks_mm=dict(zip(LABELS, marks, strict=True)),
    )


def sentence_of(fdi: str, section: Section, target_mm: float) -> str:
    """What the picture shows, in numbers."""
    canals, average = population(fdi), tooth(fdi).overall_mean_mm
    error = canals.apex_mm - average
    off = round(100 * float(np.mean(np.abs(error) > OFF_MM)))
    longest = error >= np.quantile(error, 0.9)
    to_foramen = apex_distance(fdi).mean_mm
    from_average = apart_mm(average, to_foramen) - target_mm
    past = round(100 * float(np.mean(from_average > canals.foramen_mm)))
    missed = apart_mm(section.length_mm, average)
    way = "short of" if missed >= 0 else "longer than"
    here = f"{abs(missed):.1f} mm {way} this one" if abs(missed) >= 0.05 else "right for this one"
    return (
        f"In 100 of these teeth the average, {average:.1f} mm, is more than {OFF_MM:g} mm off in "
        f"{off}; in the longest tenth it is {error[longest].mean():.1f} mm short on average. It "
        f"is {here}. A working length from the average ({average:.1f} less {to_foramen:.1f} to the "
        f"foramen less {target_mm:g}, so {told_mm('working length', from_average)} mm) would be "
        f"past the foramen in {past} of 100. In this tooth the constriction lies at "
        f"{section.constriction_mm:.1f} mm, the foramen at {section.foramen_mm:.1f}, the working "
        f"length at {told_mm('working length', section.marks_mm['working length'])}."
    )
