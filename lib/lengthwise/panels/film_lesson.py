"""What the notebook of lesson 02 calls: its radiographs, its questions, its table of shares."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import Technique, off_receptor, set_up
from lengthwise.bench.film_visible import deviation_shares
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.asked_first import AskedFirst, ask_first
from lengthwise.panels.case_view import Written
from lengthwise.panels.film_cases import film_case
from lengthwise.panels.film_panel import PARALLEL, FilmPanel, film_panel
from lengthwise.panels.film_words import film_sentence
from lengthwise.panels.folded import Folded
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.reference.tables import tooth

TEETH = ("11", "13", "34", "16", "36")
THRESHOLDS_MM = (0.2, 0.3, 0.5)
SECOND_ANGLE_DEG = 20.0
POPULATION, SEED = 20_000, 2


@dataclass(frozen=True)
class FilmLesson(Questions):
    """The radiographs and questions of lesson 02, by name."""

    def film(self, name: str, *, file_mm: float = 22.0, lies: str = PARALLEL) -> FilmPanel:
        """Take radiographs of a tooth of the lesson, see `film_panel`."""
        return film_panel(name, file_mm=file_mm, lies=lies)

    def read(
        self,
        name: str,
        *,
        file_mm: float,
        technique: Technique = "paralleling",
        vertical_deg: float = 0.0,
        horizontal_deg: float = 0.0,
    ) -> Written:
        """Say what one picture measures, without showing it and without the truth."""
        canal, outline = film_case(name)
        setup = set_up(canal, technique, vertical_deg=vertical_deg, horizontal_deg=horizontal_deg)
        seen = project_landmarks(canal, outline, setup.view, file_mm)
        said = film_sentence(canal, seen, file_mm, off_receptor(setup, seen), shown=False)
        return Written(_taken(technique, vertical_deg, horizontal_deg), tuple(_sentences(said)))

    def ask_first(self, question: str, name: str, *, file_mm: float) -> AskedFirst:
        """Ask, and show the panel when an answer has been committed."""
        return ask_first(self.check(question), film_panel(name, file_mm=file_mm))

    def shares(self) -> Folded:
        """Count, in one population of each tooth, what deviates and what a picture shows."""
        rng = np.random.default_rng(SEED)
        rows = []
        for fdi in TEETH:
            canals = draw_canals(fdi, POPULATION, rng)
            for threshold in THRESHOLDS_MM:
                deviates, one = deviation_shares(canals, threshold)
                two = deviation_shares(canals, threshold, angles_deg=(0.0, SECOND_ANGLE_DEG))[1]
                shares = (f"{share:.0%}" for share in (deviates, one, two))
                rows.append((_named(fdi), f"{threshold:.1f} mm", *shares))
        heads = ("Tooth", "Noticed from", "Deviate", "Seen from buccal",
                 f"Seen with a second picture at {SECOND_ANGLE_DEG:.0f}°")  # fmt: skip
        caption = "Of all canals of a tooth, those whose foramen leaves the root's axis"
        return Folded(Sheet(caption, heads, tuple(rows)))


def open_film_lesson(name: str, folder: str | Path = ".") -> FilmLesson:
    """Read the questions of the lesson, which lie beside its notebook in ``NAME.toml``."""
    return FilmLesson(items_beside(name, folder), lesson=name)


def _named(fdi: str) -> str:
    return f"{fdi} (Universal {tooth(fdi).universal})"


def _taken(technique: str, vertical_deg: float, horizontal_deg: float) -> str:
    lies = "parallel to the tooth" if technique == "paralleling" else "leaning against the crown"
    beam = "as aimed"
    if vertical_deg:
        beam = f"{abs(vertical_deg):g}° too {'steep' if vertical_deg > 0 else 'flat'}"
    if horizontal_deg:
        beam += f", from {abs(horizontal_deg):g}° {'distal' if horizontal_deg > 0 else 'mesial'}"
    return f"Receptor {lies}, beam {beam}."


def _sentences(text: str) -> list[str]:
    return [f"{part.rstrip('.')}." for part in text.split(". ")]
