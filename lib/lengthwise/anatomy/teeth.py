"""The outside of a tooth: how wide crown and root are at each height.

Places along the tooth run from the incisal edge or cusp tip (0) to the apex. Cross-sections are
ellipses. Widths come from the tables; the curves between them are judgements, made to look
right. A tooth with several roots is described with the one root that a canal lies in.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from lengthwise.reference.files import Row, read_rows
from lengthwise.reference.tables import check_canal, tooth

from . import assumptions as a

Floats = npt.NDArray[np.float64]

_JAWS = {"1": "upper", "2": "upper", "3": "lower", "4": "lower"}

# Share of the crown's greatest width at shares of its height, from the edge to the cervix; the
# last share is whatever the cervix is. Judgements for a picture; no length depends on them.
_CROWN_PLACES = (0.0, 0.12, 0.35, 0.7, 1.0)
_ANTERIOR_MD, _ANTERIOR_BL = (0.55, 0.88, 1.0, 0.9), (0.10, 0.25, 0.5, 1.0)
_CANINE_MD, _CANINE_BL = (0.20, 0.62, 1.0, 0.9), (0.10, 0.35, 0.7, 1.0)
_POSTERIOR_MD, _POSTERIOR_BL = (0.50, 0.9, 1.0, 0.92), (0.35, 0.65, 0.9, 1.0)

# Share of the cervix (mesio-distal, bucco-lingual) that one root takes where the roots part.
_ROOT_SHARES = {
    ("upper", "B"): (0.85, 0.45),
    ("upper", "P"): (0.6, 0.45),
    ("upper", "MB"): (0.42, 0.55),
    ("upper", "DB"): (0.38, 0.45),
    ("lower", "M"): (0.4, 0.9),
    ("lower", "D"): (0.4, 0.85),
}
_WHOLE = (1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Widths:
    """Half-widths (mm) of the cross-sections at some places; enamel's are those of its outside.

    Where there is no enamel its half-widths are those of the dentine.
    """

    enamel_md_mm: Floats
    enamel_bl_mm: Floats
    dentine_md_mm: Floats
    dentine_bl_mm: Floats


@dataclass(frozen=True)
class Outline:
    """Outside of one kind of tooth.

    Attributes
    ----------
    fdi, universal, canal
        The tooth, and the canal whose root is described.
    crown_md_mm, crown_bl_mm, cervix_md_mm, cervix_bl_mm
        Diameters (mm) of the crown and where crown meets root.
    root_md_mm, root_bl_mm
        Diameters (mm) of this root, carried up to the cervix.
    length_mm, cej_mm
        Mean length of the tooth along this root, and mean place where crown meets root.
    """

    fdi: str
    universal: int
    canal: str
    crown_md_mm: float
    crown_bl_mm: float
    cervix_md_mm: float
    cervix_bl_mm: float
    root_md_mm: float
    root_bl_mm: float
    length_mm: float
    cej_mm: float

    def widths(
        self, z_mm: npt.ArrayLike, *, length_mm: float | None = None, cej_mm: float | None = None
    ) -> Widths:
        """Half-widths at places along the tooth, scaled to a total length.

        Parameters
        ----------
        z_mm : array (n,)
            Places from the incisal edge or cusp tip (mm); outside the tooth all widths are 0.
        length_mm, cej_mm : float, optional
            This tooth's length and the place where its crown meets its root; the mean tooth's
            by default (a length alone moves the cervix in proportion).

        Returns
        -------
        Widths
            Arrays of shape (n,).

        Raises
        ------
        ValueError
            The cervix does not lie between the two ends of the tooth.

        Examples
        --------
        >>> canine = outline("13")
        >>> widths = canine.widths([0.0, canine.cej_mm, 26.4])
        >>> [round(float(half), 1) for half in widths.dentine_md_mm]
        [0.0, 2.8, 0.0]
        """
        z = np.asarray(z_mm, dtype=np.float64)
        end = self.length_mm if length_mm is None else length_mm
        cej = self.cej_mm * end / self.length_mm if cej_mm is None else cej_mm
        if not 0 < cej < end:
            raise ValueError(
                f"field cej_mm: got {cej:g} for a tooth of {end:g} mm; allowed is between 0 and "
                "the length; give the place where crown meets root, from the cusp tip"
            )
        inside = (z >= 0) & (z <= end)
        md, bl = (np.where(inside, half, 0.0) for half in self._outer(z, end, cej))
        # Enamel runs out to nothing at the cervix; at the edge it is all that there is.
        share = np.clip(z / cej, 0.0, 1.0)
        coat = np.where(share < 1, a.ENAMEL_MM.value * np.sqrt(1 - share), 0.0)
        return Widths(md, bl, np.maximum(md - coat, 0.0), np.maximum(bl - coat, 0.0))

    def root_half_widths(
        self, from_apex_mm: npt.ArrayLike, root_mm: npt.ArrayLike
    ) -> tuple[Floats, Floats]:
        """Half-widths (mesio-distal, bucco-lingual) of the root at distances from its apex (mm).

        Arrays of one shape; `root_mm` is the length of each root.
        """
        share = np.clip(np.asarray(from_apex_mm) / np.asarray(root_mm), 0.0, 1.0)
        shape = share**a.ROOT_PROFILE_POWER.value
        return self.root_md_mm / 2 * shape, self.root_bl_mm / 2 * shape

    def _outer(self, z: Floats, end: float, cej: float) -> tuple[Floats, Floats]:
        root_md, root_bl = self.root_half_widths(np.clip(end - z, 0.0, None), end - cej)
        trunk = _ease((z - cej) / a.TRUNK_MM.value)
        md_up, bl_up = self.cervix_md_mm / self.root_md_mm, self.cervix_bl_mm / self.root_bl_mm
        root_md = root_md * (md_up + (1 - md_up) * trunk)
        root_bl = root_bl * (bl_up + (1 - bl_up) * trunk)
        md_shape, bl_shape = _crown_shapes(int(self.fdi[1]))
        crown_md = _along(z / cej, md_shape, self.crown_md_mm, self.cervix_md_mm)
        crown_bl = _along(z / cej, bl_shape, self.crown_bl_mm, self.cervix_bl_mm)
        in_crown = z < cej
        return np.where(in_crown, crown_md, root_md), np.where(in_crown, crown_bl, root_bl)


def outline(fdi: str, canal: str | None = None) -> Outline:
    """Outside of a tooth, from the tables.

    Parameters
    ----------
    fdi : str
        Two digits, such as ``"13"``.
    canal : str, optional
        The canal whose root is wanted; that of the longest root by default.

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that this tooth is not listed with.

    Examples
    --------
    >>> canine = outline("13")
    >>> canine.universal, canine.crown_md_mm, canine.cervix_bl_mm, round(canine.cej_mm, 1)
    (6, 7.6, 7.6, 9.9)
    """
    described = tooth(fdi)
    chosen = canal_or_longest(described.fdi, canal)
    jaw, position = _JAWS[described.fdi[0]], described.fdi[1]
    (row,) = (r for r in read_rows("tooth_widths") if (r["jaw"], r["position"]) == (jaw, position))
    roots = _roots(described.fdi)
    longest_mm = max(float(each["root_length_mm"]) for each in roots.values())
    own = roots[chosen]
    md_share, bl_share = _ROOT_SHARES.get((jaw, own["root"]), _WHOLE)
    cej = described.overall_mean_mm - longest_mm
    return Outline(
        fdi=described.fdi,
        universal=described.universal,
        canal=chosen,
        crown_md_mm=float(row["crown_md_mm"]),
        crown_bl_mm=float(row["crown_bl_mm"]),
        cervix_md_mm=float(row["cervix_md_mm"]),
        cervix_bl_mm=float(row["cervix_bl_mm"]),
        root_md_mm=md_share * float(row["cervix_md_mm"]),
        root_bl_mm=bl_share * float(row["cervix_bl_mm"]),
        length_mm=cej + float(own["root_length_mm"]),
        cej_mm=cej,
    )


def canal_or_longest(fdi: str, canal: str | None) -> str:
    """The canal asked for; without one, that of the longest root (a single one where listed).

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that this tooth is not listed with.

    Examples
    --------
    >>> canal_or_longest("13", None), canal_or_longest("16", None), canal_or_longest("36", "D")
    ('single', 'P', 'D')
    """
    described = tooth(fdi)
    if canal is None:
        if "single" in described.canals:
            return "single"
        roots = _roots(described.fdi)
        return max(roots, key=lambda name: float(roots[name]["root_length_mm"]))
    check_canal(described, canal)
    return canal


def _roots(fdi: str) -> dict[str, Row]:
    key = (_JAWS[fdi[0]], fdi[1])
    return {r["canal"]: r for r in read_rows("canals") if (r["jaw"], r["position"]) == key}


def _crown_shapes(position: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if position <= 2:
        return _ANTERIOR_MD, _ANTERIOR_BL
    if position == 3:
        return _CANINE_MD, _CANINE_BL
    return _POSTERIOR_MD, _POSTERIOR_BL


def _along(share: Floats, shape: tuple[float, ...], crown_mm: float, cervix_mm: float) -> Floats:
    """Half-width at shares of the crown's height: smooth, and never beyond its knots."""
    return np.asarray(_curve(shape, crown_mm, cervix_mm)(np.clip(share, 0.0, 1.0)))


@cache  # of a few teeth, for thousands of canals
def _curve(shape: tuple[float, ...], crown_mm: float, cervix_mm: float) -> PchipInterpolator:
    knots = [*(crown_mm / 2 * each for each in shape), cervix_mm / 2]
    return PchipInterpolator(_CROWN_PLACES, knots)


def _ease(share: Floats) -> Floats:
    """From 0 to 1 without a corner at either end."""
    held = np.clip(share, 0.0, 1.0)
    return held * held * (3 - 2 * held)
