"""A patient with one canal: knows the truth, hands out evidence."""

from typing import Any

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import Outline, outline
from lengthwise.bench.film import Film, expose_film
from lengthwise.bench.film_setup import Technique
from lengthwise.evidence import Record


class Patient:
    """One tooth with one canal. This is the only thing on the bench that changes.

    Parameters
    ----------
    fdi : str
        Two digits, such as ``"13"``.
    rng : numpy.random.Generator
        Where the chance comes from, now and in everything that is done later.
    canal : str, optional
        Name of the canal; that of the longest root by default.

    Attributes
    ----------
    canal
        The truth, drawn from the population.
    outline
        The outside of this kind of tooth, scaled to the canal's length where it is used.
    state
        What the canal is like at the moment, by name.
    log
        What was found so far, one evidence record after the other.

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that it does not have.

    Examples
    --------
    >>> patient = Patient("13", np.random.default_rng(1))
    >>> patient.canal.fdi, patient.canal.canal, patient.log
    ('13', 'single', [])
    >>> film = patient.expose_film(file_length_mm=24.0)
    >>> patient.log == [film.record], film.record.kind
    (True, 'working_film')
    """

    def __init__(self, fdi: str, rng: np.random.Generator, canal: str | None = None) -> None:
        self.rng = rng
        self.canal: Canal = draw_canals(fdi, 1, rng, canal=canal).one(0)
        self.outline: Outline = outline(fdi, canal)
        self.state: dict[str, Any] = {}
        self.log: list[Record] = []

    def expose_film(
        self,
        *,
        technique: Technique = "paralleling",
        vertical_deg: float = 0.0,
        horizontal_deg: float = 0.0,
        file_length_mm: float | None = None,
    ) -> Film:
        """Take a radiograph, read it, and write down what was read.

        Parameters and errors as in `lengthwise.bench.film.expose_film`. The truth that goes with
        the picture stays with the patient.
        """
        film, _ = expose_film(
            self.canal,
            self.outline,
            technique=technique,
            vertical_deg=vertical_deg,
            horizontal_deg=horizontal_deg,
            file_length_mm=file_length_mm,
            rng=self.rng,
        )
        self.log.append(film.record)
        return film
