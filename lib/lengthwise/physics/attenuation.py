"""How much of a beam comes through: Beer-Lambert at one effective energy, and photon noise."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from lengthwise.reference.files import read_rows
from lengthwise.reference.shared import read_only

Floats = npt.NDArray[Any]


@cache
def _table(material: str) -> tuple[Floats, Floats]:
    rows = [row for row in read_rows("attenuation") if row["material"] == material]
    if not rows:
        known = sorted({row["material"] for row in read_rows("attenuation")})
        raise ValueError(
            f"field material: got {material!r}; allowed are {', '.join(known)}; check its spelling"
        )
    energies = np.log([float(row["energy_kev"]) for row in rows])
    return read_only((energies, np.log([float(row["attenuation_per_mm"]) for row in rows])))


def attenuation_per_mm(material: str, energy_kev: float) -> float:
    """Linear attenuation (1/mm) of a material; between the table's energies log-log.

    Raises
    ------
    ValueError
        If the table does not have the material, or does not reach the energy.

    Examples
    --------
    >>> enamel, dentine = (attenuation_per_mm(m, 35.0) for m in ("enamel", "dentine"))
    >>> enamel > dentine
    True
    """
    energies, values = _table(material)
    low, high = np.exp(energies[0]), np.exp(energies[-1])
    if not low <= energy_kev * (1 + 1e-9) or not energy_kev <= high * (1 + 1e-9):
        raise ValueError(
            f"field energy_kev: got {energy_kev:g}; allowed is {low:.0f} to {high:.0f}, which the "
            "table of attenuation covers; use an effective energy, not a tube voltage"
        )
    return float(np.exp(np.interp(np.log(energy_kev), energies, values)))


def transmitted(optical_depth: Floats) -> Floats:
    """Share of the photons that comes through an optical depth (dimensionless), any shape.

    Examples
    --------
    >>> transmitted(np.array([0.0, np.log(2.0)]))
    array([1. , 0.5])
    """
    return np.asarray(np.exp(-optical_depth))


def exposed(
    share: Floats,
    *,
    photons_per_pixel: float,
    unsharpness_px: float,
    rng: np.random.Generator,
) -> Floats:
    """What a receptor records of a shadow: blurred, then counted photon by photon.

    Parameters
    ----------
    share
        Share of the photons that comes through, shape (rows, columns).
    photons_per_pixel
        That reach a pixel behind nothing. So many that the Poisson law is a normal one.
    unsharpness_px
        Standard deviation of the blur in pixels.

    Returns
    -------
    ndarray
        Recorded share, same shape: its mean is the blurred share, its variance that over
        `photons_per_pixel`.

    Examples
    --------
    >>> flat = np.full((200, 200), 0.25, dtype=np.float32)
    >>> seen = exposed(flat, photons_per_pixel=1e4, unsharpness_px=1.0,
    ...                rng=np.random.default_rng(1))
    >>> bool(abs(seen.mean() - 0.25) < 1e-4), bool(abs(seen.std() / 0.005 - 1) < 0.02)
    (True, True)
    """
    blurred = gaussian_filter(share, unsharpness_px, mode="nearest", truncate=3.0)
    noise = rng.standard_normal(blurred.shape, dtype=np.float32)
    return np.asarray(np.maximum(blurred + np.sqrt(blurred / photons_per_pixel) * noise, 1e-6))
