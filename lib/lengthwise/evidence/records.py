"""The five kinds of record. Lengths are in millimetres from the coronal reference point.

Every field says what it accepts; a record that breaks a rule is refused whole. The limits are
limits of form (no tooth is longer than 45 mm, a file of size 8 is the thinnest listed here that
anybody measures with), chosen wide, so that only slips of the pen are caught.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

SHORTEST_MM, LONGEST_MM = 5.0, 45.0
LengthMm = Annotated[float, Field(ge=SHORTEST_MM, le=LONGEST_MM, allow_inf_nan=False)]
"""A length from the reference point, 5 to 45 mm."""

Text = Annotated[str, Field(min_length=1, max_length=200)]
Stage = Literal["before_flare", "after_flare", "after_shaping"]
Liquid = Literal["dry", "moist", "irrigant", "blood", "flooded"]
Technique = Literal["paralleling", "bisecting"]
MarkSite = Literal["tip_straight", "tip_oblique", "side", "whole", "none"]

IMAGE_SCALE = (0.6, 1.6)
"""Image over file, at the least and the most: a beam 45° off true shortens to 0.7, and what is
magnified more than half as much again is no radiograph in the mouth."""

IMAGE_DISAGREES_MM = 2.5
"""How far a tooth's image may be from the file's image and the rest to the apex together: three
readings on one image, and a stop that stands off the cusp."""

FILE_SIZES = (6, 140)
"""Size numbers of files: hundredths of a millimetre at the tip."""

MOST_OBLIQUE_EDGE_MM = 5.0
"""A mark that reaches further on one side than this is no mark from the tip."""

FEWEST_SAMPLES, MOST_SAMPLES = 2, 20_000
"""A trace of 20 000 samples is a quarter of an hour at 20 Hz; more is a mistake."""

KEEP_OF_A_TRACE = "of a trace the part around the foramen signal, at 10 to 20 samples a second"


def image_limits_mm(file_length_mm: float) -> tuple[float, float]:
    """The least and the most (mm) that the image of a file of this length can measure.

    >>> image_limits_mm(20.0)
    (12.0, 32.0)
    """
    least, most = IMAGE_SCALE
    return round(least * file_length_mm, 1), round(most * file_length_mm, 1)


class RecordBase(BaseModel):
    """What every record may carry besides its own measurement."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    reference_point: Text | None = None
    reference_offset_mm: Annotated[float, Field(ge=-5.0, le=5.0, allow_inf_nan=False)] | None = None
    visit: Annotated[int, Field(ge=1, le=50)] | None = None
    stage: Stage | None = None
    file_size: Annotated[int, Field(ge=FILE_SIZES[0], le=FILE_SIZES[1])] | None = None
    liquid_in_canal: Liquid | None = None

    @property
    def offset_mm(self) -> float:
        """What to add to this record's lengths to bring them to the case's reference, in mm."""
        return self.reference_offset_mm or 0.0


class PreoperativeFilm(RecordBase):
    """A radiograph before treatment: the tooth's length as the image shows it, uncorrected."""

    kind: Literal["preoperative_film"] = "preoperative_film"
    tooth_length_mm: LengthMm
    technique: Technique | None = None


class WorkingFilm(RecordBase):
    """A radiograph with a file at a known length in the canal.

    `tip_short_of_radiographic_apex_mm` is what the reader measures between the file's tip and the
    end of the root outline; negative when the file looks long.
    """

    kind: Literal["working_film"] = "working_film"
    file_length_mm: LengthMm
    tip_short_of_radiographic_apex_mm: Annotated[
        float, Field(ge=-15.0, le=25.0, allow_inf_nan=False)
    ]
    technique: Technique | None = None
    horizontal_deg: Annotated[float, Field(ge=-60.0, le=60.0, allow_inf_nan=False)] | None = None
    film_file_length_mm: LengthMm | None = None
    film_tooth_length_mm: LengthMm | None = None

    @model_validator(mode="after")
    def _image_is_of_this_file(self) -> Self:
        image_mm, tooth_mm = self.film_file_length_mm, self.film_tooth_length_mm
        if image_mm is None:
            if tooth_mm is None:
                return self
            raise ValueError(
                f"field film_tooth_length_mm: got {tooth_mm:g} without film_file_length_mm; "
                "allowed is both or neither, since the file gives the scale; measure the file on "
                "the image"
            )
        least, most = image_limits_mm(self.file_length_mm)
        if not least <= image_mm <= most:
            raise ValueError(
                f"field film_file_length_mm: got {image_mm:g} for a file of "
                f"{self.file_length_mm:g} mm; allowed is {least:g} to {most:g}; measure the file "
                "from its stop to its tip on this image"
            )
        expected_mm = image_mm + self.tip_short_of_radiographic_apex_mm
        if tooth_mm is not None and abs(tooth_mm - expected_mm) > IMAGE_DISAGREES_MM:
            raise ValueError(
                f"field film_tooth_length_mm: got {tooth_mm:g}, but the file's image and the rest "
                f"to the apex make {expected_mm:g}; allowed is {IMAGE_DISAGREES_MM:g} mm apart; "
                "measure all three on the same image"
            )
        return self


