"""What a student has done in practice, as it stands in the log, and what is added to it."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from .clues import Clue
from .determination import Determination
from .practice_chair import Act, Sitting
from .practice_difficulty import Rating, after, difficulties
from .practice_log import Event, PracticeLog
from .practice_marks import Verdict
from .practice_steps import POSSIBLE_STEPS
from .practice_ways import WAYS

CANNOT_BE_KEPT = (
    "What you do now cannot be kept ({}): {}. Leave this page open and mend that: what could not "
    "be kept is written with the next thing you do here, before it."
)


@dataclass(frozen=True)
class Finished:
    """A case that was answered.

    Attributes
    ----------
    kind, tooth : of the case.
    low_mm, high_mm, length_mm : what was answered; None where no length was taken.
    step : the step that was answered with it, or instead.
    foramen_mm : the truth.
    supported_mm : the working length that the evidence supported; None where it supported none.
    share : of the marks, 0 to 1.
    minutes, exposures : what it took.
    clues : what the answer says of beliefs.
    """

    kind: str
    tooth: str
    low_mm: float | None
    high_mm: float | None
    length_mm: float | None
    step: str | None
    foramen_mm: float
    supported_mm: float | None
    share: float
    minutes: float
    exposures: int
    clues: tuple[Clue, ...] = ()

    @property
    def error_mm(self) -> float | None:
        """Middle of the interval less the foramen; positive is too long."""
        if self.low_mm is None or self.high_mm is None:
            return None
        return (self.low_mm + self.high_mm) / 2 - self.foramen_mm

    @property
    def covered(self) -> bool | None:
        """Whether the interval holds the foramen."""
        if self.low_mm is None or self.high_mm is None:
            return None
        return self.low_mm <= self.foramen_mm <= self.high_mm


@dataclass(frozen=True)
class Begun:
    """A case that was begun, and perhaps answered: enough to sit down with it again.

    Attributes
    ----------
    kind, seed : which case it is.
    acts : what was done.
    missteps, asked : proposals that would not have helped; questions that were answered.
    proposed : the step that was proposed after everything that was done; None where none was.
    answer : None while it was not answered.
    """

    kind: str
    seed: int
    acts: tuple[Act, ...] = ()
    missteps: int = 0
    asked: int = 0
    proposed: str | None = None
    answer: Determination | None = None


@dataclass
class PracticeRecord:
    """The log as cases, growing with every event. This changes.

    Attributes
    ----------
    log : where it is kept.
    finished : cases that were answered, in order.
    left : the case on the desk when it was left: one that was not answered, or the last one with
        its answer; None where there is none.
    torn : lines that could not be read.
    trouble : why something is not kept yet, or could not be read; empty where all is kept.
    """

    log: PracticeLog
    finished: list[Finished] = field(default_factory=list)
    left: Begun | None = None
    torn: int = 0
    trouble: str = ""

    @property
    def levels(self) -> list[Rating]:
        """The level before the first case and after each."""
        levels = [Rating()]
        for each in self.finished:
            known = each.kind in difficulties()
            levels.append(after(levels[-1], each.kind, each.share) if known else levels[-1])
        return levels

    @property
    def overtaken(self) -> bool:
        """Whether another page has gone on with the log, so that this one must be loaded again."""
        return not self.trouble and self.log.written_elsewhere

    def begin_anew(self) -> Path | None:
        """Put the log aside and forget what stands in it; say where it lies, if there was one.

        Raises OSError where it cannot be put aside; everything is then as it was.
        """
        aside = self.log.put_aside()
        self.finished.clear()
        self.left, self.torn, self.trouble = None, 0, ""
        return aside

    def began(self, sitting: Sitting) -> None:
        """Write down that a case was begun."""
        case = sitting.case
        self._add("case", case.seed, {"kind": case.kind, "version": version("lengthwise")})

    def acted(self, sitting: Sitting, act: Act) -> None:
        """Write down that something was done."""
        self._add("act", sitting.case.seed, asdict(act))

    def proposed(self, sitting: Sitting, step: str, fits: bool) -> None:
        """Write down that a step was proposed."""
        self._add("proposed", sitting.case.seed, {"step": step, "fits": fits})

    def answered(self, sitting: Sitting, said: Determination, verdict: Verdict) -> None:
        """Write down an answer with what it earned and what the tooth was like."""
        finished = Finished(
            kind=sitting.case.kind,
            tooth=sitting.case.place.fdi,
            low_mm=said.low_mm,
            high_mm=said.high_mm,
            length_mm=said.working_length_mm,
            step=said.next_step,
            foramen_mm=round(sitting.patient.canal.foramen_mm, 2),
            supported_mm=verdict.result.working_length_mm,
            share=round(verdict.share, 4),
            minutes=sitting.minutes,
            exposures=sitting.exposures,
            clues=verdict.clues,
        )
        self.finished.append(finished)
        self._add("answer", sitting.case.seed, asdict(finished))

    def _add(self, event: str, case: int, told: Mapping[str, Any]) -> None:
        try:
            self.log.add({"event": event, "case": case, **told})
            self.trouble = ""
        except OSError as error:  # the log keeps it waiting
            self.trouble = CANNOT_BE_KEPT.format(error.strerror, self.log.path)


def open_record(log: PracticeLog) -> PracticeRecord:
    """Read a log; what is not understood in it is passed over, and its case is not gone on with.

    A line that was torn names no case: whoever was stopped in the middle of one has seen nothing of
    what it was to hold, and goes on without it.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     open_record(PracticeLog(Path(folder))).finished
    []
    """
    try:
        kept = log.read()
    except OSError as error:
        return PracticeRecord(
            log, trouble=f"Your log cannot be read ({error.strerror}): {log.path}"
        )
    record = PracticeRecord(log, torn=kept.torn)
    by_case: dict[Any, Begun | None] = {}
    answered: set[Any] = set()
    for event in kept.events:
        try:
            _read_event(event, by_case, answered, record.finished)
        except (KeyError, TypeError, ValueError):
            record.torn += 1
            _give_up(event.get("case"), by_case)
    begun = list(by_case.values())
    unanswered = [case for case in begun if case is not None and case.answer is None]
    record.left = next(reversed(unanswered or begun), None)
    return record


def _read_event(
    event: Event,
    by_case: dict[Any, Begun | None],
    answered: set[Any],
    finished: list[Finished],
) -> None:
    seed, told = event["case"], {k: v for k, v in event.items() if k not in ("event", "case")}
    at = by_case.get(seed)
    if event["event"] == "case":
        # Chance runs differently in another version: such a case is not gone on with.
        same = told["version"] == version("lengthwise") and told["kind"] in difficulties()
        if type(seed) is not int or seed < 0:
            raise ValueError(f"field case: got {seed!r}; allowed is a whole number from 0")
        by_case.pop(seed, None)  # the one begun last stands last
        answered.discard(seed)
        by_case[seed] = Begun(told["kind"], seed) if same else None
    elif seed in answered and event["event"] in ("act", "proposed", "answer"):
        pass  # of a page that was open beside the one in which the case was answered
    elif event["event"] == "answer":
        done = _FINISHED.validate_python({**told, "clues": tuple(_clues(told["clues"]))})
        finished.append(done)
        answered.add(seed)
        by_case[seed] = at and replace(at, answer=_answer(done))
    elif at is not None and event["event"] == "act":
        by_case[seed] = replace(at, acts=(*at.acts, _act(told)), proposed=None)
    elif at is not None and event["event"] == "proposed":
        step, fits = told["step"], bool(told["fits"])
        if step not in (*POSSIBLE_STEPS, "ask"):
            raise ValueError(f"field step: got {step!r}; allowed is what can be proposed")
        missteps = at.missteps + (step != "ask" and not fits)
        asked = at.asked + (step == "ask" and fits)
        by_case[seed] = replace(at, missteps=missteps, asked=asked, proposed=step)


_ACT, _FINISHED = TypeAdapter(Act), TypeAdapter(Finished)


def _act(told: Mapping[str, Any]) -> Act:
    act = _ACT.validate_python(told)
    if act.word not in WAYS:
        raise ValueError(f"field word: got {act.word!r}; allowed are {', '.join(WAYS)}")
    return act


def _give_up(seed: object, by_case: dict[Any, Begun | None]) -> None:
    """Chance would run differently without what could not be read."""
    if isinstance(seed, int) and seed in by_case:
        by_case[seed] = None


def _answer(done: Finished) -> Determination:
    return Determination(None, done.length_mm, done.low_mm, done.high_mm, done.step)


def _clues(told: Iterable[Mapping[str, Any]]) -> Iterable[Clue]:
    """The clues, without those that another version wrote in another form."""
    known = {each.name for each in fields(Clue)}
    return (Clue(**each) for each in told if set(each) == known)
