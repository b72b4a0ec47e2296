"""The teeth of the assignments, and how one is named in a question."""

from lengthwise.evidence.case import CanalName
from lengthwise.reference.tables import tooth

TEETH: tuple[tuple[str, CanalName, str], ...] = (
    ("11", "single", "incisal edge"),
    ("12", "single", "incisal edge"),
    ("13", "single", "cusp tip"),
    ("22", "single", "incisal edge"),
    ("23", "single", "cusp tip"),
    ("33", "single", "cusp tip"),
    ("34", "single", "buccal cusp tip"),
    ("43", "single", "cusp tip"),
    ("44", "single", "buccal cusp tip"),
)
"""Teeth with one canal, with the reference point from which it is measured."""


def named(fdi: str) -> str:
    """Name, FDI and Universal number, as a sentence begins with them.

    >>> named("13")
    'An upper right canine (tooth 13, Universal 6)'
    """
    about = tooth(fdi)
    return f"An {about.name} (tooth {fdi}, Universal {about.universal})".replace("An l", "A l")


def beside(fdi: str) -> str:
    """What may lie near the end of a root in this jaw, and be hurt.

    >>> beside("16"), beside("35")
    ('the sinus', 'a nerve')
    """
    return "the sinus" if fdi[0] in "12" else "a nerve"
