"""The posterior over the foramen, for many cases at once.

Each family of sources is multiplied on its own landmark, carried to the foramen, and multiplied
with the others. Three things are shared across families and averaged over at the end: the
foramen's width (paper and reading), the wicking of the canal's points (inside `paper`), and how
much a curved canal has become shorter between stages (every source from before).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lengthwise.reference import constants as c
from lengthwise.reference.shared import read_only

from .families import Canal, log_density_by_family
from .foramen import DIAMETER_WEIGHTS
from .offsets import Floats, log_mean_exp
from .sources import STAGES

COARSE_STEP_MM = 0.05
CHUNK = 64
"""Cases worked on together: enough to be vectorised, few enough to stay in the cache."""

NEGLIGIBLE_NATS = 25.0
"""Lengths this much less likely than the best are left off the fine grid (1e-11)."""

_SHORTENING_NODES = np.array([-np.sqrt(3.0), 0.0, np.sqrt(3.0)])
_SHORTENING_WEIGHTS = np.array([1 / 6, 2 / 3, 1 / 6])


@dataclass(frozen=True, eq=False)
class Posterior:
    """Where the foramen is: density (1/mm) on a grid (mm), and the log-evidence of the sources.

    Examples
    --------
    >>> flat = Posterior(np.array([21.0, 21.5, 22.0, 22.5]), np.full(4, 0.5), 0.0)
    >>> flat.mean_mm, flat.probability_past(22.25)
    (21.75, 0.75)
    """

    grid_mm: Floats
    density_per_mm: Floats
    log_evidence: float

    @cached_property
    def weights(self) -> Floats:
        """Probability of each length of the grid."""
        return np.asarray(self.density_per_mm * (self.grid_mm[1] - self.grid_mm[0]))

    @cached_property
    def mean_mm(self) -> float:
        """Mean of the foramen (mm)."""
        return float(self.grid_mm @ self.weights)

    @cached_property
    def sd_mm(self) -> float:
        """Standard uncertainty of the foramen (mm)."""
        return float(np.sqrt((self.grid_mm - self.mean_mm) ** 2 @ self.weights))

    def quantile_mm(self, probability: npt.ArrayLike) -> Floats:
        """The length (mm) coronal of which the foramen lies with this probability, 0 to 1."""
        wanted = np.asarray(probability, dtype=np.float64)
        if not np.all((wanted >= 0) & (wanted <= 1)):
            raise ValueError(
                f"field probability: got {probability!r}; allowed is 0 to 1; write 0.5 for the "
                "median"
            )
        return np.asarray(np.interp(wanted, self._cumulative, self._edges_mm), dtype=np.float64)

    def probability_past(self, length_mm: float) -> float:
        """Probability that this length (mm) is past the foramen."""
        return float(np.interp(length_mm, self._edges_mm, self._cumulative))

    @cached_property
    def _edges_mm(self) -> Floats:
        half = (self.grid_mm[1] - self.grid_mm[0]) / 2
        return np.append(self.grid_mm - half, self.grid_mm[-1] + half)

    @cached_property
    def _cumulative(self) -> Floats:
        total = np.append(0.0, np.cumsum(self.weights))
        return np.asarray(total / total[-1])


def rough_posteriors(canals: Sequence[Canal]) -> list[Posterior]:
    """The posterior of every canal on a grid of 0.05 mm over all lengths.

    Good to a few thousandths of a millimetre in mean and spread, at half the work: for what is
    compared with others and told to a tenth.
    """
    low = c.LENGTH_LOW_MM.value
    grid = np.asarray(low + COARSE_STEP_MM * np.arange(_coarse_points()), dtype=np.float64)
    result: list[Posterior] = []
    for rows in _chunks(np.arange(len(canals))):
        starts = np.full(len(rows), low)
        some = [canals[i] for i in rows]
        for row in _log_density(some, starts, len(grid), COARSE_STEP_MM):
            result.append(_normalised(grid, row, COARSE_STEP_MM))
    return result


def _coarse_points() -> int:
    return round((c.LENGTH_HIGH_MM.value - c.LENGTH_LOW_MM.value) / COARSE_STEP_MM) + 1


def foramen_posteriors(canals: Sequence[Canal]) -> list[Posterior]:
    """The posterior of every canal, in order."""
    if not canals:
        return []
    low, high = c.LENGTH_LOW_MM.value, c.LENGTH_HIGH_MM.value
    starts = np.full(len(canals), low)
    points = _coarse_points()
    windows = np.zeros((len(canals), 2))
    for rows in _chunks(np.arange(len(canals))):
        log_density = _log_density([canals[i] for i in rows], starts[rows], points, COARSE_STEP_MM)
        windows[rows] = np.clip(_window(log_density, low), low, high)
    step = c.GRID_STEP_MM.value
    widths = np.round((windows[:, 1] - windows[:, 0]) / step).astype(int) + 1
    result: dict[int, Posterior] = {}
    for rows in _alike(np.argsort(widths, kind="stable"), widths):
        wanted = int(widths[rows].max())
        begin = windows[rows, 0]
        log_density = _log_density([canals[i] for i in rows], begin, wanted, step)
        for i, start, row in zip(rows, begin, log_density, strict=True):
            # the widest of the chunk sets the number of points; each canal keeps its own part
            own = slice(0, int(widths[i]))
            result[int(i)] = _normalised(start + step * np.arange(wanted)[own], row[own], step)
    return [result[i] for i in range(len(canals))]


def _chunks(order: npt.NDArray[np.intp]) -> Iterator[npt.NDArray[np.intp]]:
    for begin in range(0, len(order), CHUNK):
        yield order[begin : begin + CHUNK]


def _alike(
    order: npt.NDArray[np.intp], widths: npt.NDArray[np.intp]
) -> Iterator[npt.NDArray[np.intp]]:
    """Chunks of canals, narrowest first, in which no grid is twice as wide as another."""
    begin = 0
    while begin < len(order):
        fits = np.searchsorted(widths[order], 2 * widths[order[begin]])
        end = min(begin + CHUNK, int(fits))
        yield order[begin:end]
        begin = end


def _window(log_density: Floats, low_mm: float) -> Floats:
    """Begin and end (mm) of the lengths that matter, on half millimetres, a little wider."""
    matters = log_density > log_density.max(axis=1, keepdims=True) - NEGLIGIBLE_NATS
    first = matters.argmax(axis=1)
    last = matters.shape[1] - 1 - matters[:, ::-1].argmax(axis=1)
    begin = np.floor((low_mm + COARSE_STEP_MM * first) * 2 - 0.5) / 2
    end = np.ceil((low_mm + COARSE_STEP_MM * last) * 2 + 0.5) / 2
    return np.stack([begin, end], axis=1)


def _normalised(grid_mm: Floats, log_density: Floats, step_mm: float) -> Posterior:
    top = log_density.max()
    density = np.exp(log_density - top)
    total = density.sum() * step_mm
    density /= total
    return read_only(Posterior(grid_mm, density, float(np.log(total) + top)))


def _log_density(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    """Unnormalised log-density (canals, points); each canal's grid begins at its own start."""
    owner, log_weight, copies = shortened(canals)
    log_density = _joint(copies, start_mm[owner], points, step_mm) + log_weight[:, None]
    if len(copies) == len(canals):
        return log_density
    result = np.full((len(canals), points), -np.inf)
    np.logaddexp.at(result, owner, log_density)
    return result


