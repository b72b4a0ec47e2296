"""Teeth and canals, each figure with its source and status.

Lengths are in millimetres. Sixteen tooth types are stored, and left and right share them. The
figures themselves, with citations, live in ``datasets/``; this module only looks them up.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from lengthwise.reference.files import Row, optional_number, read_rows
from lengthwise.reference.findings import Outcome, outcomes

__all__ = [
    "LengthSpread",
    "Outcome",
    "Spread",
    "Tooth",
    "apex_distance",
    "canal_length",
    "fdi_codes",
    "outcomes",
    "tooth",
]

_FDI_ALLOWED = "11-18, 21-28, 31-38, 41-48"
_QUADRANTS = {
    "1": ("upper", "right"),
    "2": ("upper", "left"),
    "3": ("lower", "left"),
    "4": ("lower", "right"),
}
_LAST_ANTERIOR = 3  # positions 1 to 3 are incisors and canine


@dataclass(frozen=True)
class Tooth:
    """One permanent tooth: names, length from incisal edge or cusp to the tip of its longest root.

    ``status`` tells how far crown and overall lengths were confirmed; the standard deviation,
    which the source never printed, has its own ``overall_sd_status`` and, where it is a judgement,
    the range from ``overall_sd_low_mm`` to ``overall_sd_high_mm``.
    """

    fdi: str
    universal: int
    name: str
    crown_mm: float
    overall_mean_mm: float
    overall_sd_mm: float
    overall_min_mm: float
    overall_max_mm: float
    source: str
    status: str
    canals: tuple[str, ...]
    overall_sd_source: str
    overall_sd_status: str
    overall_sd_low_mm: float | None
    overall_sd_high_mm: float | None


@dataclass(frozen=True)
class LengthSpread:
    """How a length varies between teeth: mean, standard deviation and published range, in mm."""

    mean_mm: float
    sd_mm: float
    min_mm: float
    max_mm: float
    source: str
    status: str


@dataclass(frozen=True)
class Spread:
    """A distance in mm with its standard deviation.

    ``status`` is that of the mean; the standard deviation has its own, and a range where it is an
    assumption.
    """

    mean_mm: float
    sd_mm: float
    source: str
    status: str
    sd_source: str
    sd_status: str
    sd_low_mm: float | None
    sd_high_mm: float | None


def _jaw_side_position(fdi: str) -> tuple[str, str, int]:
    text = str(fdi)
    if len(text) != 2 or text[0] not in _QUADRANTS or text[1] not in "12345678":
        raise ValueError(
            f"field tooth: tooth {text} is not in FDI notation; allowed are {_FDI_ALLOWED}; write "
            "the quadrant first, then the position counted from the midline"
        )
    jaw, side = _QUADRANTS[text[0]]
    return jaw, side, int(text[1])


def _universal_number(fdi: str) -> int:
    # Universal numbers run 1-16 along the upper jaw from the patient's right, then 17-32 back
    # along the lower jaw from the patient's left.
    position = int(fdi[1])
    return {
        "1": 9 - position,
        "2": 8 + position,
        "3": 25 - position,
        "4": 24 + position,
    }[fdi[0]]


def _rows_of(table: str, jaw: str, position: int) -> Iterator[Row]:
    for row in read_rows(table):
        if row["jaw"] == jaw and int(row["position"]) == position:
            yield row


def fdi_codes() -> tuple[str, ...]:
    """All 32 permanent teeth in FDI two-digit notation (ISO 3950).

    Examples
    --------
    >>> fdi_codes()[:3], len(fdi_codes())
    (('11', '12', '13'), 32)
    """
    return tuple(f"{quadrant}{position}" for quadrant in _QUADRANTS for position in range(1, 9))


def tooth(fdi: str) -> Tooth:
    """Names, lengths (mm) and canals of one permanent tooth.

    Parameters
    ----------
    fdi : str
        Two digits, such as ``"13"``.

    Raises
    ------
    ValueError
        Not a permanent tooth in FDI notation.

    Examples
    --------
    >>> canine = tooth("13")
    >>> canine.name, canine.universal, canine.overall_mean_mm, canine.canals
    ('upper right canine', 6, 26.4, ('single',))
    """
    return _tooth(str(fdi))


@cache
def _tooth(fdi: str) -> Tooth:
    jaw, side, position = _jaw_side_position(fdi)
    (row,) = _rows_of("teeth", jaw, position)
    return Tooth(
        fdi=fdi,
        universal=_universal_number(fdi),
        name=f"{jaw} {side} {row['name']}",
        crown_mm=float(row["crown_mm"]),
        overall_mean_mm=float(row["overall_mean_mm"]),
        overall_sd_mm=float(row["overall_sd_mm"]),
        overall_min_mm=float(row["overall_min_mm"]),
        overall_max_mm=float(row["overall_max_mm"]),
        source=row["source"],
        status=row["status"],
        canals=tuple(each["canal"] for each in _rows_of("canals", jaw, position)),
        overall_sd_source=row["overall_sd_source"],
        overall_sd_status=row["overall_sd_status"],
        overall_sd_low_mm=optional_number(row["overall_sd_low_mm"]),
        overall_sd_high_mm=optional_number(row["overall_sd_high_mm"]),
    )


def check_canal(described: Tooth, canal: str) -> None:
    """Refuse, with a `ValueError`, a canal that this tooth is not listed with."""
    if canal not in described.canals:
        raise ValueError(
            f"field canal: canal {canal!r} is not listed for tooth {described.fdi} "
            f"({described.name}); allowed are {', '.join(described.canals)}; choose one of them"
        )


def canal_length(fdi: str, canal: str) -> LengthSpread:
    """Length (mm) from the coronal reference to the anatomical apex of this canal's root.

    Derived: the overall length belongs to the longest root, so a shorter root is that much
    shorter; spread and range are moved with it. A source that is only "from memory" stays so
    underneath: fine as a default, never as a check.

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that this tooth is not listed with.

    Examples
    --------
    >>> canal_length("26", "P").mean_mm
    20.1
    >>> spread = canal_length("26", "DB")
    >>> f"{spread.mean_mm:.1f} {spread.status}"
    '18.6 derived'
    """
    return _canal_length(str(fdi), str(canal))


@cache
def _canal_length(fdi: str, canal: str) -> LengthSpread:
    described = _tooth(fdi)
    check_canal(described, canal)
    jaw, _, position = _jaw_side_position(fdi)
    roots = {
        row["canal"]: float(row["root_length_mm"]) for row in _rows_of("canals", jaw, position)
    }
    shorter = max(roots.values()) - roots[canal]
    return LengthSpread(
        mean_mm=described.overall_mean_mm - shorter,
        sd_mm=described.overall_sd_mm,
        min_mm=described.overall_min_mm - shorter,
        max_mm=described.overall_max_mm - shorter,
        source=f"{described.source}; lengths {described.status}, SD {described.overall_sd_status}",
        status="derived",
    )


def apex_distance(fdi: str) -> Spread:
    """Distance (mm) from the apical foramen to the anatomical apex, by kind of tooth.

    Anterior and posterior means are from one study; its standard deviations were not printed and
    are assumptions. The lower canine has a mean and a standard deviation of its own.

    Raises
    ------
    ValueError
        Not a permanent tooth in FDI notation.

    Examples
    --------
    >>> apex_distance("13").mean_mm, apex_distance("16").mean_mm, apex_distance("33").sd_mm
    (0.39, 0.82, 0.25)
    """
    return _apex_distance(str(fdi))


@cache
def _apex_distance(fdi: str) -> Spread:
    jaw, _, position = _jaw_side_position(fdi)
    group = "anterior" if position <= _LAST_ANTERIOR else "posterior"
    if (jaw, position) == ("lower", _LAST_ANTERIOR):
        group = "lower_canine"
    (row,) = (r for r in read_rows("apical_landmarks") if r["id"] == f"foramen_to_apex_{group}")
    return Spread(
        mean_mm=float(row["mean_mm"]),
        sd_mm=float(row["sd_mm"]),
        source=row["source"],
        status=row["status"],
        sd_source=row["sd_source"] or row["source"],
        sd_status=row["sd_status"] or row["status"],
        sd_low_mm=optional_number(row["sd_low_mm"]),
        sd_high_mm=optional_number(row["sd_high_mm"]),
    )
