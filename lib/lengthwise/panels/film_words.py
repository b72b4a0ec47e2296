"""What the panel of radiographs says in words. Rounding happens here."""

from __future__ import annotations

from collections.abc import Sequence

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.film_landmarks import Landmarks
from lengthwise.physics.projection import length_by_ratio


def looks(gap_mm: float) -> str:
    """Say where a file's tip looks to be, from the gap to the end of the root (mm).

    Examples
    --------
    >>> looks(0.94), looks(-0.32), looks(0.02)
    ('looks 0.9 mm short of the end of the root', 'looks 0.3 mm beyond the end of the root',
     'looks to be just at the end of the root')
    """
    if abs(gap_mm) < 0.05:
        return "looks to be just at the end of the root"
    way = "short of" if gap_mm > 0 else "beyond"
    return f"looks {abs(gap_mm):.1f} mm {way} the end of the root"


def beside(off_mm: float) -> str:
    """Say how far a tip stands from the middle of the root across the picture (mm).

    Examples
    --------
    >>> beside(-0.31), beside(0.04)
    ('0.3 mm to the mesial side of its middle', 'in its middle')
    """
    if abs(off_mm) < 0.05:
        return "in its middle"
    return f"{abs(off_mm):.1f} mm to the {'distal' if off_mm > 0 else 'mesial'} side of its middle"


def really(canal: Canal, file_mm: float) -> str:
    """Say what the picture does not show: where the foramen lies, and the tip against it.

    Examples
    --------
    >>> from lengthwise.panels.film_cases import film_case
    >>> one, _ = film_case("hidden")
    >>> print(really(one, one.foramen_mm + 0.5))
    In truth the tip is 0.5 mm past the foramen, which opens 0.8 mm off the root's axis towards
    the lip.
    """
    gap = canal.foramen_mm - file_mm
    where = "at" if abs(gap) < 0.05 else f"{abs(gap):.1f} mm {'short of' if gap > 0 else 'past'}"
    off = canal.offset_buccal_mm
    side = "the lip" if off > 0 else "the palate"
    opens = (
        "which opens near the root's axis"
        if abs(off) < 0.15
        else f"which opens {abs(off):.1f} mm off the root's axis towards {side}"
    )
    return f"In truth the tip is {where} the foramen, {opens}."


def film_sentence(
    canal: Canal, landmarks: Landmarks, file_mm: float, missing: Sequence[str], shown: bool
) -> str:
    """Say in numbers what the picture measures, what the ratio rule makes of it, and the truth."""
    if missing:
        return (
            f"Not a picture to measure on: {' and '.join(missing)} would fall beside the receptor. "
            "Turn the beam back."
        )
    assert landmarks.tip is not None
    tooth, tip = landmarks.along_mm(landmarks.apex), landmarks.along_mm(landmarks.tip)
    by_ratio = float(length_by_ratio(tooth, tip, file_mm))
    said = (
        f"On the picture the tooth measures {tooth:.1f} mm and the file, set to {file_mm:.2f} mm, "
        f"measures {tip:.1f} mm: by the ratio rule the tooth is {by_ratio:.1f} mm long. "
        f"The file {looks(tooth - tip)}, {beside(landmarks.beside_mm(landmarks.tip))}."
    )
    if not shown:
        return said
    return f"{said} The tooth is {canal.apex_mm:.1f} mm long. {really(canal, file_mm)}"
