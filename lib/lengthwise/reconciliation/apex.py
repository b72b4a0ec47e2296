"""Sources that speak about the end of the root: the average tooth, and radiographs.

The landmark is the radiographic apex (mm from the reference). The foramen lies coronal of it by
δ_a, which all radiographs of a canal share.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.special import betainc, betaln, gammainc

from lengthwise.anatomy.lengths import FURTHEST_APEX_MM, apex_gamma, beta_of
from lengthwise.evidence import PreoperativeFilm, WorkingFilm
from lengthwise.reference import constants

from .densities import log_normal
from .offsets import Floats, Offsets, binned, log_mean_exp, mix, sum_by
from .sources import AVERAGE, Source

IMPOSSIBLE = -1e4
"""A log-density that stands for none, and stays comparable with others of its kind."""

BIAS_NODES = (-1.0, 1.0)
BIAS_WEIGHTS = np.array([0.5, 0.5])
"""The doubt about the bias in standard deviations: two values with its mean and spread."""

_PUBLISHED_BIAS_MM = {
    "paralleling": constants.FILM_BIAS_PARALLELING_MM.value,
    "bisecting": constants.FILM_BIAS_BISECTING_MM.value,
    None: constants.FILM_BIAS_NOT_RECORDED_MM.value,
}
_FILM_SCALE = {
    "paralleling": (
        constants.FILM_READER_SD_PARALLELING_MM.value,
        constants.MAGNIFICATION_PARALLELING.value,
        constants.MAGNIFICATION_SD_PARALLELING.value,
    ),
    "bisecting": (
        constants.FILM_READER_SD_BISECTING_MM.value,
        constants.MAGNIFICATION_BISECTING.value,
        constants.MAGNIFICATION_SD_BISECTING.value,
    ),
    None: (
        constants.FILM_READER_SD_NOT_RECORDED_MM.value,
        constants.MAGNIFICATION_NOT_RECORDED.value,
        constants.MAGNIFICATION_SD_NOT_RECORDED.value,
    ),
}


def film_scale(technique: str | None) -> tuple[float, float, float]:
    """Reader's SD (mm), magnification and its SD, for a technique or None.

    >>> film_scale("paralleling")[0]
    0.28
    """
    return _FILM_SCALE[technique]


def film_bias_mm(technique: str | None) -> tuple[float, float]:
    """Bias of a gap read on a film with a file (mm), and the doubt about it as an SD.

    Either films have the published bias or, as geometry says, none; both in proportion to
    `FILM_BIAS_BELIEVED`. All films of a canal have it or none has, so the doubt does not shrink
    when films are repeated.

    >>> film_bias_mm("bisecting")
    (-0.122, 0.244)
    """
    published, share = _PUBLISHED_BIAS_MM[technique], constants.FILM_BIAS_BELIEVED.value
    return share * published, abs(published) * float(np.sqrt(share * (1 - share)))


def gap_sd_mm(gap_mm: float, technique: str | None) -> float:
    """Standard uncertainty (mm) of a gap on a film on which nothing of known length was measured.

    The reader's, and what films of one technique differ in magnification.

    >>> gap_sd_mm(0.0, "paralleling"), round(gap_sd_mm(10.0, "paralleling"), 2)
    (0.28, 0.3)
    """
    reader_sd, magnification, magnification_sd = film_scale(technique)
    return float(np.hypot(reader_sd, gap_mm * magnification_sd / magnification))


def film_apex_mm(record: PreoperativeFilm | WorkingFilm) -> tuple[float, float, float]:
    """Where a radiograph puts the radiographic apex, and how well.

    Before treatment: the image's length over its magnification. With a file: its length plus
    the gap, the gap brought to scale by the file's own image where it was measured (else by the
    usual magnification, which differs from film to film) and freed of what is believed of the
    published bias. Where file and tooth were both measured on the image, the rule of three is a
    second value from the same film: the two are averaged and count once. A horizontal angle leaves
    lengths along the axis alone.

    Returns
    -------
    (float, float, float)
        The apex (mm), its standard uncertainty (mm) from the reader and from the scale of the gap,
        and a standard uncertainty in proportion to the length, from the scale of the image.

    Examples
    --------
    >>> film = WorkingFilm(file_length_mm=25.0, tip_short_of_radiographic_apex_mm=1.0,
    ...                    technique="paralleling", film_file_length_mm=26.5)
    >>> apex_mm, reader_sd_mm, relative_sd = film_apex_mm(film)
    >>> round(apex_mm, 2), reader_sd_mm, relative_sd
    (25.97, 0.28, 0.0)
    """
    reader_sd, magnification, magnification_sd = film_scale(record.technique)
    if isinstance(record, PreoperativeFilm):
        apex = record.tooth_length_mm / magnification
        return apex + record.offset_mm, reader_sd, magnification_sd / magnification
    bias, _ = film_bias_mm(record.technique)
    if record.film_file_length_mm is not None:
        magnification = record.film_file_length_mm / record.file_length_mm
    else:
        reader_sd = gap_sd_mm(
            record.tip_short_of_radiographic_apex_mm / magnification, record.technique
        )
    gap = record.tip_short_of_radiographic_apex_mm / magnification - bias
    apex = record.file_length_mm + gap
    if record.film_file_length_mm is not None and record.film_tooth_length_mm is not None:
        rule_of_three = record.film_tooth_length_mm / magnification - bias
        apex = (apex + rule_of_three) / 2
    return apex + record.offset_mm, reader_sd, 0.0


@dataclass(frozen=True, eq=False)
class FilmTable:
    """Every radiograph of many cases as arrays; `source` counts film sources over all cases.

    `doubt_mm` is the doubt about the bias, which all films of a case share.
    """

    source: npt.NDArray[np.intp]
    apex_mm: Floats
    doubt_mm: Floats
    reader_sd_mm: Floats
    relative_sd: Floats
    source_case: npt.NDArray[np.intp]
    source_trust: Floats


def film_table(cases: Sequence[Sequence[Source]]) -> FilmTable:
    """Collect the radiographs of many cases."""
    owner: list[int] = []
    trust: list[float] = []
    of_source: list[int] = []
    apex: list[float] = []
    doubt: list[float] = []
    sd: list[float] = []
    relative_sd: list[float] = []
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind not in ("preoperative_film", "working_film"):
                continue
            for record in source.records:
                assert isinstance(record, PreoperativeFilm | WorkingFilm)
                value, spread, relative = film_apex_mm(record)
                of_source.append(len(owner))
                apex.append(value - source.shift_mm)
                with_file = isinstance(record, WorkingFilm)
                doubt.append(film_bias_mm(record.technique)[1] if with_file else 0.0)
                sd.append(spread)
                relative_sd.append(relative)
            owner.append(case)
            trust.append(source.trust)
    return FilmTable(
        np.array(of_source, dtype=np.intp),
        np.array(apex, dtype=np.float64),
        np.array(doubt, dtype=np.float64),
        np.array(sd, dtype=np.float64),
        np.array(relative_sd, dtype=np.float64),
        np.array(owner, dtype=np.intp),
        np.array(trust, dtype=np.float64),
    )


def film_log_likelihood(table: FilmTable, apex_mm: Floats) -> Floats:
    """Log-likelihood of all radiographs of each case, on that case's apex grid (cases, points)."""
    if not table.doubt_mm.any():
        return _with_bias(table, apex_mm, 0.0)
    by_bias = np.stack([_with_bias(table, apex_mm, z) for z in BIAS_NODES])
    return log_mean_exp(by_bias, BIAS_WEIGHTS)


