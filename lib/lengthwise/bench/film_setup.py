"""How source, tooth and receptor are placed for a radiograph, and what falls beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.film_landmarks import Landmarks
from lengthwise.physics.projection import View, project_tooth
from lengthwise.physics.solids import Receptor
from lengthwise.reference import radiography as r
from lengthwise.reference.supplies import supplies

Technique = Literal["paralleling", "bisecting"]
TECHNIQUES: tuple[Technique, ...] = ("paralleling", "bisecting")

SLIDER_PIXEL_MM, PRINT_PIXEL_MM = 0.13, 0.05


@cache
def longest_file_mm() -> float:
    """The longest file that is sold (mm).

    >>> longest_file_mm()
    31.0
    """
    return max(one.length_mm for one in supplies() if one.kind == "file")


@dataclass(frozen=True)
class Setup:
    """A view of a tooth and the receptor behind it."""

    view: View
    receptor: Receptor


def set_up(
    canal: Canal,
    technique: Technique,
    *,
    vertical_deg: float = 0.0,
    horizontal_deg: float = 0.0,
    focus_mm: float | None = None,
    away_mm: float | None = None,
    pixel_mm: float = SLIDER_PIXEL_MM,
) -> Setup:
    """Place source and receptor as a technique asks, but for an error of the hand.

    Parameters
    ----------
    vertical_deg
        Beam steeper than the technique asks (degrees); negative is flatter.
    horizontal_deg
        Source distal of straight (degrees); negative is mesial.
    focus_mm, away_mm
        From the focus, and from the crown, to the receptor (mm); what the technique usually has
        by default.

    Raises
    ------
    ValueError
        Unknown technique, or a beam along the receptor.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> one = draw_canals("13", 1, np.random.default_rng(1)).one(0)
    >>> set_up(one, "bisecting").view.beam_deg
    15.0
    """
    if technique not in TECHNIQUES:
        raise ValueError(
            f"field technique: got {technique!r}; allowed are {', '.join(TECHNIQUES)}; choose one"
        )
    pivot = canal.apex_mm / 2
    usual_focus, usual_away, lean = {
        "paralleling": (r.FOCUS_PARALLELING_MM.value, r.TOOTH_PARALLELING_MM.value, 0.0),
        "bisecting": (
            r.FOCUS_BISECTING_MM.value,
            r.CROWN_BISECTING_MM.value,
            r.LEAN_BISECTING_DEG.value,
        ),
    }[technique]
    focus = usual_focus if focus_mm is None else focus_mm
    crown = usual_away if away_mm is None else away_mm
    away = crown + pivot * float(np.sin(np.radians(lean)))
    aimed = View(focus, away, lean, lean / 2, pivot_mm=pivot)
    view = replace(
        aimed, beam_deg=aimed.beam_deg - vertical_deg, horizontal_deg=float(horizontal_deg)
    )
    return Setup(view, receptor_behind(aimed, pixel_mm))


def receptor_behind(aimed: View, pixel_mm: float) -> Receptor:
    """The receptor whose middle the beam through the pivot is aimed at."""
    centre = project_tooth(aimed, aimed.pivot_mm, 0.0, 0.0)
    size = r.RECEPTOR_WIDTH_MM.value, r.RECEPTOR_HEIGHT_MM.value
    return Receptor(*size, pixel_mm, (float(centre[0]), float(centre[1])))


def longest_here_mm(canal: Canal) -> float:
    """The longest length (mm) of a file that can still be a question of length in a canal."""
    return min(longest_file_mm(), canal.apex_mm + r.FILE_FURTHEST_BEYOND_MM.value)


def check_file(canal: Canal, file_length_mm: float) -> None:
    """Refuse a file that cannot be where it is said to be."""
    longest = longest_here_mm(canal)
    why = (
        f"the longest file is {longest:g} mm"
        if longest == longest_file_mm()
        else "further past the root it is no question of length"
    )
    if not canal.cej_mm < file_length_mm <= longest:
        raise ValueError(
            f"field file_length_mm: got {file_length_mm:g}; allowed in this tooth is more than "
            f"{canal.cej_mm:.1f} (the crown's end) up to {longest:.1f} ({why}); set "
            "the stop to an estimated length"
        )


def off_receptor(setup: Setup, landmarks: Landmarks) -> list[str]:
    """Names of the landmarks that fall beside the receptor."""
    receptor = setup.receptor
    room = np.array([receptor.width_mm, receptor.height_mm]) / 2 - r.RECEPTOR_MARGIN_MM.value
    named = {
        "the crown": landmarks.reference,
        "the end of the root": landmarks.apex,
        "the file's tip": landmarks.tip,
    }
    return [
        name
        for name, point in named.items()
        if point is not None and (np.abs(point - receptor.centre_mm) > room).any()
    ]


def check_on_receptor(setup: Setup, landmarks: Landmarks) -> None:
    """Refuse a picture on which something that has to be read is missing."""
    missing = off_receptor(setup, landmarks)
    if missing:
        view = setup.view
        raise ValueError(
            f"field vertical_deg, horizontal_deg: with the beam at {view.beam_deg:g} and "
            f"{view.horizontal_deg:g} degrees {' and '.join(missing)} would fall beside the "
            f"receptor of {setup.receptor.width_mm:g} by {setup.receptor.height_mm:g} mm; allowed "
            "are angles that keep the whole tooth on it; turn the beam back towards straight"
        )
