"""What the beam goes through: tooth, canal, file, socket, bone and soft tissue, added up.

Each part is counted as what it adds over what would be there without it. The root's axis is
straight; the end of the canal turns towards the foramen. Bone and cheek are even, but for a
grain, so that a picture has nothing to read that has no meaning.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from lengthwise.anatomy.canals import WIDTH_PLACES_MM, Canal
from lengthwise.anatomy.teeth import Outline
from lengthwise.physics.attenuation import attenuation_per_mm
from lengthwise.physics.projection import View
from lengthwise.physics.solids import Receptor, Solid, path_length_mm
from lengthwise.reference import radiography as r

Floats = npt.NDArray[Any]

STEP_MM = 0.02


def canal_offsets_mm(canal: Canal, along_mm: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Distal and buccal offset (mm) of the canal's middle from the root's axis.

    Past the foramen the line goes straight on.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> one = draw_canals("13", 1, np.random.default_rng(1)).one(0)
    >>> distal, buccal = canal_offsets_mm(one, [5.0, one.foramen_mm])
    >>> bool(distal[0] == 0.0 and abs(distal[1] - one.offset_distal_mm) < 1e-12)
    True
    """
    before = (np.asarray(along_mm, dtype=np.float64) - canal.foramen_mm) / r.CANAL_TURN_MM.value + 1
    share = np.where(before < 1, np.clip(before, 0, None) ** 2, 2 * before - 1)
    return canal.offset_distal_mm * share, canal.offset_buccal_mm * share


def tooth_solids(canal: Canal, outline: Outline) -> tuple[Solid, Solid]:
    """The whole tooth with its enamel, and its dentine alone."""
    along = np.arange(0.0, canal.apex_mm + STEP_MM, STEP_MM)
    widths = outline.widths(along, length_mm=canal.apex_mm, cej_mm=canal.cej_mm)
    middle = np.zeros_like(along)
    return (
        Solid(along, middle, middle, widths.enamel_md_mm, widths.enamel_bl_mm),
        Solid(along, middle, middle, widths.dentine_md_mm, widths.dentine_bl_mm),
    )


def canal_solid(canal: Canal, *, opened: bool) -> Solid:
    """The canal from its chamber, or from the opening through the crown, to the foramen."""
    top = 0.0 if opened else r.CHAMBER_TOP_SHARE.value * canal.cej_mm
    along = np.arange(0.0, canal.foramen_mm, STEP_MM)
    places = np.array([top, canal.cej_mm, *(canal.apex_mm - d for d in WIDTH_PLACES_MM[::-1])])
    halves = []
    for widths in (canal.diameter_md_mm, canal.diameter_bl_mm):
        last, second, fifth = widths
        chamber = r.CHAMBER_WIDTH_SHARE.value * fifth
        start = max(r.ACCESS_WIDTH_MM.value, chamber) if opened else 0.0
        knots = np.array([start, chamber, fifth, second, last])
        # From 1 mm before the apex on as wide as there, or as the constriction, whichever is less.
        half = np.interp(along, places, knots) / 2
        half = np.where(
            along >= canal.constriction_mm,
            np.minimum(half, canal.constriction_diameter_mm / 2),
            half,
        )
        halves.append(np.where(along >= top, half, 0.0))
    distal, buccal = canal_offsets_mm(canal, along)
    return Solid(along, distal, buccal, halves[0], halves[1])


def file_solid(canal: Canal, file_length_mm: float, file_size: int) -> Solid:
    """A steel file with its tip at a length (mm), standing out of the crown."""
    start = -r.FILE_BEYOND_CROWN_MM.value
    along = np.arange(start, file_length_mm, STEP_MM)
    from_tip = np.clip(file_length_mm - along, 0.0, r.FILE_CUTS_MM.value)
    half = (file_size / 100 + r.FILE_TAPER.value * from_tip) / 2
    distal, buccal = canal_offsets_mm(canal, along)
    return Solid(along, distal, buccal, half, half)