def _with_bias(table: FilmTable, apex_mm: Floats, z: float) -> Floats:
    """The same where the bias of all films differs from what is believed by `z` times the doubt."""
    supposed = apex_mm[table.source_case[table.source]]
    residual = supposed - (table.apex_mm - z * table.doubt_mm)[:, None]
    sd = np.hypot(table.reader_sd_mm[:, None], table.relative_sd[:, None] * supposed)
    count = len(table.source_case)
    sound = sum_by(table.source, log_normal(residual, sd), count)
    wide = constants.FILM_UNSOUND_WIDENING.value
    unsound = sum_by(table.source, log_normal(residual, wide * sd), count)
    mixed = mix(table.source_trust[:, None], sound, unsound)
    return sum_by(table.source_case, mixed, len(apex_mm))


def average_log_likelihood(
    teeth: Sequence[tuple[str, str]], cases: Sequence[Sequence[Source]], apex_mm: Floats
) -> Floats:
    """Log prior density of each case's apex (cases, points); flat where the average is not used.

    A beta distribution with the published mean, spread and range of this tooth's canal (it is
    skewed to the right by itself and stays inside the range), less what its crown has lost: any
    amount between the least and the most is as likely. Flat over every length where the tooth does
    not belong to that population.
    """
    low, high = constants.LENGTH_LOW_MM.value, constants.LENGTH_HIGH_MM.value
    inside = (apex_mm >= low) & (apex_mm <= high)
    result = np.where(inside, -np.log(high - low), IMPOSSIBLE)
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind == AVERAGE and source.trust > 0:
                low, high, a, b = beta_of(*teeth[case])
                least, most = source.lowered_mm
                if most > least:
                    known = _log_lowered_density(apex_mm[case], (low, high, a, b), least, most)
                else:
                    known = _log_beta_density(apex_mm[case], low, high, a, b)
                result[case] = mix(np.array(source.trust), known, result[case])
    return result


def _log_beta_density(length_mm: Floats, low: float, high: float, a: float, b: float) -> Floats:
    inside = np.clip((length_mm - low) / (high - low), 1e-12, 1 - 1e-12)
    density = (a - 1) * np.log(inside) + (b - 1) * np.log1p(-inside)
    density = density - betaln(a, b) - np.log(high - low)
    return np.where((length_mm > low) & (length_mm < high), density, IMPOSSIBLE)


def _log_lowered_density(
    length_mm: Floats, beta: tuple[float, float, float, float], least_mm: float, most_mm: float
) -> Floats:
    """The same less an amount that lies evenly between two: the mean of the density over it."""
    low, high, a, b = beta

    def shorter_than(whole_mm: Floats) -> Floats:
        return np.asarray(betainc(a, b, np.clip((whole_mm - low) / (high - low), 0.0, 1.0)))

    between = shorter_than(length_mm + most_mm) - shorter_than(length_mm + least_mm)
    with np.errstate(divide="ignore"):
        return np.maximum(np.log(between / (most_mm - least_mm)), IMPOSSIBLE)


def apex_offsets(teeth: Sequence[tuple[str, str]]) -> Offsets:
    """δ_a = apex - foramen of each case: a gamma distribution cut at 3 mm (cases, taps)."""
    weights = np.stack([_apex_offsets(tooth).weights for tooth, _ in teeth])
    return Offsets(0.0, weights)


@cache
def _apex_offsets(tooth: str) -> Offsets:
    shape, scale = apex_gamma(tooth)
    return binned(lambda mm: np.asarray(gammainc(shape, mm / scale)), 0.0, FURTHEST_APEX_MM)
