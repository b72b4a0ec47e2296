"""The next step against brute force, and following it against always doing everything.

Cases come from the library's own sampler: a truth, the state of every source, and what each
measurement finds. They test the sums, not the model.
"""

import sys
from dataclasses import dataclass

import numpy as np
import pytest
from least_loss import least_expected_loss
from lengthwise.evidence import Context
from lengthwise.reconciliation import reconcile, reconcile_many
from lengthwise.reconciliation.families import canal_of
from lengthwise.reconciliation.landmark import known_of
from lengthwise.reconciliation.next_actions import ACTIONS
from lengthwise.reconciliation.next_worth import worth_of
from lengthwise.reconciliation.plan import Plan, Step
from lengthwise.reconciliation.sampler import draw_evidence, draw_states, draw_truth

pytestmark = pytest.mark.slow

CONTEXT = Context(crown="intact", pulp="necrotic")
FILM = Step("working_film", technique="paralleling", liquid_in_canal="dry")
READING = Step("electronic_reading", liquid_in_canal="moist")
POINTS = Step("point_trial", repeats=2, run_recorded=True, liquid_in_canal="dry")
"""The three actions as `to_come` takes them: a set of points has three at the last length."""

STEPS = {"film": FILM, "reading": READING, "points": POINTS}


def with_records(evidence, records):
    return evidence.model_copy(update={"records": tuple(records)})


# ---- against brute force ---------------------------------------------------------------------

SIMULATED = 330  # of each action after each start: 2 000 in all
PREDICTED = 80
CLOSE = 0.05
"""Seen on 300 of each: differences of 0.00 to 0.04 with standard errors of 0.01 to 0.03. They are
skewed, so that the error of a few cases is not to be relied on alone: most actions spare a little
more than expected, and now and then one contradicts what was thought and spares nothing."""

START = {
    "pre-operative radiograph alone": (Step("preoperative_film", technique="paralleling"),),
    "a reading alone": (READING,),
}


@pytest.mark.parametrize("name", START)
def test_the_worth_is_what_measuring_and_weighing_again_really_spares(name):
    """Least expected loss before, less that after the action was taken, case by case."""
    rng = np.random.default_rng(71)
    rows = {}
    for action in ACTIONS:
        plan = Plan("13", "single", (*START[name], STEPS[action.word]), CONTEXT)
        after, before = [], []
        for _ in range(SIMULATED):
            whole = draw_evidence(plan, draw_truth(plan, rng), draw_states(plan, rng), rng)
            after.append(whole)
            before.append(with_records(whole, whole.records[: len(START[name])]))
        first, then = reconcile_many(before), reconcile_many(after)
        spared = np.array([risk(a) - risk(b) for a, b in zip(first, then, strict=True)])
        predicted = np.array([gain(result, action.kind, rng) for result in first[:PREDICTED]])
        off = predicted - spared[:PREDICTED]
        error = off.std() / PREDICTED**0.5
        rows[action.word] = predicted.mean(), spared.mean(), off.mean(), error
    lines = [f"{name}: predicted, by force (all), difference (paired) and its standard error"]
    lines += [f"  {word:8}" + "".join(f"{x:7.3f}" for x in row) for word, row in rows.items()]
    sys.stdout.write("\n" + "\n".join(lines) + "\n")
    for word, (_, _, off, error) in rows.items():
        assert abs(off) < max(CLOSE, 3 * error), word
        assert error < 0.1, "too few cases to tell"
    worthiest = {max(rows, key=lambda word: rows[word][k]) for k in (0, 1)}
    assert worthiest == {"points"}


def risk(result):
    return least_expected_loss(result.posterior, result.loss)


def gain(result, kind, rng):
    known = known_of(canal_of(result.evidence, result.used), result.posterior)
    return worth_of(known, kind, result.evidence, result.loss, cost=0.0, rng=lambda: rng).gain


# ---- against always doing everything ---------------------------------------------------------

CANALS = 200
ROUNDS = 3
ACTIONS_SHARE = 0.80
"""The claim."""


@dataclass(frozen=True)
class Canalful:
    """What a canal holds: the truth, and what the first, second … film, reading, set would find."""

    foramen_mm: float
    found: dict[str, list[list[object]]]
    nothing: object

    def after(self, words):
        records, taken = [], dict.fromkeys(STEPS, 0)
        for word in words:
            records += self.found[word][taken[word]]
            taken[word] += 1
        return with_records(self.nothing, records)


