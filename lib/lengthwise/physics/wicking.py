"""How far a liquid creeps up an absorbent point in a contact time.

A point is a cone of paper with even pores, wetted at the level of the liquid's surface. Which law
a real point follows has not been measured: the cone of free uptake and the one whose entrance
resists agree at one second and part afterwards, so the library carries the difference. Contact
times from a microsecond to an hour keep all digits.

References
----------
.. [1] Lucas 1918, Kolloid-Z. 23:15; Washburn 1921, Phys. Rev. 17:273: length grows as the root
   of time.
.. [2] In a cone that widens the flow thins out: with Darcy's law and the front's pressure constant,
   integrating the flow through a thin layer r(z) gives l²/2 + s l³/(3 r0) = D t.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def wicked_length_mm(
    contact_s: npt.ArrayLike,
    *,
    k_mm_per_sqrt_s: npt.ArrayLike,
    entrance_radius_mm: npt.ArrayLike,
    radius_slope: npt.ArrayLike,
) -> Floats:
    """Wicked length (mm) above the liquid's surface in a cone of paper.

    The positive root of l²/2 + s l³/(3 r0) = D t with D = K²/2; for a strip (s = 0) it is K √t.

    Parameters
    ----------
    contact_s : array_like
        Contact time (s), not negative.
    k_mm_per_sqrt_s : array_like
        Wicking constant K (mm/sqrt(s)), positive.
    entrance_radius_mm : array_like
        Radius r0 of the point at the liquid's surface (mm), positive.
    radius_slope : array_like
        Growth s of the radius per length (mm/mm), half the taper, not negative.

    Returns
    -------
    array
        Broadcast of all four.

    Raises
    ------
    ValueError
        A value outside of what is allowed.

    Examples
    --------
    >>> cone = {"k_mm_per_sqrt_s": 1.0, "entrance_radius_mm": 0.15, "radius_slope": 0.01}
    >>> wicked_length_mm([0.1, 1.0, 5.0], **cone).round(6).tolist()
    [0.314044, 0.978931, 2.136895]
    """
    time, k, radius, slope = _checked(
        contact_s=contact_s,
        k_mm_per_sqrt_s=k_mm_per_sqrt_s,
        entrance_radius_mm=entrance_radius_mm,
        radius_slope=radius_slope,
    )
    strip = k * np.sqrt(time)
    narrowing = slope / radius
    # With x = l s/r0 the law is 2x³ + 3x² = u², solved by a third of an angle; written with sines
    # where u is small, so that no leading digits cancel.
    u = np.sqrt(3) * narrowing * strip
    third = np.arcsin(np.minimum(u, 1.0)) * (2 / 3)
    small = np.sqrt(3) / 2 * np.sin(third) - np.sin(third / 2) ** 2
    large = np.cosh(np.arccosh(np.maximum(u, 1.0)) * (2 / 3)) - 0.5
    with np.errstate(divide="ignore", invalid="ignore"):
        cone = np.where(u <= 1, small, large) / narrowing
    # A cone too slim to tell from a strip: the relative difference is below 1e-9.
    return np.asarray(np.where(u < 1e-9, strip, cone))


def wetted_by_volume_mm(
    volume_ul: npt.ArrayLike,
    *,
    held_share: npt.ArrayLike,
    entrance_radius_mm: npt.ArrayLike,
    radius_slope: npt.ArrayLike,
) -> Floats:
    """Length of the point (mm) that a volume can wet: a finite volume wets a finite length.

    A length l of cone takes up `held_share` of its own volume, so that
    V = held π ((r0 + s l)³ - r0³) / (3 s). A microlitre is a cubic millimetre.

    Examples
    --------
    >>> float(wetted_by_volume_mm(
    ...     0.0353, held_share=0.5, entrance_radius_mm=0.15, radius_slope=0.0).round(2))
    1.0
    """
    volume, share, radius, slope = _checked(
        volume_ul=volume_ul,
        held_share=held_share,
        entrance_radius_mm=entrance_radius_mm,
        radius_slope=radius_slope,
    )
    strip = volume / (share * np.pi * radius**2)
    widening = slope / radius
    with np.errstate(divide="ignore", invalid="ignore"):
        cone = np.expm1(np.log1p(3 * widening * strip) / 3) / widening
    return np.asarray(np.where(widening * strip < 1e-9, strip, cone))


def held_volume_ul(
    wetted_mm: npt.ArrayLike,
    *,
    held_share: npt.ArrayLike,
    entrance_radius_mm: npt.ArrayLike,
    radius_slope: npt.ArrayLike,
) -> Floats:
    """Volume (µl) in a wetted length of point: the inverse of `wetted_by_volume_mm`.

    Examples
    --------
    >>> float(held_volume_ul(
    ...     1.0, held_share=0.5, entrance_radius_mm=0.15, radius_slope=0.0).round(4))
    0.0353
    """
    length, share, radius, slope = _checked(
        wetted_mm=wetted_mm,
        held_share=held_share,
        entrance_radius_mm=entrance_radius_mm,
        radius_slope=radius_slope,
    )
    end = slope * length
    return np.asarray(share * np.pi * length * (radius**2 + radius * end + end**2 / 3))


def washburn_mm_and_slope(
    contact_s: npt.ArrayLike, *, k_mm_per_sqrt_s: npt.ArrayLike
) -> tuple[Floats, Floats]:
    """Wicked length (mm) of a uniform strip, and its change per relative change of time (mm).

    Parameters
    ----------
    contact_s : array_like
        Contact time (s), any shape, not negative.
    k_mm_per_sqrt_s : array_like
        Wicking constant (mm/sqrt(s)), broadcast against the times.

    Examples
    --------
    >>> length, slope = washburn_mm_and_slope(4.0, k_mm_per_sqrt_s=0.3)
    >>> float(length), float(slope)
    (0.6, 0.3)
    """
    time, k = _checked(contact_s=contact_s, k_mm_per_sqrt_s=k_mm_per_sqrt_s)
    length = k * np.sqrt(time)
    return length, length / 2


def entrance_limited_mm_and_slope(
    contact_s: npt.ArrayLike, *, k_mm_per_sqrt_s: npt.ArrayLike, entrance_length_mm: float
) -> tuple[Floats, Floats]:
    """Wicked length (mm) when the way in resists like `entrance_length_mm` of paper.

    The liquid obeys l²/2 + l_e l = D t, with D chosen so that both laws wet the same length in
    one second. Returned as in `washburn_mm_and_slope`.

    Examples
    --------
    >>> at_one, _ = entrance_limited_mm_and_slope(1.0, k_mm_per_sqrt_s=0.3, entrance_length_mm=1.5)
    >>> at_five, _ = entrance_limited_mm_and_slope(5.0, k_mm_per_sqrt_s=0.3, entrance_length_mm=1.5)
    >>> round(float(at_one), 3), round(float(at_five), 3)
    (0.3, 1.183)
    """
    time, k, entrance = _checked(
        contact_s=contact_s, k_mm_per_sqrt_s=k_mm_per_sqrt_s, entrance_length_mm=entrance_length_mm
    )
    d = k**2 / 2 + entrance * k
    # the positive root of the quadratic, written so that short times lose no digits
    length = 2 * d * time / (entrance + np.sqrt(entrance**2 + 2 * d * time))
    return length, d * time / (length + entrance)


_MAY_BE_ZERO = {"contact_s", "volume_ul", "wetted_mm", "radius_slope"}


def _checked(**fields: npt.ArrayLike) -> list[Floats]:
    """The fields as arrays; NaN goes through, as it does in arithmetic."""
    arrays = {name: np.asarray(values, dtype=np.float64) for name, values in fields.items()}
    for name, values in arrays.items():
        zero = name in _MAY_BE_ZERO
        least, most = values.min(initial=1.0), values.max(initial=1.0)
        if (least >= 0 if zero else least > 0) and most < np.inf:
            continue  # nearly always, and points are tried one by one, thousands of times
        if np.any(values < 0 if zero else values <= 0) or np.any(np.isinf(values)):
            raise ValueError(
                f"field {name}: got {np.nanmin(values):g} to {np.nanmax(values):g}; allowed is a "
                f"finite number {'not below' if zero else 'above'} 0; the unit is in the name"
            )
    return list(arrays.values())
