"""Where landmarks fall on a receptor, and the lengths that a careful reader measures there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal
from lengthwise.anatomy.teeth import Outline
from lengthwise.bench.film_parts import canal_offsets_mm
from lengthwise.physics.projection import View, project_tooth
from lengthwise.reference import radiography as r

Floats = npt.NDArray[Any]


@dataclass(frozen=True, eq=False)
class Landmarks:
    """Where landmarks fall on the receptor (mm, x distal and y apical), each of shape (2,).

    `tip` is None on a picture without a file.
    """

    reference: Floats
    apex: Floats
    foramen: Floats
    tip: Floats | None

    def along_mm(self, point: Floats) -> float:
        """How far a point lies from the reference along the picture of the tooth (mm)."""
        axis = (self.apex - self.reference) / np.linalg.norm(self.apex - self.reference)
        return float((point - self.reference) @ axis)

    def beside_mm(self, point: Floats) -> float:
        """How far a point lies distal of the line from the reference to the apex (mm)."""
        along = (self.apex - self.reference) / np.linalg.norm(self.apex - self.reference)
        away = point - self.reference
        return float(away[0] * along[1] - away[1] * along[0])


def project_landmarks(
    canal: Canal, outline: Outline, view: View, file_length_mm: float | None
) -> Landmarks:
    """Landmarks on the receptor, by exact perspective and never from pixels.

    The reference is the end of the tooth's axis at the crown; the apex is where the root's
    shadow reaches furthest.
    """
    tip = None
    if file_length_mm is not None:
        tip = project_tooth(view, file_length_mm, *canal_offsets_mm(canal, file_length_mm))
    return Landmarks(
        reference=project_tooth(view, 0.0, 0.0, 0.0),
        apex=radiographic_apex(canal, outline, view),
        foramen=project_tooth(
            view, canal.foramen_mm, canal.offset_distal_mm, canal.offset_buccal_mm
        ),
        tip=tip,
    )


def radiographic_apex(canal: Canal, outline: Outline, view: View) -> Floats:
    """Where the shadow of the root reaches furthest on this receptor (mm), shape (2,)."""
    near = np.linspace(canal.apex_mm - 3.0, canal.apex_mm, 1501)
    half = outline.widths(near, length_mm=canal.apex_mm, cej_mm=canal.cej_mm).dentine_bl_mm
    # How far a point falls does not depend on how far distally it lies, so the rim decides.
    rim = np.stack([project_tooth(view, near, 0.0, side * half) for side in (-1.0, 0.0, 1.0)])
    points = rim.reshape(-1, 2)
    return np.asarray(points[points[:, 1].argmax()])


def read_film(landmarks: Landmarks, rng: np.random.Generator) -> dict[str, float]:
    """Lengths that a careful reader measures on the picture (mm): tooth, file, and gap between.

    The gap is from the file's tip to the end of the root, negative when the file looks long.
    """
    crown, end, point = r.READER_SD_MM.value * rng.standard_normal(3)
    tooth = landmarks.along_mm(landmarks.apex)
    read = {"tooth": tooth + end - crown}
    if landmarks.tip is not None:
        tip = landmarks.along_mm(landmarks.tip)
        read |= {"file": tip + point - crown, "gap": tooth + end - tip - point}
    return read
