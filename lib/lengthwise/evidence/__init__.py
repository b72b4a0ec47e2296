"""What a clinician can write down about one canal: records, their checks, and their files.

There is no truth in evidence: everything here could stand in a patient's chart.
"""

from .case import Evidence
from .context import Context
from .errors import EvidenceError
from .records import (
    ElectronicReading,
    PointTrial,
    PreoperativeFilm,
    Record,
    TactileStop,
    WorkingFilm,
)

__all__ = [
    "Context",
    "ElectronicReading",
    "Evidence",
    "EvidenceError",
    "PointTrial",
    "PreoperativeFilm",
    "Record",
    "TactileStop",
    "WorkingFilm",
]
