"""A case: one canal, its context, and the records that speak about its length."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
    model_validator,
)

from lengthwise.whole_file import write_whole

from .context import Context
from .errors import EvidenceError, in_record, one_of
from .files import LARGEST_FILE_BYTES, SCHEMA, Written, written_cases, written_in_json
from .records import (
    KEEP_OF_A_TRACE,
    LONGEST_MM,
    SHORTEST_MM,
    ElectronicReading,
    Record,
    Text,
)

MOST_RECORDS = 200
CanalName = Literal["single", "B", "L", "P", "MB", "MB2", "ML", "DB", "DL", "M", "D"]


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
                raise in_record(
                    position, record.kind,
                    f"field reference_point: got {own!r}, but "
                    f"the case is measured from {self.reference_point!r}; allowed is another "
                    "reference only with reference_offset_mm, the millimetres to add to this "
                    "record's lengths; measure the offset, or leave the record out",
                )  # fmt: skip
            for name, length_mm, least_mm in _lengths_mm(record):
                if not least_mm <= length_mm + record.offset_mm <= LONGEST_MM:
                    raise in_record(
                        position, record.kind,
                        f"field {name}: got {length_mm:g} with "
                        f"reference_offset_mm {record.offset_mm:g}; allowed is {least_mm:g} to "
                        f"{LONGEST_MM:g} for both together; check their decimal points and the "
                        "sign",
                    )  # fmt: skip
        return self

    @classmethod
    def read(cls, path: str | Path) -> "Evidence":
        """The one case in a JSON or CSV file. Raises `EvidenceError`."""
        path = Path(path)
        cases = cls.read_many(path)
        if len(cases) != 1:
            raise EvidenceError(
                f"{path.name}, field case: got {len(cases)} cases ({one_of(list(cases)[:5])}); "
                "allowed is one; use read_many for a file of several"
            )
        return next(iter(cases.values()))

    @classmethod
    def read_many(cls, path: str | Path) -> "dict[str, Evidence]":
        """Every case of a CSV file by its `case` column; the one of a JSON file by the file's name.

        Raises `EvidenceError`.
        """
        return {name: _checked(written) for name, written in written_cases(Path(path)).items()}

    @classmethod
    def from_json(cls, text: str) -> "Evidence":
        """A case from JSON text. Raises `EvidenceError`, which names record, field and cure."""
        return _checked(written_in_json(text))

    def to_json(self) -> str:
        """The case as JSON text; what was not recorded is left out."""
        return self.model_dump_json(by_alias=True, exclude_none=True, indent=1)

    def write(self, path: str | Path) -> None:
        """Write the case as a JSON file, all of it or nothing, that `read` gives back unchanged.

        Raises `EvidenceError` where the file would be larger than `read` takes.
        """
        path, text = Path(path), self.to_json() + "\n"
        size = len(text.encode())
        if size > LARGEST_FILE_BYTES:
            raise EvidenceError(
                f"{path.name}: the case would be a file of {size / 1e6:.1f} MB; allowed are "
                f"{LARGEST_FILE_BYTES / 1e6:.0f} MB; keep {KEEP_OF_A_TRACE}"
            )
        write_whole(path, text)


def _lengths_mm(record: Record) -> Iterator[tuple[str, float, float]]:
    """The lengths of a record that are counted from its reference, and the least each may be.

    Of a trace it is the deepest; a file may start in the crown.
    """
    for name in ("length_mm", "tooth_length_mm", "file_length_mm", "foramen_signal_mm"):
        length_mm = getattr(record, name, None)
        if length_mm is not None:
            yield name, length_mm, SHORTEST_MM
    if isinstance(record, ElectronicReading) and record.depth_mm is not None:
        yield "depth_mm", max(record.depth_mm), 0.0


def _checked(written: Written) -> Evidence:
    try:
        return Evidence.model_validate(written.data)
    except ValidationError as error:
        raise EvidenceError(written.explain(error)) from None
