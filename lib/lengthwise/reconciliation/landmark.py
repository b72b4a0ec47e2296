"""The foramen and the landmark of one kind of source, jointly.

A record tells about the foramen only by way of its landmark (the end of the root, the foramen
signal, the place where paper meets tissue). So whatever a record to come could say follows from
two things: this joint distribution, and the likelihood of the record on its landmark. What cannot
be learnt from that kind of source, however often it is asked, follows from the first alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from . import apex, paper, paper_pools, paper_trials, reading
from .families import ON_APEX, ByFamily, Canal, log_density_by_family
from .foramen import DIAMETER_WEIGHTS, DIAMETERS_MM
from .offsets import Floats, Offsets
from .posterior import COARSE_STEP_MM, Posterior, shortened
from .sources import Source

SPARSE = 2
"""The foramen is held at every second point of the rough grid: 0.1 mm apart."""

LEFT_OUT = 2e-5
"""Probability at each end of the posterior that is left out. Tails are long and cost much: with
5e-4 gains came out 3 % too small."""


@dataclass(frozen=True, eq=False)
class Landmark:
    """Foramen and landmark by everything but the one source that is to speak (again).

    Attributes
    ----------
    foramen_mm, landmark_mm : lengths (mm); (foramina,) and (places,).
    weight : how probable each pair is without that source, up to a factor; (foramina, places).
    before : likelihood on `landmark_mm` of what that source has said already, up to a factor;
        ones where it has not spoken.
    """

    foramen_mm: Floats
    landmark_mm: Floats
    weight: Floats
    before: Floats

    @property
    def joint(self) -> Floats:
        """Probability of each pair by everything said so far; (foramina, places)."""
        pairs = self.weight * self.before
        return np.asarray(pairs / pairs.sum())


@dataclass(frozen=True, eq=False)
class Known:
    """What all families of sources say of the foramen of one canal, near where it is.

    Attributes
    ----------
    canal : the canal and all its sources.
    copies : the same for each amount of shortening between its stages.
    log_weight : probability of each copy, as a logarithm.
    foramen_mm : lengths (mm) that matter, 0.1 mm apart.
    said : by family, for each copy.
    """

    canal: Canal
    copies: Sequence[Canal]
    log_weight: Floats
    foramen_mm: Floats
    said: ByFamily


def known_of(canal: Canal, posterior: Posterior) -> Known:
    """What is known of a canal whose foramen is where `posterior` says."""
    _, log_weight, copies = shortened([canal])
    start_mm, points = _window(posterior)
    starts = np.full(len(copies), start_mm)
    foramen_mm = np.asarray(start_mm + SPARSE * COARSE_STEP_MM * np.arange((points + 1) // SPARSE))
    said = log_density_by_family(copies, starts, points, COARSE_STEP_MM)
    return Known(canal, copies, log_weight, foramen_mm, said)


def landmark_of(known: Known, kind: str, speaking: Source | None) -> Landmark:
    """Where the foramen and the landmark of this kind of source are.

    Parameters
    ----------
    known : Known
        What all sources of the canal say.
    kind : str
        A film, "electronic_reading" or "point_trial".
    speaking : Source, optional
        The one of the canal's sources that is to speak again.
    """
    family = ON_APEX if kind in ON_APEX else frozenset({kind})
    own = _offsets(known.canal, kind)
    tap_mm = own[0].tap_mm
    first = min(offsets.first_mm for offsets in own)
    last = max(offsets.last_mm for offsets in own)
    rest = _others(known, kind)

    foramen_mm = known.foramen_mm
    stride = round(SPARSE * COARSE_STEP_MM / tap_mm)
    places = stride * (len(foramen_mm) - 1) + round((last - first) / tap_mm) + 1
    landmark_mm = foramen_mm[0] + first + tap_mm * np.arange(places)
    same = [
        tuple(
            source
            for source, original in zip(copy.sources, known.canal.sources, strict=True)
            if source.kind in family and original is not speaking
        )
        for copy in known.copies
    ]
    said = log_likelihoods(known.canal, kind, same, landmark_mm)
    said = np.exp(said - said.max())

    nodes = max(len(rest), len(own))
    shares = DIAMETER_WEIGHTS if nodes > 1 else np.ones(1)
    rows = np.arange(len(foramen_mm))[:, None]
    weight = np.zeros((len(foramen_mm), places))
    for copy in range(len(known.copies)):
        pairs = np.zeros_like(weight)
        for node in range(nodes):
            offsets = own[min(node, len(own) - 1)]
            begin = round((offsets.first_mm - first) / tap_mm)
            taps = begin + np.arange(offsets.weights.size)
            here = shares[node] * rest[min(node, len(rest) - 1), copy]
            pairs[rows, stride * rows + taps] += here[:, None] * offsets.weights.ravel()
        weight += pairs * said[copy]
    if speaking is None:
        return Landmark(foramen_mm, landmark_mm, weight, np.ones(places))
    before = log_likelihoods(known.canal, kind, [(speaking,)], landmark_mm)[0]
    return Landmark(foramen_mm, landmark_mm, weight, np.exp(before - before.max()))


def _others(known: Known, kind: str) -> Floats:
    """Density over the foramen by all other families, up to a factor (nodes, copies, foramina)."""
    said = known.said
    if kind == "electronic_reading":
        total = said.apex + said.stop + said.paper
    elif kind == "point_trial":
        total = said.apex + said.stop + said.reading
    else:
        total = said.stop + said.paper + said.reading
    total = total[:, :, ::SPARSE] + known.log_weight[:, None]
    return np.asarray(np.exp(total - total.max()))


def log_likelihoods(
    canal: Canal, kind: str, cases: Sequence[tuple[Source, ...]], landmark_mm: Floats
) -> Floats:
    """Log-likelihood of the sources of each case on their common landmark (cases, places)."""
    grid = np.broadcast_to(landmark_mm, (len(cases), len(landmark_mm)))
    if kind == "electronic_reading":
        return reading.reading_log_likelihood(reading.signal_table(cases), grid)
    if kind == "point_trial":
        step_mm = float(landmark_mm[1] - landmark_mm[0])
        extra = np.arange(-round(paper_pools.HIGHEST_POOL_MM / step_mm), 0) * step_mm
        longer = np.concatenate([landmark_mm[0] + extra, landmark_mm])
        grid = np.broadcast_to(longer, (len(cases), len(longer)))
        return paper.paper_log_likelihood(paper_trials.trial_table(cases), grid, step_mm)
    teeth = [(canal.tooth, canal.canal)] * len(cases)
    films = apex.film_table(cases)
    total = apex.average_log_likelihood(teeth, cases, np.asarray(grid))
    return total + apex.film_log_likelihood(films, grid) if len(films.source) else total


def _offsets(canal: Canal, kind: str) -> list[Offsets]:
    """Landmark minus foramen: one distribution, or one for each node of the foramen's width."""
    nodes = range(len(DIAMETERS_MM))
    if kind == "electronic_reading":
        return [reading.reading_offsets(node) for node in nodes]
    if kind == "point_trial":
        return [paper.paper_offsets(node) for node in nodes]
    return [apex.apex_offsets([(canal.tooth, canal.canal)])]


def _window(posterior: Posterior) -> tuple[float, int]:
    """First length (mm) that matters, on the rough grid, and the number of rough points."""
    low, high = posterior.quantile_mm([LEFT_OUT, 1 - LEFT_OUT])
    start = np.floor(low / COARSE_STEP_MM / SPARSE) * COARSE_STEP_MM * SPARSE
    return float(start), SPARSE * int(np.ceil((high - start) / COARSE_STEP_MM / SPARSE)) + 1
