"""A patient with one canal: knows the truth, hands out evidence."""

from typing import get_args

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import Outline, outline
from lengthwise.bench.asked import check_file_size
from lengthwise.bench.canal_state import CanalState, as_canals, draw_state
from lengthwise.bench.film import Film, expose_film
from lengthwise.bench.film_setup import Technique
from lengthwise.bench.meter import Meter, draw_meters, read_motion
from lengthwise.bench.meter_conditions import (
    ReadingConditions,
    as_written_down,
    conditions_now,
    draw_conditions,
)
from lengthwise.bench.meter_motion import Motion, motion_through
from lengthwise.bench.point_actions import Action, Dry, Outcome, TryPoint
from lengthwise.bench.points import step
from lengthwise.evidence import ElectronicReading, PointTrial, Record
from lengthwise.evidence.records import FEWEST_SAMPLES, MOST_SAMPLES, Stage
from lengthwise.reference import points as p


class Patient:
    """One tooth with one canal. This is the only thing on the bench that changes.

    Parameters
    ----------
    fdi : str
        Two digits, such as ``"13"``.
    rng : numpy.random.Generator
        Where the chance comes from, now and in everything that is done later: one stream for all,
        in the order in which it is asked for. The same seed and the same steps in the same order
        give the same; another order, or only looking at `state` or `meter_and_conditions` earlier,
        draws other values for what is not drawn yet.
    canal : str, optional
        Name of the canal; that of the longest root by default.

    Attributes
    ----------
    canal
        The truth, drawn from the population.
    outline
        The outside of this kind of tooth, scaled to the canal's length where it is used.
    state
        What the wet canal is like at the moment.
    meter_and_conditions
        The meter of this patient's world, and what its readings meet.
    log
        What was found so far, one evidence record after the other.
    outcomes
        What came of each action on the wet canal, refused ones included.

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that it does not have.

    Examples
    --------
    >>> patient = Patient("13", np.random.default_rng(1))
    >>> patient.canal.fdi, patient.canal.canal, patient.log
    ('13', 'single', [])
    >>> film = patient.expose_film(file_length_mm=24.0)
    >>> patient.log == [film.record], film.record.kind
    (True, 'working_film')
    """

    def __init__(self, fdi: str, rng: np.random.Generator, canal: str | None = None) -> None:
        self.rng = rng
        self.canal: Canal = draw_canals(fdi, 1, rng, canal=canal).one(0)
        self.outline: Outline = outline(fdi, canal)
        self._state: CanalState | None = None
        self._meter: tuple[Meter, ReadingConditions] | None = None
        self.log: list[Record] = []
        self.outcomes: list[Outcome] = []

    @property
    def state(self) -> CanalState:
        """Drawn when it is first asked for; nothing that is done before meets a wet canal."""
        if self._state is None:
            self._state = draw_state(self.canal, self.rng)
        return self._state

    @state.setter
    def state(self, now: CanalState) -> None:
        self._state = now

    @property
    def meter_and_conditions(self) -> tuple[Meter, ReadingConditions]:
        """Drawn when they are first asked for, and the same from then on."""
        if self._meter is None:
            self._meter = draw_meters(1, self.rng), draw_conditions(1, self.rng)
        return self._meter

    @meter_and_conditions.setter
    def meter_and_conditions(self, now: tuple[Meter, ReadingConditions]) -> None:
        self._meter = now

    def expose_film(
        self,
        *,
        technique: Technique = "paralleling",
        vertical_deg: float = 0.0,
        horizontal_deg: float = 0.0,
        file_length_mm: float | None = None,
    ) -> Film:
        """Take a radiograph, read it, and write down what was read.

        Parameters and errors as in `lengthwise.bench.film.expose_film`. The truth that goes with
        the picture stays with the patient.
        """
        film, _ = expose_film(
            self.canal,
            self.outline,
            technique=technique,
            vertical_deg=vertical_deg,
            horizontal_deg=horizontal_deg,
            file_length_mm=file_length_mm,
            rng=self.rng,
        )
        self.log.append(film.record)
        return film

    def act(self, action: Action) -> Outcome:
        """Dry, rinse, wait, try a point, look, ask or stop: one action of `bench.point_actions`.

        The canal begins as it is after preparation: rinsed, not dried, perhaps bleeding. Errors
        and refusals as in `lengthwise.bench.points.step`.

        Examples
        --------
        >>> from lengthwise.bench.point_actions import Rinse
        >>> patient = Patient("13", np.random.default_rng(1))
        >>> patient.act(Rinse()).sentence
        'Rinsed with saline; the canal is full.'
        """
        self.state, outcome = step(self.state, action, self.rng)
        self.outcomes.append(outcome)
        if outcome.trial is not None:
            self.log.append(outcome.trial)
        return outcome

    def dry(self, length_mm: float, *, points: int = 6) -> Outcome:
        """Dry the canal down to a length (mm) that is known to be inside."""
        return self.act(Dry(length_mm, points))

    def point_trial(
        self, length_mm: float, contact_s: float = 1.0, *, size: int = 20
    ) -> PointTrial:
        """Try a point at a length (mm) for a contact time (s), and write down its mark.

        The point in hand is taken long enough; a point that is not is refused by `act`.

        Examples
        --------
        >>> patient = Patient("13", np.random.default_rng(1))
        >>> _ = patient.dry(23.0)
        >>> trial = patient.point_trial(23.5)
        >>> trial.length_mm, patient.log == [trial]
        (23.5, True)
        """
        long_enough = max(p.USUAL_POINT_MM.value, length_mm)
        outcome = self.act(TryPoint(length_mm, contact_s, size, point_length_mm=long_enough))
        assert outcome.trial is not None  # a trial always gives a record, or an error
        return outcome.trial

    def advance_file(
        self,
        motion: Motion | npt.ArrayLike,
        *,
        file_size: int = 10,
        stage: Stage = "after_flare",
        conditions: ReadingConditions | None = None,
    ) -> ElectronicReading:
        """Move a file with a meter on it, and write down what the display showed.

        Parameters
        ----------
        motion : Motion or list of float
            How it moves, such as `default_motion`; or depths (mm), ten a second. The file stops
            where it binds.
        file_size : int
            Its size number; taper 0.02. A small one runs freely in nearly every canal.
        stage : str
            After shaping the canal is as wide as it was prepared.
        conditions : ReadingConditions, optional
            By default those drawn for this patient at the first reading, with the liquid that is in
            the canal if it has been rinsed, dried or tried with points.

        Raises
        ------
        ValueError
            The motion begins above the orifice, or past where the file binds, or has more samples
            than a record holds; a file size or a stage that is none.

        Examples
        --------
        >>> from lengthwise.bench.meter_motion import default_motion
        >>> patient = Patient("13", np.random.default_rng(1))
        >>> reading = patient.advance_file(default_motion(25.0))
        >>> reading.kind, reading.file_size, patient.log == [reading]
        ('electronic_reading', 10, True)
        """
        check_file_size(file_size)
        if stage not in get_args(Stage):
            raise ValueError(
                f"field stage: got {stage!r}; allowed are {', '.join(get_args(Stage))}; choose one"
            )
        motion = motion if isinstance(motion, Motion) else motion_through(motion)
        if motion.time_s.size > MOST_SAMPLES:
            raise ValueError(
                f"field motion: got {motion.time_s.size} samples; allowed are {FEWEST_SAMPLES} to "
                f"{MOST_SAMPLES}; move faster, or in parts"
            )
        meter, drawn = self.meter_and_conditions
        if conditions is None:
            conditions = conditions_now(drawn, self._state)
        canals = as_canals(self.canal)
        traces = read_motion(
            canals,
            motion,
            conditions,
            self.rng,
            file_size=file_size,
            shaped=stage == "after_shaping",
            meter=meter,
        )
        (liquid,) = as_written_down(conditions, canals.foramen_mm - canals.cej_mm)
        record = traces.record(0, file_size=int(file_size), stage=stage, liquid_in_canal=liquid)
        self.log.append(record)
        return record
