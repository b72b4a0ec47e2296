"""What the notebook of lesson 02 calls: its radiographs, its questions, its table of shares."""

from __future__ import annotations

import html
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from ipywidgets import VBox

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import Technique, off_receptor, set_up
from lengthwise.bench.film_visible import deviation_shares
from lengthwise.marking.items import Item, read_items
from lengthwise.panels.case_view import Written
from lengthwise.panels.check_items import CheckItem, check_item
from lengthwise.panels.film_cases import film_case
from lengthwise.panels.film_panel import PARALLEL, FilmPanel, film_panel
from lengthwise.panels.film_words import film_sentence
from lengthwise.reference.tables import tooth

TEETH = ("11", "13", "34", "16", "36")
THRESHOLDS_MM = (0.2, 0.3, 0.5)
SECOND_ANGLE_DEG = 20.0
POPULATION, SEED = 20_000, 2


@dataclass(frozen=True)
class AskedFirst:
    """A question that has to be answered before the panel behind it appears."""

    question: CheckItem
    panel: FilmPanel
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.question._repr_mimebundle_()["text/plain"]}


@dataclass(frozen=True)
class SharesTable:
    """Of 100 canals, how many deviate and how many of those a picture shows, by tooth.

    Rows hold the tooth, the threshold (mm), and three shares: deviates, visible on a buccal
    picture, visible on that or on a second one from an angle.
    """

    rows: tuple[tuple[str, float, float, float, float], ...]

    def __repr__(self) -> str:
        return "\n".join(
            f"tooth {fdi}, {threshold:.1f} mm: {deviates:.0%} deviate, {one:.0%} show it from "
            f"buccal, {two:.0%} with a second angle"
            for fdi, threshold, deviates, one, two in self.rows
        )

    def _repr_html_(self) -> str:
        heads = (
            "Tooth", "Noticed from", "Deviate", "Seen from buccal",
            f"Seen with a second picture at {SECOND_ANGLE_DEG:.0f}°",
        )  # fmt: skip
        head = "".join(f'<th scope="col">{html.escape(each)}</th>' for each in heads)
        body = "".join(
            f'<tr><th scope="row">{fdi} (Universal {tooth(fdi).universal})</th>'
            f"<td>{threshold:.1f} mm</td><td>{deviates:.0%}</td><td>{one:.0%}</td>"
            f"<td>{two:.0%}</td></tr>"
            for fdi, threshold, deviates, one, two in self.rows
        )
        return (
            '<table class="lengthwise-table"><caption>Of all canals of a tooth, those whose '
            f"foramen leaves the root's axis</caption><thead><tr>{head}</tr></thead>"
            f"<tbody>{body}</tbody></table>"
        )


@dataclass(frozen=True)
class FilmLesson:
    """The radiographs and questions of lesson 02, by name."""

    items: dict[str, Item]

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

    def check(self, name: str) -> CheckItem:
        """Ask one of the lesson's questions."""
        if name not in self.items:
            raise ValueError(f"name: got {name!r}; the lesson asks {', '.join(self.items)}.")
        return check_item(self.items[name])

    def ask_first(self, question: str, name: str, *, file_mm: float) -> AskedFirst:
        """Ask, and show the panel when an answer has been committed."""
        asked, panel = self.check(question), film_panel(name, file_mm=file_mm)
        panel.widget.layout.display = "none"

        def show(_button: object) -> None:
            if asked.answers.value:
                panel.widget.layout.display = ""

        asked.button.on_click(show)
        return AskedFirst(asked, panel, VBox([asked.widget, panel.widget]))

    def shares(self) -> SharesTable:
        """Count, in one population of each tooth, what deviates and what a picture shows."""
        rng = np.random.default_rng(SEED)
        rows = []
        for fdi in TEETH:
            canals = draw_canals(fdi, POPULATION, rng)
            for threshold in THRESHOLDS_MM:
                deviates, one = deviation_shares(canals, threshold)
                two = deviation_shares(canals, threshold, angles_deg=(0.0, SECOND_ANGLE_DEG))[1]
                rows.append((fdi, threshold, deviates, one, two))
        return SharesTable(tuple(rows))


def open_film_lesson(name: str, folder: str | Path = ".") -> FilmLesson:
    """Read the questions of the lesson, which lie beside its notebook in ``NAME.toml``."""
    return FilmLesson(read_items(Path(folder) / f"{name}.toml"))


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