class ElectronicReading(RecordBase):
    """An electronic reading: a trace (three lists), or the depth at which the foramen signal came.

    `indicated` is 0 at the foramen signal, positive short of it, negative past it, and null where
    the meter showed nothing. Only the foramen signal is a landmark; other values are not mm.
    """

    kind: Literal["electronic_reading"] = "electronic_reading"
    time_s: tuple[float, ...] | None = Field(default=None, strict=False)
    depth_mm: tuple[float, ...] | None = Field(default=None, strict=False)
    indicated: tuple[float | None, ...] | None = Field(default=None, strict=False)
    foramen_signal_mm: LengthMm | None = None

    @model_validator(mode="after")
    def _is_a_trace_or_a_signal(self) -> Self:
        lists = {
            "time_s": self.time_s,
            "depth_mm": self.depth_mm,
            "indicated": self.indicated,
        }
        given = {name: values for name, values in lists.items() if values is not None}
        if self.foramen_signal_mm is not None and not given:
            return self
        if self.foramen_signal_mm is not None:
            raise ValueError(
                f"field foramen_signal_mm: came together with {', '.join(given)}; allowed is a "
                "trace or a foramen signal, not both; put them into two records"
            )
        missing = [name for name in lists if name not in given]
        if missing:
            raise ValueError(
                f"field {missing[0]}: missing; a reading needs time_s, depth_mm and indicated "
                "together, or foramen_signal_mm alone; add the missing list"
            )
        _check_trace(given)
        return self


class PointTrial(RecordBase):
    """One absorbent point set to a length, held for a contact time, and looked at.

    `wet_mm` is the length of the mark from the tip; 0 when the point came out dry.
    """

    kind: Literal["point_trial"] = "point_trial"
    length_mm: LengthMm
    contact_s: Annotated[float, Field(ge=0.05, le=3600.0, allow_inf_nan=False)]
    wet_mm: Annotated[float, Field(ge=0.0, le=45.0, allow_inf_nan=False)]
    mark_site: MarkSite | None = None
    oblique_edge_mm: (
        Annotated[float, Field(ge=0.0, le=MOST_OBLIQUE_EDGE_MM, allow_inf_nan=False)] | None
    ) = None
    liquid: Literal["clear", "blood", "turbid"] | None = None
    size: Annotated[int, Field(ge=6, le=140)] | None = None
    taper: Annotated[float, Field(ge=0.0, le=0.2, allow_inf_nan=False)] | None = None
    ran_freely: bool | None = None

    @model_validator(mode="after")
    def _mark_fits_the_point(self) -> Self:
        if self.wet_mm > self.length_mm:
            raise ValueError(
                f"field wet_mm: got {self.wet_mm:g}; allowed is at most the point's length_mm "
                f"({self.length_mm:g}); measure the mark from the tip"
            )
        if self.mark_site is not None and (self.mark_site == "none") != (self.wet_mm == 0):
            raise ValueError(
                f"field mark_site: got {self.mark_site!r} with wet_mm {self.wet_mm:g}; allowed is "
                "'none' when wet_mm is 0 and a site otherwise; correct one of the two"
            )
        return self


class TactileStop(RecordBase):
    """The length at which a file was felt to stop."""

    kind: Literal["tactile_stop"] = "tactile_stop"
    length_mm: LengthMm


Record = Annotated[
    PreoperativeFilm | WorkingFilm | ElectronicReading | PointTrial | TactileStop,
    Field(discriminator="kind"),
]
KINDS: tuple[type[RecordBase], ...] = (
    PreoperativeFilm,
    WorkingFilm,
    ElectronicReading,
    PointTrial,
    TactileStop,
)


def _check_trace(lists: Mapping[str, Sequence[float | None]]) -> None:
    """Refuse a trace that is no trace: unequal, empty, endless, unsorted, or off any tooth."""
    lengths = {name: len(values) for name, values in lists.items()}
    if len(set(lengths.values())) > 1:
        counts = ", ".join(f"{name} {count}" for name, count in lengths.items())
        raise ValueError(
            f"field {min(lengths, key=lambda name: lengths[name])}: the three lists are unequal "
            f"({counts}); allowed is one value in each for every moment; write null in indicated "
            "where the meter showed nothing"
        )
    count = lengths["time_s"]
    if not FEWEST_SAMPLES <= count <= MOST_SAMPLES:
        raise ValueError(
            f"field time_s: got {count} samples; allowed are {FEWEST_SAMPLES} to {MOST_SAMPLES}; "
            f"keep {KEEP_OF_A_TRACE}"
        )
    for name, low, high in (
        ("time_s", 0.0, 86_400.0),
        ("depth_mm", 0.0, 45.0),
        ("indicated", -20.0, 45.0),
    ):
        for row, value in enumerate(lists[name], start=1):
            if value is not None and not low <= value <= high:
                raise ValueError(
                    f"field {name}: sample {row} is {value:g}; allowed is {low:g} to {high:g}; "
                    f"{_cure(name, value)}"
                )
    times = [value for value in lists["time_s"] if value is not None]
    for row, (earlier, later) in enumerate(pairwise(times), start=2):
        if not later > earlier:
            raise ValueError(
                f"field time_s: sample {row} is {later:g} after {earlier:g}; allowed is time that "
                "grows; sort the samples by time"
            )


def _cure(name: str, value: float) -> str:
    if math.isfinite(value):
        return "check the decimal point"
    if name == "indicated":
        return "where the meter showed nothing write null, or nothing at all in a table"
    return "leave the moment out of all three lists"
