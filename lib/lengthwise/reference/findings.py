"""Published findings, one record a study and never merged, each with its source and status."""

from dataclasses import dataclass

from lengthwise.reference.files import optional_number, read_rows


@dataclass(frozen=True)
class OutcomeStudy:
    """Share of teeth that healed, by where the root filling ended.

    Distances are counted from the radiographic apex. ``in_share``: 0-2 mm short of it;
    ``past_share``: past it; ``short_share``: more than 2 mm short.
    """

    study: str
    year: int
    pulp: str
    sample: str
    in_share: float
    past_share: float
    short_share: float
    source: str
    status: str


@dataclass(frozen=True)
class Shortening:
    """How much shorter a curved canal measured at ``to_stage`` than at ``from_stage``, in mm."""

    from_stage: str
    to_stage: str
    instruments: str
    mean_mm: float
    sd_mm: float | None
    source: str
    status: str


def outcomes() -> tuple[OutcomeStudy, ...]:
    """Published outcomes by where the root filling ended, one record a study, never merged.

    Examples
    --------
    >>> [(study.year, study.in_share, study.past_share) for study in outcomes()]
    [(1990, 0.94, 0.76), (2004, 0.865, 0.708)]
    """
    return tuple(
        OutcomeStudy(
            study=row["study"],
            year=int(row["year"]),
            pulp=row["pulp"],
            sample=row["sample"],
            in_share=float(row["in_0_2_short_share"]),
            past_share=float(row["past_share"]),
            short_share=float(row["short_over_2_share"]),
            source=row["source"],
            status=row["status"],
        )
        for row in read_rows("outcomes")
    )


def shortenings() -> tuple[Shortening, ...]:
    """Published shortening (mm) of curved canals between stages of treatment, one record a group.

    Examples
    --------
    >>> [row.mean_mm for row in shortenings() if row.to_stage == "after_flare"]
    [0.12, 0.15, 0.17]
    """
    return tuple(
        Shortening(
            from_stage=row["from_stage"],
            to_stage=row["to_stage"],
            instruments=row["instruments"],
            mean_mm=float(row["mean_mm"]),
            sd_mm=optional_number(row["sd_mm"]),
            source=row["source"],
            status=row["status"],
        )
        for row in read_rows("shortening")
    )
