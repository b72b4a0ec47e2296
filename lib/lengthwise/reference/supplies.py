"""Instruments and points as they are sold, and what has to stay outside a tooth to hold them."""

from dataclasses import dataclass
from typing import Literal, cast

from lengthwise.reference.files import read_rows
from lengthwise.reference.quantity import Quantity

Kind = Literal["file", "gutta-percha point", "absorbent point"]
Hold = Literal["fingers", "handpiece", "tweezers"]

# --- between the reference point and the hand -----------------------------------------------------
STOP_MM = Quantity(
    1.5, "mm", "thickness of a stop; they differ, measure yours", "assumption", 1.0, 2.0
)
FINGERS_MM = Quantity(
    1.0, "mm", "between stop and handle, so that the handle never pushes the stop; judgement of "
    "the authors", "assumption", 0.5, 2.0,
)  # fmt: skip
HANDPIECE_MM = Quantity(
    2.0, "mm", "between stop and head, so that the head clears the next cusps; judgement of the "
    "authors", "assumption", 1.0, 4.0,
)  # fmt: skip
TWEEZERS_MM = Quantity(
    2.0, "mm", "of a point above the reference, to hold it and to see its mark; judgement of the "
    "authors", "assumption", 1.0, 4.0,
)  # fmt: skip
POINT_LENGTH_SPREAD_MM = Quantity(
    1.0, "mm", "points said to be equally long differ by up to this either way; tolerances are "
    "not known here", "assumption", 0.5, 2.0,
)  # fmt: skip
REFERENCE_REDUCED_MOST_MM = Quantity(
    5.0, "mm", "more than a crown is reduced by before a canal is measured", "assumption", 3.0, 6.0
)  # fmt: skip

NEEDED: dict[Hold, tuple[Quantity, ...]] = {
    "fingers": (STOP_MM, FINGERS_MM),
    "handpiece": (STOP_MM, HANDPIECE_MM),
    "tweezers": (TWEEZERS_MM,),
}
"""What has to lie between the reference point and the hand, by how a thing is held."""


@dataclass(frozen=True)
class Supply:
    """An instrument or point of one length; ``spread_mm`` is how far one in hand may be off it."""

    kind: Kind
    length_mm: float
    note: str
    source: str
    status: str

    @property
    def name(self) -> str:
        """Its length and kind, such as "25 mm file"."""
        return f"{self.length_mm:g} mm {self.kind}"

    @property
    def spread_mm(self) -> float:
        """Files come in stated lengths; points are only about as long as said."""
        return 0.0 if self.kind == "file" else POINT_LENGTH_SPREAD_MM.value


def supplies() -> tuple[Supply, ...]:
    """Every length that instruments and points are commonly sold in, shortest file first.

    Examples
    --------
    >>> [supply.name for supply in supplies()][2:5]
    ['28 mm file', '31 mm file', '24 mm gutta-percha point']
    """
    return tuple(
        Supply(
            kind=cast(Kind, row["kind"]),
            length_mm=float(row["length_mm"]),
            note=row["note"],
            source=row["source"],
            status=row["status"],
        )
        for row in read_rows("instruments")
    )