def shortened(canals: Sequence[Canal]) -> tuple[npt.NDArray[np.intp], Floats, list[Canal]]:
    """Every canal once for each amount that it may have lost since its sources spoke (once, if all
    spoke of it as it is now).
    """
    owner, log_weight, copies = [], [], []
    for i, canal in enumerate(canals):
        mixed = any(source.stage not in (None, canal.stage) for source in canal.sources)
        nodes = _SHORTENING_NODES if mixed else np.zeros(1)
        weights = _SHORTENING_WEIGHTS if mixed else np.ones(1)
        for node, weight in zip(nodes, weights, strict=True):
            moved = tuple(
                replace(source, shift_mm=shortening_mm(source.stage, canal.stage, float(node)))
                for source in canal.sources
            )
            owner.append(i)
            log_weight.append(float(np.log(weight)))
            copies.append(replace(canal, sources=moved))
    return np.array(owner, dtype=np.intp), np.array(log_weight), copies


def shortening_mm(stage: str | None, latest: str | None, z: float) -> float:
    """How much a canal has lost (mm) from `stage` to the `latest` stage.

    `z` says how the canal compares with others, in standard deviations: one that lost much in
    flaring loses much in shaping, since the same curve is straightened.

    >>> round(shortening_mm("before_flare", "after_shaping", 0.0), 2)
    0.39
    """
    if stage is None or latest is None:
        return 0.0
    steps = (
        (c.SHORTENING_FLARE_MM.value, c.SHORTENING_FLARE_SD_MM.value),
        (c.SHORTENING_SHAPING_MM.value, c.SHORTENING_SHAPING_SD_MM.value),
    )[STAGES.index(stage) : STAGES.index(latest)]
    return sum(mean + z * sd for mean, sd in steps)


def _joint(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    """Log-density of every canal over the foramen, all families together (canals, points)."""
    said = log_density_by_family(canals, start_mm, points, step_mm)
    return said.apex + said.stop + _over_widths(said.paper + said.reading)


def _over_widths(log_density: Floats) -> Floats:
    return log_density[0] if len(log_density) == 1 else log_mean_exp(log_density, DIAMETER_WEIGHTS)
