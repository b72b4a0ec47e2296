"""Where canals turn to, how much, and what they lose when they are straightened."""

import numpy as np
import numpy.typing as npt
from scipy.special import gammaincinv, ndtr, ndtri

from lengthwise.reference import constants as c
from lengthwise.reference.files import read_rows

from . import assumptions as a

Floats = npt.NDArray[np.float64]
Generator = np.random.Generator


def draw_side(n: int, rng: Generator) -> tuple[Floats, Floats]:
    """Unit vectors (buccal, distal) from the axis to the foramen.

    Shares of the four sides among roots that deviate, Martos et al. 2009; lingual and mesial,
    printed as a rest, get half of it each; within its quarter every direction is as likely.
    """
    share = {row["id"]: float(row["share"]) for row in read_rows("apical_shares")}
    rest = share["direction_lingual_mesial"] / 2
    sides = np.array([share["direction_distal"], share["direction_buccal"], rest, rest])
    quarter = rng.choice(4, size=n, p=sides / sides.sum())  # distal, buccal, mesial, lingual
    turn = np.pi / 2 * (quarter + rng.uniform(-0.5, 0.5, n))
    return np.sin(turn), np.cos(turn)


def draw_curvature(fdi: str, n: int, rng: Generator) -> tuple[Floats, Floats]:
    """Curvature (degrees), and its rank among all canals as a standard normal.

    Upper canines are taken from the less curved of them, so that their ranks lie lower in the mean
    and they lose less than the published mean when they are straightened.
    A straight line between the published limits. Schäfer's shares exceed 1 together with the
    straight canals, so his "up to 27" gives way.
    """
    row = {r["id"]: r for r in read_rows("curvature")}
    straight = 1 - float(row["curved_all"]["share"])
    over = float(row["over_35"]["share"])
    share = [0.0, straight, 1 - over - float(row["27_to_35"]["share"]), 1 - over, 1.0]
    limit = [0.0, *(float(row[k]["high_deg"]) for k in ("straight", "to_27", "27_to_35", "severe"))]
    most = float(row["upper_canine_proximal"]["high_deg"]) if fdi in ("13", "23") else limit[-1]
    u = rng.uniform(0, np.interp(most, limit, share), n)
    return np.asarray(np.interp(u, share, limit)), np.asarray(ndtri(u))


def draw_shortening(bend: Floats, rng: Generator) -> tuple[Floats, Floats]:
    """What flaring and shaping take off (mm): gamma distributed, more in curved canals.

    Both are taken to have one rank: whoever loses much by the one loses much by the other. Nobody
    has published how the two go together; were they independent, their sum would spread less.
    """
    r = a.SHORTENING_WITH_CURVATURE.value
    rank = ndtr(r * bend + np.sqrt(1 - r * r) * rng.normal(size=len(bend)))
    flare = (c.SHORTENING_FLARE_MM.value, c.SHORTENING_FLARE_SD_MM.value)
    shaping = (c.SHORTENING_SHAPING_MM.value, c.SHORTENING_SHAPING_SD_MM.value)
    one, other = (sd**2 / m * gammaincinv((m / sd) ** 2, rank) for m, sd in (flare, shaping))
    return np.asarray(one), np.asarray(other)
