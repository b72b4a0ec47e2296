"""A patient with one canal: knows the truth, hands out evidence."""

from typing import Any

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import Outline, outline
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
    """

    def __init__(self, fdi: str, rng: np.random.Generator, canal: str | None = None) -> None:
        self.rng = rng
        self.canal: Canal = draw_canals(fdi, 1, rng, canal=canal).one(0)
        self.outline: Outline = outline(fdi, canal)
        self.state: dict[str, Any] = {}
        self.log: list[Record] = []
