"""What a reading meets besides the canal's shape: liquid, contacts, leaks, a loose file.

Every condition lies on a continuum from harmless to ruinous; none says whether a reading is good.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from lengthwise.evidence.records import Liquid
from lengthwise.physics.line import Filling, Floats, Materials
from lengthwise.reference import electrical as e
from lengthwise.reference import meter as m
from lengthwise.reference import points as p
from lengthwise.reference.quantity import Quantity

from .canal_space import HEIGHTS_MM, level_mm
from .canal_state import CanalState, is_bloody, wetness_of

Generator = np.random.Generator

_MAY_BE_ZERO = frozenset(
    {"blood_share", "level_mm", "swing", "swings_per_s", "touches_per_s", "loses_per_s", "noise"}
)
_MAY_BE_ENDLESS = frozenset({"level_mm", "contact_mm2", "leak_ohm", "flooded_ohm"})


@dataclass(frozen=True, eq=False)
class ReadingConditions:
    """Conditions of one reading, or of n; by default those of a full canal that nothing disturbs.

    Attributes
    ----------
    irrigant_ohm_m, blood_share
        Resistivity (ohm m) of what was rinsed with, and how much of the liquid is blood, 0 to 1.
    level_mm, film_mm
        Liquid stands this high above the foramen; above it a film of this thickness is left.
    swing, swings_per_s
        Log spread of the film that a loose file meets, and how fast it changes.
    contact_ohm, contact_mm2, touches_per_s, parts_per_s
        A metal contact of the file: its resistance, its metal in liquid, and the rates at which it
        comes and goes.
    leak_ohm
        From the file's shaft over a moist tooth to the gum.
    flooded_ohm
        From the liquid at the orifice to the gum.
    loses_per_s
        Rate at which the clip on the file loses it.
    noise
        SD of the shown quotient from sample to sample.
    body, interface
        This patient's body and this file's interface, times what is usual.

    Raises
    ------
    ValueError
        A number that cannot be: a share above 1, a rate or noise below 0, a resistance of 0.

    Examples
    --------
    >>> float(ReadingConditions(blood_share=1.0).liquid_ohm_m.round(2))
    1.49
    """

    irrigant_ohm_m: npt.ArrayLike = e.SALINE_OHM_M.value
    blood_share: npt.ArrayLike = 0.0
    level_mm: npt.ArrayLike = np.inf
    film_mm: npt.ArrayLike = e.FILM_MM.value
    swing: npt.ArrayLike = 0.0
    swings_per_s: npt.ArrayLike = m.SWINGS_PER_S.value
    contact_ohm: npt.ArrayLike = e.CONTACT_OHM.value
    contact_mm2: npt.ArrayLike = e.CONTACT_MM2.value
    touches_per_s: npt.ArrayLike = 0.0
    parts_per_s: npt.ArrayLike = m.PARTS_PER_S.value
    leak_ohm: npt.ArrayLike = np.inf
    flooded_ohm: npt.ArrayLike = np.inf
    loses_per_s: npt.ArrayLike = 0.0
    noise: npt.ArrayLike = m.QUOTIENT_NOISE.value
    body: npt.ArrayLike = 1.0
    interface: npt.ArrayLike = 1.0

    def __post_init__(self) -> None:
        for f in fields(self):
            value = np.asarray(getattr(self, f.name), dtype=np.float64)
            most = 1.0 if f.name == "blood_share" else np.inf
            fits = (value > 0) & (value <= most)
            if f.name in _MAY_BE_ZERO:
                fits |= value == 0
            if f.name not in _MAY_BE_ENDLESS:
                fits &= value < np.inf
            if not fits.all():
                least = "0 or more" if f.name in _MAY_BE_ZERO else "above 0"
                end = "infinite too" if f.name in _MAY_BE_ENDLESS else "not infinite"
                raise ValueError(
                    f"field {f.name}: got {value[~fits].flat[0]:g}; allowed is {least}, "
                    f"{'1 at most' if most == 1 else end}; leave it out for what is usual"
                )

    @property
    def liquid_ohm_m(self) -> Floats:
        """Resistivity of the mixed liquid: the logarithms mix."""
        share = np.asarray(self.blood_share, dtype=np.float64)
        irrigant = np.asarray(self.irrigant_ohm_m, dtype=np.float64)
        return np.asarray(irrigant ** (1 - share) * e.BLOOD_OHM_M.value**share)

    def every(self, n: int) -> "ReadingConditions":
        """The same with each number as an array (n,).

        Raises
        ------
        ValueError
            Arrays of another length, or no canals.
        """
        if n < 1:
            raise ValueError("field canals: got none; allowed is 1 or more; draw some to read")
        arrays = {}
        for f in fields(self):
            value = np.asarray(getattr(self, f.name), dtype=np.float64)
            if value.shape not in ((), (1,), (n,)):
                raise ValueError(
                    f"field {f.name}: got shape {value.shape} for {n} canals; allowed is one "
                    "number or one for each canal; match the canals"
                )
            arrays[f.name] = np.broadcast_to(value, (n,)).copy()
        return ReadingConditions(**arrays)

    def some(self, which: npt.NDArray[np.intp] | npt.NDArray[np.bool_]) -> "ReadingConditions":
        """Some of n conditions."""
        arrays = {f.name: np.asarray(getattr(self, f.name))[which] for f in fields(self)}
        return ReadingConditions(**arrays)

    def filling(self, *, touched: bool = False, swing: npt.ArrayLike = 0.0) -> Filling:
        """What the line sees, with or without the metal contact, the film at exp(swing)."""
        leak, leak_mm2 = np.asarray(self.leak_ohm, dtype=np.float64), m.LEAK_MM2.value
        contact, metal = 1 / leak, np.broadcast_to(leak_mm2, leak.shape)
        if touched:
            # Two branches as one: the leak's metal counts by its share of what they conduct.
            touch = np.asarray(self.contact_ohm, dtype=np.float64)
            metal = np.asarray(self.contact_mm2) + metal * touch / (touch + leak)
            contact = contact + 1 / touch
        with np.errstate(divide="ignore"):
            ohm = 1 / contact
        return Filling(
            liquid_ohm_m=self.liquid_ohm_m,
            level_mm=self.level_mm,
            film_mm=np.asarray(self.film_mm) * np.exp(swing),
            flooded_ohm=self.flooded_ohm,
            contact_ohm=ohm,
            contact_mm2=metal,
        )

    def materials(self, usual: Materials) -> Materials:
        """This patient's and this file's, from what is usual."""
        return replace(
            usual,
            body_ohm=np.asarray(usual.body_ohm) * np.asarray(self.body),
            interface_s_per_m2=np.asarray(usual.interface_s_per_m2) * np.asarray(self.interface),
        )


def draw_conditions(n: int, rng: Generator) -> ReadingConditions:
    """Conditions of n readings, from the assumptions in `lengthwise.reference.meter`.

    Examples
    --------
    >>> drawn = draw_conditions(1000, np.random.default_rng(1))
    >>> drawn.level_mm.shape, 0.02 < float(np.mean(drawn.level_mm < 1.0)) < 0.1
    ((1000,), True)
    """

    def around(median: Quantity, log_sd: Quantity) -> Floats:
        return np.asarray(median.value * np.exp(rng.normal(0, log_sd.value, n)))

    mean, count = m.BLOOD_SHARE_MEAN.value, m.BLOOD_SHARE_COUNT.value
    return ReadingConditions(
        irrigant_ohm_m=around(e.SALINE_OHM_M, m.LIQUID_LOG_SD),
        blood_share=rng.beta(mean * count, (1 - mean) * count, n),
        level_mm=around(m.LEVEL_MEDIAN_MM, m.LEVEL_LOG_SD),
        film_mm=around(e.FILM_MM, m.FILM_LOG_SD),
        swing=np.abs(rng.normal(0, m.SWING_SD.value, n)),
        contact_ohm=around(e.CONTACT_OHM, m.CONTACT_LOG_SD),
        contact_mm2=around(e.CONTACT_MM2, m.CONTACT_AREA_LOG_SD),
        touches_per_s=around(m.TOUCHES_PER_S, m.TOUCHES_LOG_SD),
        parts_per_s=around(m.PARTS_PER_S, m.PARTS_LOG_SD),
        leak_ohm=around(m.LEAK_MEDIAN_OHM, m.LEAK_LOG_SD),
        flooded_ohm=around(m.FLOODED_MEDIAN_OHM, m.FLOODED_LOG_SD),
        loses_per_s=around(m.LOSES_PER_S, m.LOSES_LOG_SD),
        noise=around(m.QUOTIENT_NOISE, m.QUOTIENT_NOISE_LOG_SD),
        body=np.exp(rng.normal(0, m.BODY_LOG_SD.value, n)),
        interface=np.exp(rng.normal(0, m.INTERFACE_LOG_SD.value, n)),
    ).every(n)


def conditions_now(drawn: ReadingConditions, state: CanalState | None) -> ReadingConditions:
    """Conditions of one canal with the liquid that is in it now, where that is known.

    Examples
    --------
    >>> drawn = ReadingConditions()
    >>> conditions_now(drawn, None) is drawn
    True
    """
    if state is None:
        return drawn
    space = wetness_of(state).space
    irrigants = {"saline": e.SALINE_OHM_M.value, "hypochlorite": e.HYPOCHLORITE_OHM_M.value}
    level = level_mm(space, np.array([state.pool_ul]))
    full = level >= HEIGHTS_MM[-1]
    return replace(
        drawn,
        # Without an irrigant it is the tissue's own fluid, which conducts as saline does.
        irrigant_ohm_m=np.array([irrigants.get(state.irrigant, e.SALINE_OHM_M.value)]),
        blood_share=np.array([_blood_share(state)]),
        level_mm=np.where(full, np.inf, level),
        film_mm=np.asarray(drawn.film_mm) * (1 + m.WET_WALL_FILM.value * state.wall_moisture),
    )


def _blood_share(state: CanalState) -> float:
    """Of the liquid that stands free: tissue that bled out colours what touches it, not that."""
    if state.bleeding != "none":
        return p.BLOOD_IN_BLEEDING.value
    return p.BLOOD_FROM_A_REMNANT.value if is_bloody(state) else 0.0


def as_written_down(conditions: ReadingConditions, orifice_mm: Floats) -> list[Liquid]:
    """What a clinician writes down of each canal's liquid.

    Examples
    --------
    >>> as_written_down(ReadingConditions(level_mm=[1.0, 30.0]).every(2), np.array([15.0, 15.0]))
    ['dry', 'irrigant']
    """
    c = conditions.every(len(orifice_mm))
    full = np.asarray(c.level_mm) >= orifice_mm
    flooded = full & (np.asarray(c.flooded_ohm) <= e.FLOODED_OHM.high)
    blood = np.asarray(c.blood_share) > 0.5
    dry = np.asarray(c.level_mm) < m.DRIED_LEVEL_MM.value
    return [
        "blood" if b else "dry" if d else "flooded" if f else "irrigant" if u else "moist"
        for b, d, f, u in zip(blood, dry, flooded, full, strict=True)
    ]
