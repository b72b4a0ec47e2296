"""A radiograph of one tooth: the picture, what a careful reader measures on it, and the truth.

A reader sets three marks on the picture: on the edge of the crown, on the end of the root, on the
file's tip, each with an error of its own. Everything else by which a film misleads (magnification,
a slanting beam, a foramen off the root's end) comes out of the geometry.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal
from lengthwise.anatomy.teeth import Outline
from lengthwise.bench.asked import check_file_size
from lengthwise.bench.film_landmarks import Landmarks, project_landmarks, read_film
from lengthwise.bench.film_parts import optical_depth
from lengthwise.bench.film_setup import Setup, Technique, check_file, check_on_receptor, set_up
from lengthwise.evidence import PreoperativeFilm, WorkingFilm
from lengthwise.evidence.records import image_limits_mm
from lengthwise.physics.attenuation import exposed, transmitted
from lengthwise.reference import radiography as r

Floats = npt.NDArray[Any]

SLIDER_LAYERS, PRINT_LAYERS = 40, 400


@dataclass(frozen=True, eq=False)
class Film:
    """What the clinic has: a picture, and what was measured on it.

    Attributes
    ----------
    image
        Grey from 0 (black) to 1 (white), shape (rows, columns); rows grow towards the apex.
    record
        What a careful reader writes down; lengths as the picture shows them, uncorrected.
    setup
        Where the receptor lay; its pixels give the picture its scale.
    """

    image: Floats
    record: PreoperativeFilm | WorkingFilm
    setup: Setup


@dataclass(frozen=True, eq=False)
class FilmTruth:
    """What the clinic never has.

    Attributes
    ----------
    landmarks
        Where they really fall on the receptor.
    tip_short_of_foramen_mm
        Of the file, in the canal; negative is past. None without a file.
    hidden_mm, shown_mm
        Offset of the foramen from the root's axis towards the source and across the picture.
    """

    landmarks: Landmarks
    tip_short_of_foramen_mm: float | None
    hidden_mm: float
    shown_mm: float


def expose_film(
    canal: Canal,
    outline: Outline,
    *,
    technique: Technique = "paralleling",
    vertical_deg: float = 0.0,
    horizontal_deg: float = 0.0,
    file_length_mm: float | None = None,
    file_size: int = 15,
    rng: np.random.Generator,
) -> tuple[Film, FilmTruth]:
    """Take one radiograph and read it.

    Parameters
    ----------
    canal, outline
        The tooth.
    technique, vertical_deg, horizontal_deg
        As in `set_up`.
    file_length_mm, file_size
        A file in the canal with its tip at this length (mm); None before treatment.

    Returns
    -------
    Film, FilmTruth
        What the clinic has, and what it never has.

    Raises
    ------
    ValueError
        If the tooth would leave the receptor, the file's image be too long or too short to
        measure, no file is as long, or its tip would lie in the crown or far beyond the root.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> from lengthwise.anatomy.teeth import outline
    >>> rng = np.random.default_rng(1)
    >>> one = draw_canals("11", 1, rng).one(0)
    >>> film, truth = expose_film(one, outline("11"), file_length_mm=one.foramen_mm, rng=rng)
    >>> film.image.shape, truth.tip_short_of_foramen_mm
    ((315, 238), 0.0)
    """
    setup = set_up(canal, technique, vertical_deg=vertical_deg, horizontal_deg=horizontal_deg)
    if file_length_mm is not None:
        check_file(canal, file_length_mm)
        check_file_size(file_size)
    landmarks = project_landmarks(canal, outline, setup.view, file_length_mm)
    check_on_receptor(setup, landmarks)
    if file_length_mm is not None and landmarks.tip is not None:
        _check_measurable(vertical_deg, landmarks.along_mm(landmarks.tip), file_length_mm)
    image = film_image(
        canal, outline, setup, file_length_mm=file_length_mm, file_size=file_size, rng=rng
    )
    read = read_film(landmarks, rng)
    record: PreoperativeFilm | WorkingFilm
    if file_length_mm is None:
        record = PreoperativeFilm(tooth_length_mm=read["tooth"], technique=technique)
    else:
        record = WorkingFilm(
            file_length_mm=float(file_length_mm),
            tip_short_of_radiographic_apex_mm=read["gap"],
            technique=technique,
            horizontal_deg=float(horizontal_deg),
            film_file_length_mm=read["file"],
            film_tooth_length_mm=read["tooth"],
            file_size=int(file_size),
        )
    short = None if file_length_mm is None else canal.foramen_mm - file_length_mm
    truth = FilmTruth(landmarks, short, canal.offset_buccal_mm, canal.offset_distal_mm)
    return Film(image, record, setup), truth


def _check_measurable(vertical_deg: float, image_mm: float, file_length_mm: float) -> None:
    """Refuse a picture on which a file is so drawn out or foreshortened that nobody measures it.

    Of the image as it falls, before anybody reads it, with room for the reader's two marks: whether
    a picture can be taken is no matter of chance.
    """
    room = r.MEASURED_WITHIN_SD.value * np.sqrt(2) * r.READER_SD_MM.value
    shortest, longest = image_limits_mm(file_length_mm)
    least, most = shortest + room, longest - room
    if not least <= image_mm <= most:
        raise ValueError(
            f"field vertical_deg: got {vertical_deg:g}; the file of {file_length_mm:g} mm would be "
            f"{image_mm:.1f} mm long on the picture; allowed is {least:.1f} to {most:.1f}; turn "
            "the beam back towards straight"
        )


def film_image(
    canal: Canal,
    outline: Outline,
    setup: Setup,
    *,
    file_length_mm: float | None,
    file_size: int = 15,
    layers: int = SLIDER_LAYERS,
    rng: np.random.Generator,
) -> Floats:
    """The picture alone, grey from 0 (black) to 1 (white), whether or not all of it is on it."""
    pixel = setup.receptor.pixel_mm
    depth = optical_depth(
        canal,
        outline,
        setup.view,
        setup.receptor,
        file_length_mm=file_length_mm,
        file_size=file_size,
        layers=layers,
        rng=rng,
    )
    recorded = exposed(
        transmitted(depth.astype(np.float32)),
        photons_per_pixel=r.PHOTONS_PER_MM2.value * pixel**2,
        unsharpness_px=r.UNSHARPNESS_MM.value / pixel,
        rng=rng,
    )
    black, white = r.SHOWN_BLACK.value, r.SHOWN_WHITE.value
    return np.clip((-np.log(recorded) - black) / (white - black), 0.0, 1.0)
