"""A source: the records that stand or fall together, and the trust put in them beforehand."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from lengthwise.evidence import (
    Context,
    ElectronicReading,
    Evidence,
    PointTrial,
    Record,
)
from lengthwise.reference import constants, readings
from lengthwise.reference.quantity import Quantity

from .circumstances import circumstances_of
from .trace_quality import TraceQuality, assess_trace

AVERAGE = "average_length"
_UNLIKE_OTHERS = {"point_trial": "first", "electronic_reading": "undisturbed"}
"""What is said of records in whose circumstances nothing was special, beside some where it was."""

STAGES = ("before_flare", "after_flare", "after_shaping")
KIND_NAMES = {
    AVERAGE: "average length of this tooth",
    "preoperative_film": "pre-operative radiograph",
    "working_film": "working radiograph",
    "electronic_reading": "electronic reading",
    "point_trial": "paper points",
    "tactile_stop": "tactile stop",
}


@dataclass(frozen=True)
class Source:
    """Records of one kind from one visit and stage, with the trust put in them.

    Attributes
    ----------
    name : what a person calls it, such as "paper points, visit 2".
    kind : kind of its records, or "average_length" for the tooth's average.
    records : the records, in order; the average has none.
    trust : probability, before the case is looked at, that the source is sound, 0 to 1.
    visit, stage : when its lengths were taken, None where not recorded.
    circumstances : what was special when it was taken, in words; empty where nothing was.
    shift_mm : what is taken off its lengths because the canal has become shorter since.
    traces : for electronic readings, what `assess_trace` says of each record (None: no trace).
    lowered_mm : for the average, the least and the most that the reference has lost of the crown.
    """

    name: str
    kind: str
    records: tuple[Record, ...]
    trust: float
    visit: int | None = None
    stage: str | None = None
    circumstances: str = ""
    shift_mm: float = 0.0
    traces: tuple[TraceQuality | None, ...] = ()
    lowered_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not 0 <= self.trust <= 1:
            raise ValueError(
                f"field trust: got {self.trust:g}; allowed is 0 to 1; 0.5 stands for a coin's toss"
            )
        if self.kind == "electronic_reading" and len(self.traces) != len(self.records):
            raise ValueError(
                f"field traces: got {len(self.traces)} for {len(self.records)} readings; allowed "
                "is one for each; write None for a reading that has no trace"
            )

    def distrusted(self, trust: float) -> "Source":
        """The same source with another trust, 0 to 1."""
        return replace(self, trust=trust)


def sources_of(evidence: Evidence) -> tuple[Source, ...]:
    """The sources of a case: the tooth's average first, then the records grouped.

    Records of one kind, visit and stage form one source, because what makes one of them wrong
    (a wet canal, a short circuit, a misread ruler) makes its neighbours wrong too. What was taken
    in other circumstances (see `circumstances_of`) forms a source of its own. Points whose mark is
    on the side or over the whole length tell no length and are left out.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge",
    ...     "evidence": [{"kind": "tactile_stop", "length_mm": 25.5}]}''')
    >>> [source.name for source in sources_of(case)]
    ['average length of this tooth', 'tactile stop']
    """
    groups: dict[tuple[str, int | None, str | None, str], list[Record]] = {}
    special = circumstances_of(evidence.records)
    for record, words in zip(evidence.records, special, strict=True):
        if tells_length(record):
            key = (record.kind, record.visit, record.stage, words)
            groups.setdefault(key, []).append(record)
    kinds = [kind for kind, *_ in groups]
    sources = [average_of(evidence.context)]
    for (kind, visit, stage, words), records in groups.items():
        name = KIND_NAMES[kind]
        if kinds.count(kind) > 1:  # only then is there something to tell apart
            when = [f"visit {visit}"] if visit is not None else []
            when += [stage.replace("_", " ")] if stage is not None else []
            when += [words] if words else []
            alike = [key for key in groups if key[:3] == (kind, visit, stage)]
            plain = _UNLIKE_OTHERS[kind] if len(alike) > 1 else "not dated"
            name = ", ".join([name, *(when or [plain])])
        traces: tuple[TraceQuality | None, ...] = ()
        if kind == "electronic_reading":
            traces = tuple(_quality(record) for record in records)
        trust = _TRUST[kind](evidence.context, records, stage)
        if traces:
            judged = [trust if t is None else trust_with_trace(trust, t) for t in traces]
            trust = sum(judged) / len(judged)
        sources.append(
            Source(name, kind, tuple(records), trust, visit, stage, words, traces=traces)
        )
    return tuple(sources)


def trust_with_trace(trust: float, quality: TraceQuality) -> float:
    """Trust in a reading once its trace has been seen: what the trace deserves, and less where the
    liquid in the canal gives less trust than usual.
    """
    usual = readings.TRUST.value
    odds = trust * (1 - usual) / ((1 - trust) * usual)
    return odds * quality.usable / (odds * quality.usable + 1 - quality.usable)


def tells_length(record: Record) -> bool:
    """Whether a record says anything about length."""
    if isinstance(record, PointTrial):
        return record.mark_site not in ("side", "whole")
    if isinstance(record, ElectronicReading):
        return record.foramen_signal_mm is not None or assess_trace(record).signal_mm is not None
    return True


def latest_stage(records: Sequence[Record]) -> str | None:
    """The furthest stage of preparation among the records, None when none is recorded."""
    stages = [record.stage for record in records if record.stage is not None]
    return max(stages, key=STAGES.index) if stages else None


def _quality(record: Record) -> TraceQuality | None:
    assert isinstance(record, ElectronicReading)  # the caller grouped by kind
    return None if record.time_s is None else assess_trace(record)


def average_of(context: Context) -> Source:
    """The tooth's average as a source: what is known of the crown sets its trust and its shift.

    >>> average_of(Context(crown="prepared")).lowered_mm
    (1.0, 2.5)
    """
    trust, least, most = _AVERAGE[context.crown]
    lowered = (least.value, most.value) if least and most else (0.0, 0.0)
    return Source(KIND_NAMES[AVERAGE], AVERAGE, (), trust.value, lowered_mm=lowered)


_AVERAGE: dict[str | None, tuple[Quantity, Quantity | None, Quantity | None]] = {
    "intact": (constants.AVERAGE_TRUST, None, None),
    "worn": (constants.AVERAGE_TRUST_WORN, constants.WORN_LEAST_MM, constants.WORN_MOST_MM),
    "prepared": (
        constants.AVERAGE_TRUST_PREPARED,
        constants.PREPARED_LEAST_MM,
        constants.PREPARED_MOST_MM,
    ),
    None: (constants.AVERAGE_TRUST_NOT_RECORDED, None, None),
}


def _film_trust(context: Context, records: Sequence[Record], stage: str | None) -> float:
    return constants.FILM_TRUST.value


def _reading_trust(context: Context, records: Sequence[Record], stage: str | None) -> float:
    liquids = {record.liquid_in_canal for record in records}
    if liquids & {"blood", "flooded"}:
        return readings.TRUST_FLOODED.value
    return (readings.TRUST_DRY if liquids == {"dry"} else readings.TRUST).value


def _paper_trust(context: Context, records: Sequence[Record], stage: str | None) -> float:
    liquids = {r.liquid_in_canal for r in records}
    marks = {r.liquid for r in records if isinstance(r, PointTrial)}
    if liquids & {"flooded", "irrigant"}:
        return constants.PAPER_TRUST_FLOODED.value
    if liquids & {"moist", "blood"} or marks & {"blood", "turbid"}:
        return constants.PAPER_TRUST_MOIST.value
    return constants.PAPER_TRUST.value


def _stop_trust(context: Context, records: Sequence[Record], stage: str | None) -> float:
    before = stage in (None, "before_flare")
    return (constants.STOP_TRUST_BEFORE_FLARE if before else constants.STOP_TRUST_AFTER_FLARE).value


_TRUST: dict[str, Callable[[Context, Sequence[Record], str | None], float]] = {
    "preoperative_film": _film_trust,
    "working_film": _film_trust,
    "electronic_reading": _reading_trust,
    "point_trial": _paper_trust,
    "tactile_stop": _stop_trust,
}
