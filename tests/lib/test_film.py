"""A radiograph on the bench: the picture shows what was put into it, and the reader is honest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import outline
from lengthwise.bench import film as film_module
from lengthwise.bench.film import PRINT_LAYERS, SLIDER_LAYERS, Film, expose_film, film_image
from lengthwise.bench.film_landmarks import project_landmarks, read_film
from lengthwise.bench.film_setup import (
    PRINT_PIXEL_MM,
    TECHNIQUES,
    check_file,
    off_receptor,
    receptor_behind,
    set_up,
)
from lengthwise.bench.film_sheet import film_sheet
from lengthwise.evidence import Evidence, PreoperativeFilm, WorkingFilm
from lengthwise.physics.projection import View
from lengthwise.reference import radiography as r

INCISOR = outline("11")


@pytest.fixture
def canal() -> Canal:
    return draw_canals("11", 1, np.random.default_rng(3)).one(0)


def rng() -> np.random.Generator:
    return np.random.default_rng(11)


def brightest_at(film: Film, point: np.ndarray) -> float:
    """Grey at a point of the receptor (mm)."""
    receptor = film.setup.receptor
    row = int(np.abs(receptor.rows_mm - point[1]).argmin())
    column = int(np.abs(receptor.columns_mm - point[0]).argmin())
    return float(film.image[row - 1 : row + 2, column - 1 : column + 2].mean())


def test_the_file_on_the_picture_ends_where_the_landmark_says(canal: Canal) -> None:
    length = canal.foramen_mm - 2.0
    film, truth = expose_film(canal, INCISOR, file_length_mm=length, file_size=25, rng=rng())
    without = film_image(canal, INCISOR, film.setup, file_length_mm=length - 6.0, file_size=25,
                         rng=rng())  # fmt: skip
    brighter = (film.image - without).max(axis=1) > 0.25
    end = film.setup.receptor.rows_mm[np.nonzero(brighter)[0].max()]
    assert truth.landmarks.tip is not None
    assert end == pytest.approx(truth.landmarks.tip[1], abs=3 * film.setup.receptor.pixel_mm)


@pytest.mark.parametrize("technique", TECHNIQUES)
def test_the_end_of_the_root_lies_where_its_shadow_ends(canal: Canal, technique: Any) -> None:
    _, truth = expose_film(canal, INCISOR, technique=technique, rng=rng())
    apex = truth.landmarks.apex
    assert apex[1] > truth.landmarks.foramen[1] - 1e-9
    # Averaged over films, so that no grain of the bone decides.
    films = [expose_film(canal, INCISOR, technique=technique, rng=np.random.default_rng(i))[0]
             for i in range(12)]  # fmt: skip
    at, beyond = (
        np.mean([brightest_at(each, apex + np.array([0.0, shift])) for each in films])
        for shift in (-2.0, 1.5)
    )
    assert at > beyond + 0.05


def test_the_reader_writes_what_the_picture_shows_not_what_is_true(canal: Canal) -> None:
    lengths = []
    for number in range(400):
        landmarks = project_landmarks(canal, INCISOR, set_up(canal, "paralleling").view, 20.0)
        read = read_film(landmarks, np.random.default_rng(number))
        lengths.append((read["tooth"], read["file"], read["gap"]))
        assert read["gap"] == pytest.approx(read["tooth"] - read["file"])
    grown = 400.0 / 380.0
    means, spread = np.mean(lengths, axis=0), np.std(lengths, axis=0)
    error = r.READER_SD_MM.value * np.sqrt(2)
    assert means[0] == pytest.approx(canal.apex_mm * grown, abs=4 * error / 20)
    # The end of the canal leaves the axis, and the file with it, by hundredths of its length.
    assert means[1] == pytest.approx(20.0 * grown, abs=4 * error / 20)
    assert spread == pytest.approx(error, rel=0.15)


def test_a_file_past_a_hidden_foramen_can_look_right(canal: Canal) -> None:
    """A foramen on the buccal side, a millimetre short of the end, straight before the beam."""
    hidden = replace(
        canal, foramen_mm=canal.apex_mm - 1.0, offset_buccal_mm=0.9, offset_distal_mm=0.0
    )
    file_mm = hidden.foramen_mm + 0.4
    straight, truth = expose_film(hidden, INCISOR, file_length_mm=file_mm, rng=rng())
    assert truth.tip_short_of_foramen_mm == pytest.approx(-0.4)
    landmarks = truth.landmarks
    assert landmarks.tip is not None
    assert landmarks.along_mm(landmarks.apex) - landmarks.along_mm(landmarks.tip) > 0.5
    assert abs(landmarks.tip[0] - landmarks.apex[0]) < 0.01
    assert isinstance(straight.record, WorkingFilm)
    # From the side the tip leaves the middle of the root: towards the side away from the source.
    _, aside = expose_film(hidden, INCISOR, horizontal_deg=20.0, file_length_mm=file_mm, rng=rng())
    assert aside.landmarks.tip is not None
    assert aside.landmarks.tip[0] - aside.landmarks.apex[0] < -0.25


@pytest.mark.parametrize(("steeper", "longer"), [(12.0, False), (-12.0, True)])
def test_a_steep_beam_foreshortens_and_a_flat_one_elongates(
    canal: Canal, steeper: float, longer: bool
) -> None:
    lengths = [
        project_landmarks(canal, INCISOR, set_up(canal, "bisecting", vertical_deg=v).view, None)
        for v in (0.0, steeper)
    ]
    right, wrong = (each.along_mm(each.apex) for each in lengths)
    assert (wrong > right + 1.0) is longer
    assert (wrong < right - 1.0) is not longer


def test_the_truth_is_not_in_the_record(canal: Canal) -> None:
    film, truth = expose_film(canal, INCISOR, file_length_mm=20.0, rng=rng())
    told = film.record.model_dump()
    secret = {**vars(canal), **vars(truth)}
    assert leaks(told, secret) == []
    assert leaks({**told, "tooth_length_mm": canal.apex_mm}, secret) == ["tooth_length_mm"]


def leaks(told: dict[str, Any], secret: dict[str, Any]) -> list[str]:
    """Fields whose number is one of the truth's."""
    numbers = [value for value in secret.values() if isinstance(value, float)]
    return [
        name
        for name, value in told.items()
        if isinstance(value, float) and np.isclose(value, numbers, rtol=0, atol=1e-6).any()
    ]


