"""What could be done next, what each costs, and what each is worth in a case."""

import hashlib
from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import Evidence
from lengthwise.reference import actions as a
from lengthwise.reference.quantity import Quantity

from .decision import Loss
from .families import Canal, canal_of
from .landmark import known_of
from .next_worth import Worth, worth_of
from .plan import Kind
from .posterior import Posterior
from .sampler import Generator
from .sources import AVERAGE, Source


@dataclass(frozen=True)
class Action:
    """One more measurement.

    Attributes
    ----------
    word : as in `NEXT_STEPS`.
    kind : what it records.
    cost : in the unit of the loss, what ending a millimetre short costs.
    spends : what the cost is made of.
    first, again : what to do, if this kind has not spoken yet, and if it has.
    """

    word: str
    kind: Kind
    cost: Quantity
    spends: str
    first: str
    again: str


ACTIONS = (
    Action(
        "film",
        "working_film",
        a.COST_FILM,
        "time and dose",
        "Take a working radiograph with a file at a known length",
        "Take another working radiograph with a file at a known length",
    ),
    Action(
        "reading",
        "electronic_reading",
        a.COST_READING,
        "a minute",
        "Take an electronic reading, crown and chamber dry, without metal contact",
        "Take the electronic reading again, crown and chamber dry, without metal contact",
    ),
    Action(
        "points",
        "point_trial",
        a.COST_POINTS,
        "time and points",
        "Dry the canal and try paper points",
        "Dry the canal, then repeat the points",
    ),
)
"""No scan is among them: none is taken for a length alone."""


def possible_actions(canal: Canal) -> tuple[Action, ...]:
    """The actions that can be taken now.

    Before any source has spoken only a radiograph can: nothing goes into a canal without an
    estimated length. Points reach the end of a canal only once it has been shaped.

    >>> [action.word for action in possible_actions(Canal("13", "single", (), None))]
    ['film']
    """
    if not any(source.kind != AVERAGE for source in canal.sources):
        return ACTIONS[:1]
    if canal.stage in (None, "after_shaping"):
        return ACTIONS
    return ACTIONS[:2]


@dataclass(frozen=True)
class Weighed:
    """An action with what it is expected to bring here.

    Attributes
    ----------
    action : the action.
    worth : what it brings, before its cost.
    spoken : whether its kind has spoken in this case.
    """

    action: Action
    worth: Worth
    spoken: bool

    @property
    def net(self) -> float:
        """Expected reduction of the loss less the cost."""
        return self.worth.gain - self.action.cost.value


def weigh_actions(
    evidence: Evidence, used: tuple[Source, ...], posterior: Posterior, loss: Loss
) -> tuple[Weighed, ...]:
    """Every action that can be taken now, the worthiest first."""
    canal = canal_of(evidence, used)
    known = known_of(canal, posterior)
    spoken = {source.kind for source in used}

    def rng() -> Generator:
        return _generator(evidence, used, loss)

    weighed = [
        Weighed(
            action,
            worth_of(known, action.kind, evidence, loss, cost=action.cost.value, rng=rng),
            action.kind in spoken,
        )
        for action in possible_actions(canal)
    ]
    return tuple(sorted(weighed, key=lambda one: -one.net))


def _generator(evidence: Evidence, used: tuple[Source, ...], loss: Loss) -> Generator:
    """The same random numbers for the same case, whenever and wherever it is weighed."""
    trusts = [(source.name, round(source.trust, 9)) for source in used]
    text = f"{evidence.to_json()}|{trusts}|{loss}"
    return np.random.default_rng(list(hashlib.sha256(text.encode()).digest()))
