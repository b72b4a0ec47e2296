"""What can be done to a practice case: every action with its words, its minutes, its exposures."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from lengthwise.bench import point_actions as do
from lengthwise.bench.meter_motion import default_motion
from lengthwise.evidence import ElectronicReading, PointTrial, WorkingFilm
from lengthwise.reference import practice as q
from lengthwise.reference.quantity import Quantity

from .into_blood import told_at_chair
from .point_sittings import BEYOND_MM, STEP_MM, as_written
from .practice_cases import compose, put_right
from .practice_cautions import caution, too_far
from .practice_chair import Act, Done, Sitting
from .practice_kinds import KINDS

SCOUT_SIZE, FROM_DISTAL_DEG = 10, 20.0
WET_BEFORE, MOST_BEFORE = 2, 7
CANNOT = (
    "That cannot be done at this length: the instrument would lie in the crown, or far beyond the "
    "root, or the picture would miss the tooth. Choose another length."
)


@dataclass(frozen=True)
class Way:
    """An action that can be chosen.

    Attributes
    ----------
    group : what it is for, in a word or two; actions are shown by it.
    words : short, as it is chosen.
    means : what is done, in a sentence.
    minutes : what it takes.
    carry_out : does it.
    exposures : radiographs among it.
    goes_in : something is put into the canal to the length that is set.
    """

    group: str
    words: str
    means: str
    minutes: Quantity
    carry_out: Callable[[Sitting, Act], Done]
    exposures: int = 0
    goes_in: bool = False


def begin(kind: str, seed: int, acts: Iterable[Act] = ()) -> Sitting:
    """Sit down with a case; with acts, go on where they end."""
    sitting = Sitting(*compose(kind, seed))
    if KINDS[kind].given:
        _before_you_came(sitting)
    for act in acts:
        take(sitting, act)
    return sitting


def _before_you_came(sitting: Sitting) -> None:
    """A reading, a radiograph, a canal that was dried, and perhaps points."""
    length = sitting.estimated_mm
    for act in (Act("reading", length + BEYOND_MM), Act("film", length)):
        take(sitting, act)
    sitting.patient.state = replace(
        sitting.patient.state, pool_ul=0.0, wall_moisture=0.0, irrigant="none",
        liquid_in_canal="dry", rounds=1,
    )  # fmt: skip
    if KINDS[sitting.case.kind].given == "tried":
        wet, last = 0, length + BEYOND_MM
        length -= STEP_MM
        while wet < WET_BEFORE and len(sitting.done) < MOST_BEFORE:
            tried = take(sitting, Act("point", length)).record
            wet += isinstance(tried, PointTrial) and tried.wet_mm > 0
            length = length if wet else min(length + STEP_MM, last)
    sitting.done[:] = [
        replace(each, minutes=0.0, exposures=0, caution="", too_far=False, came_before=True)
        for each in sitting.done
    ]


def take(sitting: Sitting, act: Act) -> Done:
    """Do one thing; what came of it goes into the sitting.

    Raises
    ------
    ValueError
        There is no such action.

    Examples
    --------
    >>> take(begin("plain", 1), Act("syringe", 20.0)).unsafe
    True
    """
    if act.word not in WAYS:
        raise ValueError(f"field word: got {act.word!r}; allowed are {', '.join(WAYS)}; choose one")
    way = WAYS[act.word]
    warning = caution(sitting, act) if way.goes_in else told_at_chair(sitting, act)
    far = bool(way.goes_in and too_far(sitting, act))
    try:
        done = way.carry_out(sitting, act)
    except ValueError:  # its words may say how long the canal is
        done = Done(act, CANNOT, q.REFUSED_MIN.value, refused=True)
    points = sitting.patient.state
    done = replace(done, visit=points.visit, bleeding=points.bleeding)
    if not done.refused:
        inside_mm = act.length_mm if way.goes_in else 0.0
        done = replace(done, inside_mm=inside_mm, caution=warning, too_far=far)
    sitting.done.append(done)
    return done


def _film(horizontal_deg: float) -> Callable[[Sitting, Act], Done]:
    def carry_out(sitting: Sitting, act: Act) -> Done:
        film = sitting.patient.expose_film(
            file_length_mm=act.length_mm, horizontal_deg=horizontal_deg
        )
        told = {
            name: round(value, 1)
            for name, value in film.record.model_dump().items()
            if name.endswith("_mm") and isinstance(value, float)
        }
        visit = sitting.patient.state.visit
        record = film.record.model_copy(update={**told, "stage": "after_shaping", "visit": visit})
        assert isinstance(record, WorkingFilm)  # there is a file in the canal
        gap = record.tip_short_of_radiographic_apex_mm
        looks = f"{gap:.1f} mm short of" if gap >= 0 else f"{-gap:.1f} mm beyond"
        angle = "" if horizontal_deg == 0 else f", source {horizontal_deg:g}° from distal"
        said = (
            f"Radiograph with a file at {act.length_mm:g} mm{angle}: the tip looks {looks} the end "
            "of the root."
        )
        return Done(act, said, q.FILM_MIN.value, 1, record, film)

    return carry_out


def _reading(sitting: Sitting, act: Act) -> Done:
    reading = sitting.patient.advance_file(
        default_motion(act.length_mm), file_size=SCOUT_SIZE, stage="after_shaping"
    )
    lists = {
        name: tuple(None if v is None else round(v, 2) for v in getattr(reading, name) or ())
        for name in ("time_s", "depth_mm", "indicated")
    }
    visit = sitting.patient.state.visit
    record: ElectronicReading = reading.model_copy(update={**lists, "visit": visit})
    deepest = max(depth for depth in lists["depth_mm"] if depth is not None)
    said = (
        f"Electronic reading, the stop set to {act.length_mm:g} mm: on its trace, below, the file "
        f"reaches {deepest:.1f} mm. Judge it."
    )
    return Done(act, said, q.READING_MIN.value, record=record)


def _prepare(sitting: Sitting, act: Act) -> Done:
    meter, conditions = sitting.patient.meter_and_conditions
    sitting.patient.meter_and_conditions = meter, put_right(conditions)
    said = "Crown and chamber are dry, the clip is on, no metal touches the file."
    return Done(act, said, q.PREPARE_MIN.value)


def _bench(
    action: Callable[[Act], do.Action], minutes: Quantity, exposures: int = 0
) -> Callable[[Sitting, Act], Done]:
    def carry_out(sitting: Sitting, act: Act) -> Done:
        outcome = sitting.patient.act(action(act))
        trial = outcome.trial
        record = None
        if trial is not None:
            record = as_written(trial)
            # A mark all along is rounded with the rest, and is no longer than its point.
            wet_mm = min(record.wet_mm, trial.length_mm)
            record = record.model_copy(update={"visit": trial.visit, "wet_mm": wet_mm})
        return Done(
            act, outcome.sentence, (q.REFUSED_MIN if outcome.refused else minutes).value,
            0 if outcome.refused else exposures, record,
            refused=outcome.refused, unsafe=outcome.safety_failure,
            redried=isinstance(outcome.action, do.Dry | do.Rinse) and not outcome.refused,
            obstruction=outcome.obstruction,
        )  # fmt: skip

    return carry_out


def _way(
    group: str, words: str, means: str, action: Callable[[Act], do.Action], minutes: Quantity,
    *, exposures: int = 0, goes_in: bool = False,
) -> Way:  # fmt: skip
    return Way(group, words, means, minutes, _bench(action, minutes, exposures), exposures, goes_in)


def _point(act: Act) -> do.Action:
    return do.TryPoint(act.length_mm, act.contact_s, point_length_mm=do.LONGEST_POINT_MM)


MEASURE, PREPARE, CARE = "Find the length", "Make ready", "Rinse, wait, bleeding"
LOOK, STOP = "Find a reason", "Get help, or time"
WAYS: dict[str, Way] = {
    "reading": Way(MEASURE, "reading", "An electronic reading: a file of size 10 goes in to the "
                   "length, rests, backs off and goes in again.", q.READING_MIN, _reading,
                   goes_in=True),
    "film": Way(MEASURE, "radiograph", "A radiograph with a file of size 15 at the length.",
                q.FILM_MIN, _film(0.0), 1, goes_in=True),
    "film, aside": Way(MEASURE, "radiograph, aside", "The same with the source moved to distal by "
                       "20°.", q.FILM_MIN, _film(FROM_DISTAL_DEG), 1, goes_in=True),
    "point": _way(MEASURE, "try a point", "A paper point of size 20, set to the length and held.",
                  _point, q.POINT_MIN, goes_in=True),
    "prepare": Way(PREPARE, "prepare a reading", "Dry crown and chamber, put the clip on, keep "
                   "metal away.", q.PREPARE_MIN, _prepare),
    "dry": _way(PREPARE, "dry", "Three fresh points, one after the other, down to the length.",
                lambda act: do.Dry(act.length_mm), q.DRY_MIN, goes_in=True),
    "saline": _way(CARE, "rinse: saline", "A passive rinse; the canal is full afterwards.",
                   lambda act: do.Rinse("saline"), q.RINSE_MIN),
    "hypochlorite": _way(CARE, "rinse: hypochlorite", "A passive rinse; the canal is full "
                         "afterwards.", lambda act: do.Rinse("hypochlorite"), q.RINSE_MIN),
    "wait": _way(CARE, "wait", "Three minutes, with nothing in the canal.", lambda act: do.Wait(),
                 q.WAIT_MIN),
    "dampened": _way(CARE, "dampened point", "A point dampened with 3 % peroxide, to the length.",
                     lambda act: do.PeroxidePoint(act.length_mm), q.PEROXIDE_MIN, goes_in=True),
    "syringe": _way(CARE, "peroxide syringe", "Hydrogen peroxide from a syringe.",
                    lambda act: do.PeroxideSyringe(), q.RINSE_MIN),
    "patency": _way(LOOK, "check patency", "A small file, gently: is the canal open to its end?",
                    lambda act: do.CheckPatency(), q.PATENCY_MIN),
    "cause": _way(LOOK, "look for a cause", "A radiograph from another angle, for a cause of "
                  "bleeding.", lambda act: do.AngledRadiograph(), q.FILM_MIN, exposures=1),
    "rebook": _way(STOP, "next visit", "Dress, seal, book; you go on at the next visit.",
                   lambda act: do.DressAndRebook(), q.DRESS_MIN),
    "supervisor": _way(STOP, "call supervisor", "Somebody has a look, and you go on.",
                       lambda act: do.CallSupervisor(), q.ASK_MIN),
}  # fmt: skip
"""Everything that can be done, those of one group beside each other."""