def jaw_depths_mm(canal: Canal, view: View, receptor: Receptor) -> tuple[Floats, Floats]:
    """Shares of bone and gum that each ray would meet without a tooth, shape (rows, columns).

    The crest dips at the tooth and rises to both sides of it.
    """
    d, f = view.tooth_receptor_mm, view.focus_receptor_mm
    y = receptor.rows_mm * (1 - d / f) + view.source_mm[1] * d / f
    x = receptor.columns_mm * (1 - d / f) + view.source_mm[0] * d / f
    along = view.pivot_mm + y[:, None] / np.cos(np.radians(view.axis_deg))
    beside = 1 - np.exp(-((x[None, :] / r.CREST_DIP_WIDTH_MM.value) ** 2))
    raised = along + r.CREST_DIP_MM.value * beside

    def risen(from_mm: float) -> Floats:
        share = np.clip((raised - from_mm) / r.CREST_FADES_MM.value, 0.0, 1.0)
        return np.asarray(share * (2 - share))

    crest = canal.cej_mm + r.CREST_BELOW_CERVIX_MM.value
    return risen(crest), risen(canal.cej_mm - r.GUM_ABOVE_CERVIX_MM.value)


def optical_depth(
    canal: Canal,
    outline: Outline,
    view: View,
    receptor: Receptor,
    *,
    file_length_mm: float | None,
    file_size: int,
    layers: int,
    rng: np.random.Generator,
) -> Floats:
    """Optical depth of every pixel (dimensionless), shape (rows, columns).

    Parameters
    ----------
    file_length_mm
        Where the file's tip stands; None for a tooth that is not opened yet.
    layers
        Into how many the depth of each part is cut: `SLIDER_LAYERS` or `PRINT_LAYERS` of
        `bench.film`.
    rng
        For the grain of the bone, which depends on nothing else.
    """
    mu = {
        name: attenuation_per_mm(name, r.EFFECTIVE_ENERGY_KEV.value)
        for name in (
            "enamel",
            "dentine",
            "cortical_bone",
            "cancellous_bone",
            "soft_tissue",
            "steel",
        )
    }
    whole, dentine = tooth_solids(canal, outline)
    crest = canal.cej_mm + r.CREST_BELOW_CERVIX_MM.value
    ligament = r.LIGAMENT_MM.value
    inner = canal_solid(canal, opened=file_length_mm is not None)

    def rays(solid: Solid) -> Floats:
        return path_length_mm(solid, view, receptor, layers=layers)

    root = rays(whole.grown(0.0, beyond_mm=crest))
    socket = rays(whole.grown(ligament, beyond_mm=crest))
    wall = rays(whole.grown(ligament + r.SOCKET_WALL_MM.value, beyond_mm=crest))
    tooth, hard, pulp = rays(whole), rays(dentine), rays(inner)
    bone, gum = jaw_depths_mm(canal, view, receptor)
    cancellous = mu["cancellous_bone"] * (1 + _grain(receptor, rng))
    depth = mu["soft_tissue"] * (r.CHEEK_MM.value + r.GUM_MM.value * gum)
    depth = depth + bone * (
        mu["cortical_bone"] * r.CORTEX_MM.value
        + cancellous * np.clip(r.JAW_DEPTH_MM.value - wall, 0.0, None)
    )
    depth += mu["cortical_bone"] * (wall - socket) + mu["soft_tissue"] * (socket - root)
    depth += mu["enamel"] * (tooth - hard) + mu["dentine"] * (hard - pulp)
    depth += mu["soft_tissue"] * pulp
    if file_length_mm is not None:
        depth += mu["steel"] * rays(file_solid(canal, file_length_mm, file_size))
    return np.maximum(depth, 0.0)


def _grain(receptor: Receptor, rng: np.random.Generator) -> Floats:
    sigma = r.TRABECULA_MM.value / receptor.pixel_mm
    noise = gaussian_filter(rng.standard_normal(receptor.shape, dtype=np.float32), sigma)
    return np.asarray(r.TRABECULAR_CONTRAST.value * noise / noise.std())
