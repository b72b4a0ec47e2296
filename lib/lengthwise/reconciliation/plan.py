"""What is to be measured in one canal: a plan, before anything has been measured."""

from dataclasses import dataclass, field
from typing import Literal

from pydantic import TypeAdapter

from lengthwise.evidence import Context, Evidence, Record
from lengthwise.evidence.case import CanalName
from lengthwise.evidence.records import Liquid, Stage, Technique

_RECORD: TypeAdapter[Record] = TypeAdapter(Record)

Kind = Literal[
    "preoperative_film", "working_film", "electronic_reading", "point_trial", "tactile_stop"
]


@dataclass(frozen=True)
class Step:
    """One kind of measurement, taken `repeats` times.

    For paper points `repeats` counts the points at the last length, after the staircase found it;
    `run_recorded` says whether it is written down of each if it ran freely.
    """

    kind: Kind
    repeats: int = 1
    visit: int | None = None
    stage: Stage | None = None
    technique: Technique | None = None
    contact_s: float = 1.0
    run_recorded: bool = False
    liquid_in_canal: Liquid | None = None


@dataclass(frozen=True)
class Plan:
    """A canal and the steps to take in it."""

    tooth: str
    canal: CanalName
    steps: tuple[Step, ...]
    context: Context = field(default_factory=Context)
    reference_point: str = "incisal edge"


def skeleton(plan: Plan) -> Evidence:
    """The plan as evidence with placeholder lengths: it has the same sources and trusts.

    >>> plan = Plan("13", "single", (Step("tactile_stop"),))
    >>> skeleton(plan).records[0].kind
    'tactile_stop'
    """
    somewhere = 20.0
    return as_evidence(plan, tuple(blank(step, somewhere) for step in plan.steps))


def as_evidence(plan: Plan, records: tuple[Record, ...]) -> Evidence:
    """Records taken by a plan, as a case."""
    return Evidence(
        tooth=plan.tooth,
        canal=plan.canal,
        reference_point=plan.reference_point,
        context=plan.context,
        records=records,
    )


def blank(
    step: Step, length_mm: float, second_mm: float = 0.0, *, ran_freely: bool | None = None
) -> Record:
    """A record of this step: the length, and what was measured beside it (gap or wet mark)."""
    measured: dict[str, dict[str, object]] = {
        "preoperative_film": {"tooth_length_mm": length_mm, "technique": step.technique},
        "working_film": {
            "file_length_mm": length_mm,
            "tip_short_of_radiographic_apex_mm": second_mm,
            "technique": step.technique,
        },
        "electronic_reading": {"foramen_signal_mm": length_mm},
        "point_trial": {
            "length_mm": length_mm,
            "wet_mm": second_mm,
            "contact_s": step.contact_s,
            "ran_freely": ran_freely,
        },
        "tactile_stop": {"length_mm": length_mm},
    }
    when = {"visit": step.visit, "stage": step.stage, "liquid_in_canal": step.liquid_in_canal}
    return _RECORD.validate_python({"kind": step.kind, **measured[step.kind], **when})
