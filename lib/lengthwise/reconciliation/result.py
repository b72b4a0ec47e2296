"""What comes out of a reconciliation. Numbers that cost time are worked out when asked for."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lengthwise.evidence import Evidence

from .chart import chart_line
from .decision import Loss, best_length_mm
from .families import canal_of
from .next_actions import weigh_actions
from .next_step import NextStep, choose_next_step
from .points_question import points_question
from .posterior import Posterior, foramen_posteriors
from .reference_now import reference_warning
from .result_view import DISBELIEVED, came_early, disbelief, html_view, not_yet, suggestion
from .scope import ask_reasons
from .source_rows import SourceRow, weigh_sources
from .sources import AVERAGE, Source
from .unresolved import unresolved_conflict

Floats = npt.NDArray[np.float64]
LIKELY = 0.90


@dataclass(frozen=True, eq=False)
class Reconciliation:
    """The foramen, the length, and the reasons.

    Attributes
    ----------
    evidence : what went in.
    used : the sources that were weighed.
    loss : what an error costs.
    posterior : where the foramen is.
    """

    evidence: Evidence
    used: tuple[Source, ...]
    loss: Loss
    posterior: Posterior

    @property
    def grid_mm(self) -> Floats:
        """Lengths (mm) on which the posterior stands, 0.01 mm apart."""
        return self.posterior.grid_mm

    @property
    def density_per_mm(self) -> Floats:
        """Posterior density of the foramen (1/mm) on `grid_mm`."""
        return self.posterior.density_per_mm

    @property
    def foramen_mm(self) -> float:
        """Posterior mean of the foramen (mm)."""
        return self.posterior.mean_mm

    @property
    def foramen_sd_mm(self) -> float:
        """Standard uncertainty of the foramen (mm)."""
        return self.posterior.sd_mm

    def quantile_mm(self, probability: npt.ArrayLike) -> Floats:
        """The length (mm) coronal of which the foramen lies with this probability, 0 to 1."""
        return self.posterior.quantile_mm(probability)

    def interval_mm(self, probability: float = LIKELY) -> tuple[float, float]:
        """The central interval (mm) in which the foramen lies with this probability."""
        if not 0 < probability < 1:
            raise ValueError(
                f"field probability: got {probability:g}; allowed is between 0 and 1; write 0.90 "
                "for a 90 % interval"
            )
        low, high = self.quantile_mm([(1 - probability) / 2, (1 + probability) / 2])
        return float(low), float(high)

    def probability_past(self, length_mm: float) -> float:
        """Probability that this length is past the foramen."""
        return self.posterior.probability_past(length_mm)

    @cached_property
    def best_length_mm(self) -> float:
        """The settable length (mm) of least expected loss, whether or not it should be taken."""
        return best_length_mm(self.posterior, self.loss)

    @property
    def working_length_mm(self) -> float | None:
        """The recommended working length (mm); None while no length should be taken."""
        return self.best_length_mm if self.next_step.word == "confirm" else None

    @cached_property
    def sources(self) -> tuple[SourceRow, ...]:
        """One row a source."""
        return weigh_sources(canal_of(self.evidence, self.used))

    @property
    def conflict(self) -> float:
        """The largest standardised residual of a source against the others (0: none)."""
        rows = [abs(row.residual) for row in self.sources if row.kind != AVERAGE]
        return max(rows, default=0.0)

    @property
    def reasons_to_ask(self) -> tuple[str, ...]:
        """Why these sources cannot give a length; empty when they can."""
        return ask_reasons(self.evidence)

    @cached_property
    def next_step(self) -> NextStep:
        """What to do next, and why."""
        canal = canal_of(self.evidence, self.used)
        question = points_question(canal, self._past_by_others, self._trust)
        return choose_next_step(
            self.reasons_to_ask,
            self.interval_mm(),
            lambda: weigh_actions(self.evidence, self.used, self.posterior, self.loss),
            question=question,
            conflict=lambda: unresolved_conflict(self.used, self.sources),
        )

    def _past_by_others(self, length_mm: float) -> float:
        """Probability that this length is past the foramen, by all sources except points."""
        others = tuple(source for source in self.used if source.kind != "point_trial")
        (alone,) = foramen_posteriors([canal_of(self.evidence, others)])
        return alone.probability_past(length_mm)

    def _trust(self, source: Source) -> float:
        """How far one of the sources is believed."""
        return self.sources[self.used.index(source)].trust

    @property
    def sentence(self) -> str:
        """The result in plain words."""
        if self.reasons_to_ask:
            return self.next_step.sentence
        length, interval = self.working_length_mm, self.interval_mm()
        if length is None:
            result = not_yet(interval, self.next_step.sentence)
        else:
            past = self.probability_past(length)
            result = suggestion(self.foramen_mm, interval, length, past)
        doubted = [
            (row.name, row.implied_mm)
            for row in self.sources
            if row.kind == "electronic_reading" and row.trust < DISBELIEVED
        ]
        early = came_early(doubted, self.foramen_mm, interval)
        parts = (result, disbelief(self.sources), early, reference_warning(self.evidence))
        return " ".join(part for part in parts if part)

    @property
    def chart_line(self) -> str:
        """The line for the patient's chart."""
        length, rows = self.working_length_mm, self.sources
        return chart_line(self.evidence, self.used, rows, self.posterior, length, self.loss)

    def _repr_html_(self) -> str:
        return html_view(self.sentence, self.sources, self.chart_line)

    def __repr__(self) -> str:
        return f"<Reconciliation: {self.sentence}>"