def test_films_are_evidence(canal: Canal) -> None:
    before, _ = expose_film(canal, INCISOR, rng=rng())
    working, _ = expose_film(canal, INCISOR, file_length_mm=20.0, rng=rng())
    assert isinstance(before.record, PreoperativeFilm)
    evidence = Evidence(
        tooth="11", canal="single", reference_point="incisal edge",
        records=(before.record, working.record),
    )  # fmt: skip
    assert Evidence.from_json(evidence.to_json()) == evidence


def test_the_same_chance_gives_the_same_film_and_another_gives_another(canal: Canal) -> None:
    one, same = (expose_film(canal, INCISOR, rng=rng())[0] for _ in range(2))
    other, _ = expose_film(canal, INCISOR, rng=np.random.default_rng(12))
    assert (one.image == same.image).all()
    assert one.record == same.record
    assert (one.image != other.image).mean() > 0.5


STEEP = {"technique": "bisecting", "file_length_mm": 20.0}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"horizontal_deg": 45.0}, "horizontal_deg"),
        ({"vertical_deg": -50.0}, "vertical_deg"),
        ({"vertical_deg": 85.0}, "beam_deg"),
        ({**STEEP, "vertical_deg": 50.0}, "vertical_deg: got 50; the file of 20 mm would be 1"),
        ({"technique": "panoramic"}, "technique"),
        ({"file_length_mm": 40.0}, "file_length_mm"),
        ({"file_length_mm": 20.0, "file_size": 200}, "file_size: got 200"),
        ({"file_length_mm": 20.0, "file_size": 20.5}, "file_size: got 20.5"),
        ({"file_length_mm": 2.0}, "file_length_mm"),
        ({"file_length_mm": float("nan")}, "file_length_mm"),
    ],
)
def test_an_impossible_film_is_refused_with_the_way_out(
    canal: Canal, change: dict[str, Any], field: str
) -> None:
    with pytest.raises(ValueError, match=rf"field .*{field}.*allowed"):
        expose_film(canal, INCISOR, rng=rng(), **change)


