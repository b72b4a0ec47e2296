"""Published findings, one record a group of a study and never merged, with source and status."""

from dataclasses import dataclass
from typing import Literal, cast

from lengthwise.reference.files import optional_number, read_rows
from lengthwise.reference.quantity import Quantity

Group = Literal["0-2 short", "past", "over 2 short"]
GROUPS: tuple[Group, ...] = ("0-2 short", "past", "over 2 short")
FAR_SHORT_OF_APEX_MM = Quantity(
    2.0, "mm", "short of the radiographic apex; where studies divide their fillings, for one "
    "Kojima et al. 2004, Oral Surg 97:95", "second-hand",
)  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """Share that healed in one group of one study, by where the root filling ended.

    Distances are counted from `landmark`, which is the radiographic apex and not the foramen.
    ``plus_minus_share`` is the printed uncertainty; its kind is not known here.
    """

    study: str
    year: int
    landmark: str
    pulp: str
    treatment: str
    sample: str
    group: Group
    healed_share: float
    plus_minus_share: float | None
    source: str
    status: str

    @property
    def healed_percent(self) -> float:
        """The share in percent, with the decimals that were printed."""
        return float(f"{100 * self.healed_share:.10g}")


@dataclass(frozen=True)
class OutcomeEffect:
    """Another published effect on healing; value and interval in the unit of `measure`."""

    id: str
    what: str
    measure: str
    value: float | None
    low: float | None
    high: float | None
    sample: str
    source: str
    status: str


def outcomes() -> tuple[Outcome, ...]:
    """Published outcomes by where the root filling ended, one record a group, never merged.

    Examples
    --------
    >>> [(one.year, one.healed_share) for one in outcomes() if one.group == "over 2 short"]
    [(1990, 0.68), (2004, 0.855)]
    """
    return tuple(
        Outcome(
            study=row["study"],
            year=int(row["year"]),
            landmark=row["landmark"],
            pulp=row["pulp"],
            treatment=row["treatment"],
            sample=row["sample"],
            group=cast(Group, row["group"]),
            healed_share=float(row["healed_share"]),
            plus_minus_share=optional_number(row["plus_minus_share"]),
            source=row["source"],
            status=row["status"],
        )
        for row in read_rows("outcomes")
    )


def outcome_group(short_of_radiographic_apex_mm: float) -> Group:
    """Which group the studies would put a root filling into; a negative distance is past the apex.

    Examples
    --------
    >>> outcome_group(0.2), outcome_group(-0.2), outcome_group(2.2)
    ('0-2 short', 'past', 'over 2 short')
    """
    if short_of_radiographic_apex_mm < 0:
        return "past"
    far = short_of_radiographic_apex_mm > FAR_SHORT_OF_APEX_MM.value
    return "over 2 short" if far else "0-2 short"


def outcome_effects() -> tuple[OutcomeEffect, ...]:
    """Other published effects on healing: odds, whole series, best ends by the pulp's state.

    Examples
    --------
    >>> [(one.id, one.low, one.high) for one in outcome_effects() if one.measure == "mm"]
    [('best_end_vital', 2.0, 3.0), ('best_end_necrotic', 0.0, 2.0)]
    """
    return tuple(
        OutcomeEffect(
            id=row["id"],
            what=row["what"],
            measure=row["measure"],
            value=optional_number(row["value"]),
            low=optional_number(row["low"]),
            high=optional_number(row["high"]),
            sample=row["sample"],
            source=row["source"],
            status=row["status"],
        )
        for row in read_rows("outcome_effects")
    )
