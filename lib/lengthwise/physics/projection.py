"""Where a point of a tooth falls on a radiograph: coordinates and signs, written down once.

**Tooth.** A point is given by three lengths (mm): *along* the tooth's axis from the coronal
reference, growing towards the apex; *distal* of the axis; *buccal* of the axis. Negative is
coronal, mesial, lingual.

**Room.** The receptor is the plane z = 0. x grows distally, y towards the apex, z from the
receptor towards the source, which stands on the buccal side. The origin is the foot of the pivot,
the point of the axis that the beam is aimed at; the pivot itself is (0, 0, d).

**Angles.** α: tooth axis to receptor, positive when the apex is further from the receptor than the
crown. β: beam from the receptor's normal towards the tooth's normal, so that β = α is square to
the tooth, β = 0 square to the receptor, β = α/2 square to the line that halves the angle between
them. Horizontal: positive when the source stands distally.

**Distances.** f is measured from the focus square to the receptor, d from the pivot square to the
receptor. So whatever lies in the plane z = d is magnified by f/(f - d) at every angle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from lengthwise.reference import radiography as r

Floats = npt.NDArray[Any]


@dataclass(frozen=True)
class View:
    """How source, tooth and receptor stand to each other.

    Attributes
    ----------
    focus_receptor_mm, tooth_receptor_mm : f and d.
    axis_deg, beam_deg, horizontal_deg : α, β and the horizontal angle.
    pivot_mm : where along the tooth the pivot lies.

    Raises
    ------
    ValueError
        If the source is not beyond the tooth, or an angle is 80 degrees or more.

    Examples
    --------
    >>> View(400.0, 20.0, pivot_mm=13.0).axis_deg
    0.0
    """

    focus_receptor_mm: float
    tooth_receptor_mm: float
    axis_deg: float = 0.0
    beam_deg: float = 0.0
    horizontal_deg: float = 0.0
    pivot_mm: float = 0.0

    def __post_init__(self) -> None:
        room = r.FOCUS_BEYOND_TOOTH_MM.value
        if not 0 <= self.tooth_receptor_mm < self.focus_receptor_mm - room:
            raise ValueError(
                f"field tooth_receptor_mm: got {self.tooth_receptor_mm:g} with the focus at "
                f"{self.focus_receptor_mm:g}; allowed is 0 up to {room:g} mm before the focus; "
                "move the source away or the receptor closer"
            )
        for name in ("axis_deg", "beam_deg", "horizontal_deg"):
            if not abs(getattr(self, name)) < 80:
                raise ValueError(
                    f"field {name}: got {getattr(self, name):g}; allowed is -80 to 80; a beam "
                    "along the receptor makes no picture"
                )

    @property
    def source_mm(self) -> Floats:
        """The focus in the room (mm), shape (3,)."""
        aim = np.array([_tan(self.horizontal_deg), -_tan(self.beam_deg), 1.0])
        pivot = np.array([0.0, 0.0, self.tooth_receptor_mm])
        return np.asarray(pivot + (self.focus_receptor_mm - self.tooth_receptor_mm) * aim)


def in_room(
    view: View, along_mm: npt.ArrayLike, distal_mm: npt.ArrayLike, buccal_mm: npt.ArrayLike
) -> Floats:
    """Carry points of the tooth (mm) into the room (mm), shape (..., 3).

    Examples
    --------
    >>> in_room(View(400.0, 20.0, pivot_mm=13.0), 13.0, 0.0, 0.0)
    array([ 0.,  0., 20.])
    """
    along, distal, buccal = np.broadcast_arrays(along_mm, distal_mm, buccal_mm)
    lean = np.radians(view.axis_deg)
    run = along - view.pivot_mm
    return np.stack(
        [
            distal,
            run * np.cos(lean) - buccal * np.sin(lean),
            view.tooth_receptor_mm + run * np.sin(lean) + buccal * np.cos(lean),
        ],
        axis=-1,
    )


def project(view: View, points_mm: Floats) -> Floats:
    """Exact perspective of points in the room, shape (..., 3), onto the receptor, (..., 2), in mm.

    Examples
    --------
    >>> project(View(400.0, 20.0), np.array([1.9, 3.8, 20.0]))
    array([2., 4.])
    """
    source = view.source_mm
    grown = source[2] / (source[2] - points_mm[..., 2:])
    return np.asarray(source[:2] + (points_mm[..., :2] - source[:2]) * grown)


def project_tooth(
    view: View, along_mm: npt.ArrayLike, distal_mm: npt.ArrayLike, buccal_mm: npt.ArrayLike
) -> Floats:
    """Project points of the tooth (mm) onto the receptor, shape (..., 2), in mm.

    Examples
    --------
    >>> project_tooth(View(400.0, 20.0, pivot_mm=13.0), 13.0, 0.0, 0.0)
    array([0., 0.])
    """
    return project(view, in_room(view, along_mm, distal_mm, buccal_mm))


def magnification(
    focus_receptor_mm: npt.ArrayLike, tooth_receptor_mm: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """Magnification f/(f - d) of what lies parallel to the receptor at distance d (mm).

    Examples
    --------
    >>> float(magnification(400.0, 20.0))
    1.0526
    """
    focus = np.asarray(focus_receptor_mm, dtype=np.float64)
    return np.asarray(focus / (focus - np.asarray(tooth_receptor_mm)))


def length_by_ratio(
    image_mm: npt.ArrayLike, file_image_mm: npt.ArrayLike, file_mm: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """True length (mm) of what measures `image_mm`, by a file of known length in the same picture.

    Exact only when tooth and file lie parallel to the receptor: elsewhere what is further from
    the receptor is magnified more, and the apical part differs from the coronal one.

    Examples
    --------
    >>> float(length_by_ratio(27.3, 21.0, 20.0))
    26.0
    """
    return np.asarray(
        np.asarray(image_mm, dtype=np.float64) * np.asarray(file_mm) / np.asarray(file_image_mm)
    )


def _tan(degrees: float) -> float:
    return float(np.tan(np.radians(degrees)))