def canalful(rng):
    """Every action in a canal, three times over; each finds what it would find in turn."""
    plan = Plan("13", "single", tuple(STEPS[w] for w in ("film", "points", "reading")) * ROUNDS,
                CONTEXT)  # fmt: skip
    truth = draw_truth(plan, rng)
    whole = draw_evidence(plan, truth, draw_states(plan, rng), rng)
    found = {word: [] for word in STEPS}
    kinds = {step.kind: word for word, step in STEPS.items()}
    last = None
    for record in whole.records:
        if record.kind != last:
            found[kinds[record.kind]].append([])
        found[kinds[record.kind]][-1].append(record)
        last = record.kind
    return Canalful(truth.foramen_mm, found, with_records(whole, ()))


def followed(canal, first):
    """The actions that the library asks for, one after the other, until it asks for none.

    `first` is what it says before anything was done, which is the same of every canal.
    """
    taken = []
    while True:
        result = reconcile(canal.after(taken)) if taken else first
        word = result.next_step.word
        if word not in STEPS or taken.count(word) == ROUNDS:
            return taken, result
        taken.append(word)


def test_following_the_next_step_gets_as_far_with_fewer_actions_and_no_greater_loss_that_shows():
    """Tier A of the claim: the evidence is the model's own, so its posterior is the oracle's.

    The fixed procedure takes film, reading, and points until three are wet at one length, always.
    """
    rng = np.random.default_rng(74)
    canals = [canalful(rng) for _ in range(CANALS)]
    fixed_words = ["film", "reading", "points"]
    fixed = reconcile_many([canal.after(fixed_words) for canal in canals])
    assert all(canal.nothing == canals[0].nothing for canal in canals)
    first = reconcile(canals[0].nothing)
    ways = {
        "film, reading, points, always": [(fixed_words, result) for result in fixed],
        "the next step, followed": [followed(canal, first) for canal in canals],
    }
    rows, total = {}, {}
    for name, runs in ways.items():
        half = np.array([np.diff(result.interval_mm())[0] / 2 for _, result in runs])
        error = [
            r.foramen_mm - canal.foramen_mm for (_, r), canal in zip(runs, canals, strict=True)
        ]
        cost = [
            r.loss.cost(r.best_length_mm, canal.foramen_mm)
            for (_, r), canal in zip(runs, canals, strict=True)
        ]
        spent = [sum(a.cost.value * taken.count(a.word) for a in ACTIONS) for taken, _ in runs]
        total[name] = np.array(cost) + np.array(spent)
        rows[name] = {
            "half-width, mean": half.mean(),
            "half-width, median": np.median(half),
            "widest tenth from": np.quantile(half, 0.9),
            "actions": np.mean([len(taken) for taken, _ in runs]),
            "films": np.mean([taken.count("film") for taken, _ in runs]),
            "readings": np.mean([taken.count("reading") for taken, _ in runs]),
            "sets of points": np.mean([taken.count("points") for taken, _ in runs]),
            "error (RMS)": np.sqrt(np.mean(np.square(error))),
            "loss": np.mean(cost),
            "loss and actions": total[name].mean(),
        }
    names = list(rows)
    lines = [f"{'':22}{names[0]:>32}{names[1]:>28}"]
    lines += [
        f"{key:22}{rows[names[0]][key]:32.3f}{rows[names[1]][key]:28.3f}" for key in rows[names[0]]
    ]
    sys.stdout.write("\n" + "\n".join(lines) + "\n")
    always, following = (rows[name] for name in names)
    # Seen: 1.07 and 79 % of the actions; before films without scale were less exact, 1.08 and 78 %
    # here, 1.06 and 79 % with seed 73, 1.102 and 79 % with seed 72. What is spent is what is left
    # open: the costs in `reference.actions` were chosen on canals drawn like these, not measured.
    assert following["half-width, mean"] <= 1.10 * always["half-width, mean"]
    assert following["error (RMS)"] <= 1.10 * always["error (RMS)"]
    more = total[names[1]] - total[names[0]]  # of the same canals
    assert more.mean() <= 2 * more.std() / CANALS**0.5
    assert following["actions"] <= ACTIONS_SHARE * always["actions"]
