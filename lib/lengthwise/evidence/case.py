"""A case: one canal, its context, and the records that speak about its length."""

import re
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from .records import Record, Text

SCHEMA: Literal["lengthwise/evidence/1"] = "lengthwise/evidence/1"
MOST_RECORDS = 200
CanalName = Literal["single", "B", "L", "P", "MB", "MB2", "ML", "DB", "DL", "M", "D"]


class Context(BaseModel):
    """What is known of the tooth besides lengths. What is left out (None) widens the answer."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    pulp: Literal["vital", "necrotic", "previously_treated"] | None = None
    apex: Literal["closed", "resorbed", "immature"] | None = None
    lesion: bool | None = None
    near_nerve_or_sinus: bool | None = None
    obstruction: Literal["none", "ledge", "block", "filling", "instrument"] | None = None
    crown: Literal["intact", "worn", "prepared"] | None = None
    communication: Literal["none", "perforation_suspected", "sinus_suspected"] | None = None


class Evidence(BaseModel):
    """Everything written down about one canal.

    Attributes
    ----------
    tooth : FDI two-digit notation (ISO 3950), such as "13".
    canal : the trade's name of the canal, "single" where there is one.
    reference_point : what all lengths are measured from, in words.
    context : what is known besides lengths.
    records : the measurements, in the order in which they were taken (JSON key "evidence").

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge",
    ...     "evidence": [{"kind": "tactile_stop", "length_mm": 25.5}]}''')
    >>> case.records[0].length_mm
    25.5
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, populate_by_name=True)

    schema_name: Literal["lengthwise/evidence/1"] = Field(default=SCHEMA, alias="schema")
    tooth: str
    canal: CanalName
    reference_point: Text
    context: Context = Context()
    records: Annotated[
        tuple[Record, ...],
        Field(alias="evidence", max_length=MOST_RECORDS, strict=False),
    ]

    @field_validator("tooth")
    @classmethod
    def _tooth_is_in_fdi_notation(cls, tooth: str) -> str:
        if not re.fullmatch(r"[1-4][1-8]", tooth):
            raise ValueError(
                f"field tooth: got {tooth!r}; allowed are permanent teeth in FDI notation, 11 to "
                "48 (quadrant 1-4, then position 1-8); the upper right canine is '13'"
            )
        return tooth

    @model_validator(mode="after")
    def _lengths_share_a_reference(self) -> Self:
        for position, record in enumerate(self.records, start=1):
            own = record.reference_point
            same = own is None or own.strip().casefold() == self.reference_point.strip().casefold()
            if not same and record.reference_offset_mm is None:
                raise ValueError(
                    f"record {position} ({record.kind}), field reference_point: got {own!r}, but "
                    f"the case is measured from {self.reference_point!r}; allowed is another "
                    "reference only with reference_offset_mm, the millimetres to add to this "
                    "record's lengths; measure the offset, or leave the record out"
                )
        return self

    @classmethod
    def read(cls, path: str | Path) -> "Evidence":
        """The one case in a JSON or CSV file. Raises `EvidenceError`."""
        from .files import read_one

        return read_one(Path(path))

    @classmethod
    def read_many(cls, path: str | Path) -> "dict[str, Evidence]":
        """Every case of a CSV file by its name in the `case` column. Raises `EvidenceError`."""
        from .files import read_all

        return read_all(Path(path))

    @classmethod
    def from_json(cls, text: str) -> "Evidence":
        """A case from JSON text. Raises `EvidenceError`."""
        from .files import from_json

        return from_json(text)

    def to_json(self) -> str:
        """The case as JSON text; what was not recorded is left out."""
        return self.model_dump_json(by_alias=True, exclude_none=True, indent=1)

    def write(self, path: str | Path) -> None:
        """Write the case as a JSON file that `read` gives back unchanged."""
        Path(path).write_text(self.to_json() + "\n", encoding="utf-8")