def test_whether_a_film_is_refused_is_no_matter_of_chance(
    canal: Canal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It hung on the reader's two marks, and a refusal had moved all that was drawn after it."""
    monkeypatch.setattr(film_module, "film_image", lambda *args, **options: np.zeros((1, 1)))
    refused = {}
    for angle in np.arange(36.0, 47.0, 0.5):
        answers = set()
        for seed in range(20):
            generator, before = (np.random.default_rng(seed) for _ in range(2))
            try:
                expose_film(canal, INCISOR, **STEEP, vertical_deg=angle, rng=generator)
                answers.add(False)
            except ValueError:
                answers.add(True)
                assert generator.random() == before.random()
        refused[angle] = answers
    assert all(len(answers) == 1 for answers in refused.values())
    assert refused[36.0] != refused[46.5]


def test_the_limit_that_binds_is_named(canal: Canal) -> None:
    for root, why in ((canal.apex_mm, "further past the root"), (30.0, "longest file is 31 mm")):
        with pytest.raises(ValueError, match=why):
            check_file(replace(canal, apex_mm=root), 35.0)


def test_sizes_and_lengths_may_be_numpy_s_own(canal: Canal) -> None:
    film, _ = expose_film(canal, INCISOR, file_length_mm=np.int64(20), file_size=np.int64(15),
                          rng=rng())  # fmt: skip
    assert isinstance(film.record, WorkingFilm)
    assert (film.record.file_length_mm, film.record.file_size) == (20.0, 15)


def test_what_leaves_the_receptor_is_named(canal: Canal) -> None:
    aimed = View(400.0, 20.0, pivot_mm=canal.apex_mm / 2)
    setup = replace(set_up(canal, "paralleling"), receptor=receptor_behind(aimed, 0.13))
    assert off_receptor(setup, project_landmarks(canal, INCISOR, setup.view, 20.0)) == []
    turned = set_up(canal, "paralleling", horizontal_deg=45.0)
    missing = off_receptor(turned, project_landmarks(canal, INCISOR, turned.view, 20.0))
    assert missing == ["the crown", "the end of the root", "the file's tip"]


@pytest.mark.slow
def test_the_print_picture_has_no_visible_step(canal: Canal) -> None:
    """Noise off and grain off: twice as many layers change the grey of no pixel by one of 256."""
    setup = set_up(canal, "bisecting", horizontal_deg=10.0, pixel_mm=PRINT_PIXEL_MM)

    def quiet(layers: int) -> np.ndarray:
        return film_image(canal, INCISOR, setup, file_length_mm=21.0, layers=layers, rng=rng())

    fine, finer = quiet(PRINT_LAYERS), quiet(2 * PRINT_LAYERS)
    assert np.abs(fine - finer).max() < 1 / 256
    coarse = quiet(SLIDER_LAYERS)
    assert np.abs(coarse - finer).max() > 1 / 256  # the check can fail


@pytest.mark.parametrize("many", [0, 7])
def test_a_sheet_has_a_letter_for_every_film_and_at_least_one(many: int) -> None:
    with pytest.raises(ValueError, match=f"field films: got {many}; allowed are 1 to 6"):
        film_sheet([None] * many, apex_up=True)  # type: ignore[list-item]
