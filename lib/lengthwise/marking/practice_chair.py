"""At the chair with a practice case: what is done, what it takes, what was found, in order.

What was done is a list of `Act`; the same acts in the same case give the same sitting, which is
how a case is gone on with after a break.
"""

from dataclasses import dataclass, field
from typing import Literal

from lengthwise.bench.film import Film
from lengthwise.bench.patient import Patient
from lengthwise.evidence import Evidence, PointTrial, Record

from .point_sittings import estimated_mm
from .practice_cases import PracticeCase

TARGET_MM = 0.5
"""How far short of the foramen a working length is meant to end."""


@dataclass(frozen=True)
class Act:
    """Something done: its word, how far (mm), how long in contact (s)."""

    word: str
    length_mm: float
    contact_s: float = 1.0


@dataclass(frozen=True)
class Done:
    """What came of it.

    Attributes
    ----------
    act : what was done.
    said : what was seen, in a sentence.
    minutes, exposures : what it took.
    record : what was written down, None where nothing was.
    film : the radiograph, None where none was taken.
    visit, bleeding : at the end of it.
    refused, unsafe : it was not done; it would have hurt somebody.
    redried : the canal was dried or rinsed again.
    inside_mm : how far something was set to go into the canal; 0 where nothing was.
    obstruction : ``none`` or ``block`` once a file went to see, None otherwise.
    caution : said at once of what could hurt somebody; empty where nothing is.
    too_far : it went further than what was known then allowed; it costs marks.
    came_before : it was done before the student came.
    """

    act: Act
    said: str
    minutes: float
    exposures: int = 0
    record: Record | None = None
    film: Film | None = None
    visit: int = 1
    bleeding: str = "none"
    refused: bool = False
    unsafe: bool = False
    redried: bool = False
    inside_mm: float = 0.0
    obstruction: Literal["none", "block"] | None = None
    caution: str = ""
    too_far: bool = False
    came_before: bool = False


@dataclass
class Sitting:
    """A case that is being worked on. This changes: acts are done, the patient with them."""

    case: PracticeCase
    patient: Patient
    done: list[Done] = field(default_factory=list)

    @property
    def estimated_mm(self) -> float:
        """The estimated working length: the corrected image minus 1 mm, to half a millimetre."""
        return estimated_mm(self.case.record)

    @property
    def minutes(self) -> float:
        """Time spent so far."""
        return sum(each.minutes for each in self.done)

    @property
    def exposures(self) -> int:
        """Radiographs taken so far, the one before treatment not counted."""
        return sum(each.exposures for each in self.done)

    @property
    def own(self) -> list[Done]:
        """What the student did, without what was done before."""
        return [each for each in self.done if not each.came_before]

    @property
    def longest_mm(self) -> float:
        """The furthest that the student put anything into the canal (mm); 0 when nothing was."""
        return max((each.inside_mm for each in self.own), default=0.0)

    def evidence(self) -> Evidence:
        """Everything that was written down, in order.

        Who dries again says that the canal was not dry before, whatever was written down then.
        """
        records: list[Record] = [self.case.record]
        for each in self.done:
            if each.redried:
                records = [_moist(one, each.visit) for one in records]
            if each.record is not None:
                records.append(each.record)
        return Evidence(
            tooth=self.case.place.fdi,
            canal=self.case.place.canal,
            reference_point=self.case.place.reference,
            context=self.case.context.model_copy(update=self._found()),
            records=tuple(records),
        )

    def _found(self) -> dict[str, str]:
        found: dict[str, str] = {}
        suspected = self.patient.state.suspected
        if "perforation" in suspected:
            found["communication"] = "perforation_suspected"
        if "sinus" in suspected:
            found["communication"] = "sinus_suspected"
        if "resorption" in suspected:
            found["apex"] = "resorbed"
        looked = [each.obstruction for each in self.done if each.obstruction is not None]
        return found | ({"obstruction": looked[-1]} if looked else {})


def _moist(record: Record, visit: int) -> Record:
    dry = isinstance(record, PointTrial) and record.liquid_in_canal == "dry"
    return record.model_copy(update={"liquid_in_canal": "moist"}) if dry and (
        record.visit == visit
    ) else record  # fmt: skip
