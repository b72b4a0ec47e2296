"""Cases made to order: they show what was asked for, come again by their number, and are kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from ipywidgets.widgets import widget
from lengthwise.classroom import case_views, own_cases
from lengthwise.classroom.errors import ClassroomError
from lengthwise.evidence import ElectronicReading, PointTrial, WorkingFilm
from lengthwise.marking import authored_cases as made
from lengthwise.marking.authored_cases import CHOICES, NoSuchCaseError, Wish, author_case
from lengthwise.marking.believers import believers_answer
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.marks import mark
from lengthwise.panels.authoring_panel import AuthoringPanel, authoring_panel
from lengthwise.panels.authoring_words import beliefs_sheet, showing, truth_words
from lengthwise.reconciliation import reconcile
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference.tables import canal_length

ROOT = Path(__file__).resolve().parents[2]
SHAPING_MM = 0.7
"""What shaping may take off between the reading and the points, with room."""


def asked(case: GradedCase, wish: Wish) -> list[str]:
    """What a case fails to show, judged from its evidence and its truth alone."""
    evidence, missing = case.evidence, []
    lost_mm = evidence.records[0].offset_mm
    more_mm = case.foramen_mm - lost_mm - canal_length(evidence.tooth, evidence.canal).mean_mm
    if (more_mm >= 1.5) != (wish.length == "long") or more_mm < -1.5:
        missing.append(f"length {wish.length}")
    readings = [one for one in evidence.records if isinstance(one, ElectronicReading)]
    if not _reading_as_asked(readings, wish.reading, case.foramen_mm):
        missing.append(f"reading {wish.reading}")
    films = [one for one in evidence.records if isinstance(one, WorkingFilm)]
    if len(films) != (wish.file_film == made.YES):
        missing.append("film")
    points = [one for one in evidence.records if isinstance(one, PointTrial)]
    if not _POINTS_AS_ASKED[wish.points](points):
        missing.append(f"points {wish.points}")
    if (lost_mm < -1) != (wish.reference == made.REDUCED):
        missing.append("reference")
    return missing


def _reading_as_asked(readings: list[ElectronicReading], wanted: str, truth_mm: float) -> bool:
    if not readings or wanted == made.NOT_TAKEN:
        return not readings and wanted == made.NOT_TAKEN
    quality = assess_trace(readings[0])
    steady = all(sign.holds for sign in quality.signs)
    if wanted == made.FLAT or quality.signal_mm is None:
        return wanted == made.FLAT and quality.signal_mm is None
    off_mm = quality.signal_mm + readings[0].offset_mm - truth_mm
    if wanted == made.UNSTABLE:
        return not steady
    if wanted == made.SHORT:
        return steady and off_mm < SHAPING_MM - 1.0
    return steady and -0.5 <= off_mm <= 0.5 + SHAPING_MM


def _ends(points: list[PointTrial]) -> list[float]:
    return [one.length_mm - one.wet_mm for one in points if one.wet_mm > 0]


_POINTS_AS_ASKED: dict[str, Callable[[list[PointTrial]], bool]] = {
    made.NOT_TRIED: lambda points: not points,
    made.DRY: lambda points: points[0].wet_mm == 0 and len(_ends(points)) >= 2,
    made.WET: lambda points: _ends(points)[-1] - _ends(points)[0] > 0.5,
    made.BLOCKED: lambda points: not _ends(points),
    made.ASIDE: lambda points: points[-1].mark_site == "side",
}

WISHES = [
    Wish(place, length, reading, film, points, reference)
    for (place, length, film, reference), (reading, points) in zip(
        list(product(("13", "45"), ("ordinary", "long"), (made.YES, made.NO),
                     (made.SAME, made.REDUCED))) * 2,
        product(made.READINGS, made.POINTS), strict=False,
    )
]  # fmt: skip
"""Every reading with every way of trying points; the other choices in turn."""


@pytest.mark.parametrize("wish", WISHES, ids=lambda wish: wish.words)
def test_a_case_shows_what_was_asked_for_or_it_is_said_that_there_is_none(wish: Wish) -> None:
    found = case_or_words(wish)
    if isinstance(found, GradedCase):
        assert asked(found, wish) == []
    else:
        assert wish.words in found
        assert wish.length == "long"  # what is rare, and nothing else, may not be found


def case_or_words(wish: Wish) -> GradedCase | str:
    try:
        return author_case(wish, 5, 0.5)
    except NoSuchCaseError as error:
        return str(error)


def test_the_check_of_what_was_asked_can_fail() -> None:
    case = author_case(Wish(), 1, 0.5)
    other = Wish("13", "long", made.FLAT, made.NO, made.WET, made.REDUCED)
    assert len(asked(case, other)) == 5


def test_the_same_number_makes_the_same_case_and_another_number_another() -> None:
    first, again, other = (author_case(Wish(), number, 0.5) for number in (7, 7, 8))
    assert first.to_json() == again.to_json() != other.to_json()


def test_what_cannot_be_found_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(made, "MOST_ROUNDS", 0)
    page = _page(Path("nowhere"))
    page.draw.click()
    assert "None of 0 canals drawn from number 1 showed this: 13, ordinary" in page.said.text
    page.keep.click()
    assert "nothing to keep" in page.kept.text


@pytest.mark.parametrize("field", CHOICES)
def test_a_wish_that_is_not_on_offer_is_refused_by_its_field(field: str) -> None:
    with pytest.raises(ValueError, match=f"field {field}: got '.*choose one"):
        replace(Wish(), **{field: "purple"})


def test_a_kept_case_comes_back_as_it_was_and_is_never_overwritten(tmp_path: Path) -> None:
    folder, case = tmp_path / "own_cases", author_case(Wish(), 1, 0.5)
    keep = own_cases.keeper(folder)
    assert "early_reading.json" in keep("early reading", Wish(), 1, case)
    assert own_cases.read_own_cases(folder) == {"early_reading": case}
    written = (folder / "early_reading.json").read_bytes()
    assert "already" in keep("early_reading", Wish(), 2, author_case(Wish(), 2, 0.5))
    assert (folder / "early_reading.json").read_bytes() == written
    told = json.loads(written)
    assert author_case(Wish(**told["wish"]), told["number"], 0.5) == case


@pytest.mark.parametrize("name", ["", "../x", "a/b", "con", "x" * 61])
def test_a_name_that_cannot_name_a_file_is_refused(tmp_path: Path, name: str) -> None:
    keep = own_cases.keeper(tmp_path / "own")
    said = keep(name, Wish(), 1, author_case(Wish(points=made.ASIDE), 1, 0.5))
    assert said.startswith("Not kept.")
    assert not (tmp_path / "own").exists()


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[: len(text) // 2],
        lambda text: "",
        lambda text: "[]",
        lambda text: text.replace(own_cases.SCHEMA, "lengthwise/evidence/1"),
        lambda text: text.replace('"foramen_mm"', '"foramen"'),
        lambda text: text.replace('"tooth": "13"', '"tooth": "99"'),
    ],
)
def test_a_damaged_file_is_named(tmp_path: Path, damage: Callable[[str], str]) -> None:
    path = own_cases.keep_case(
        tmp_path, "one", Wish(), 1, author_case(Wish(points=made.ASIDE), 1, 0.5)
    )
    path.write_text(damage(path.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(ClassroomError, match=r"one\.json cannot be read"):
        own_cases.read_own_cases(tmp_path)


@pytest.mark.parametrize("points", [made.DRY, made.BLOCKED])
def test_the_table_gives_every_belief_the_marks_that_mark_gives(points: str) -> None:
    case = author_case(Wish(points=points, reading=made.SHORT), 1, 0.5)
    result = reconcile(case.evidence, target_mm=0.5)
    careful, *rows = beliefs_sheet(result).rows
    assert careful[-1] == "100 %"
    assert len(rows) == len(showing(result)) >= 5
    for belief, row in zip(showing(result), rows, strict=True):
        assert row[0].startswith(f"{belief}: ")
        share = mark(believers_answer(belief, result), case).share
        assert row[-1] == f"{share:.0%}".replace("%", " %")


def test_sources_that_mislead_are_said_to() -> None:
    case = author_case(Wish(points=made.DRY), 1, 0.5)
    result = reconcile(case.evidence, target_mm=0.5)
    far = replace(case, foramen_mm=result.foramen_mm + 2.0)
    assert "sources mislead" in truth_words(far, result)
    assert "sources mislead" not in truth_words(replace(far, foramen_mm=result.foramen_mm), result)


def _page(folder: Path) -> AuthoringPanel:
    return authoring_panel(case_views.view_of, own_cases.keeper(folder))


def test_the_notebook_draws_shows_and_keeps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (ROOT / "instructor_guide" / "case_authoring.ipynb").read_text(encoding="utf-8")
    cells = [c for c in json.loads(text)["cells"] if c["cell_type"] == "code"]
    *before, last = ["".join(cell["source"]) for cell in cells]
    names: dict[str, object] = {}
    exec("\n".join(before), names)
    page = eval(last, names)
    assert isinstance(page, AuthoringPanel)
    page.wishes["points"].value = made.ASIDE
    page.again.click()
    assert page.number.value == 2
    assert page.said.text.startswith("Case 2: 13, ordinary; ")
    shown = " ".join(getattr(part, "value", "") + getattr(part, "text", "")
                     for part in page.shown.children)  # fmt: skip
    for words in ("Paper point trials", "In truth the canal ends at", "M16: any wet"):
        assert words in shown
    held = len(widget._instances)
    page.draw_this()
    assert len(widget._instances) == held, "what the last case held is let go of"
    page.keep.click()
    assert page.kept.text == "Not kept. Type a name for the case first."
    page.name.value = "opened aside"
    page.keep.click()
    assert page.drawn is not None
    assert own_cases.read_own_cases(tmp_path / "own_cases") == {"opened_aside": page.drawn.case}
