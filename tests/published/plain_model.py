"""The model of a case written a second time, plainly.

Written from the description of the model: every latent of the canal is continuous here, while
the library puts the same latents on small grids. It shares constants and tables with the library
and no likelihood code, so that a slip in either shows as a disagreement. What it does not write a
second time is named beside `invented_cases.TWENTY`.
"""

import numpy as np
from lengthwise.reference import constants as c
from lengthwise.reference import points as p
from lengthwise.reference import readings
from lengthwise.reference.tables import apex_distance, canal_length
from scipy.special import betaln, gammainc, gammaincinv, log_ndtr, ndtr, ndtri

FURTHEST_MM = 3.0
"""No foramen further from the apex, and no pool higher, is thought of."""

PAPER = {"width", "slope", "between", "paper_k", "pool", "uptake"}
"""Latents of paper. δ_a (apex), the height of the pool in mm; others in standard deviations."""

STAGES = ("before_flare", "after_flare", "after_shaping")
FILM = {
    "paralleling": (
        c.FILM_BIAS_PARALLELING_MM,
        c.FILM_READER_SD_PARALLELING_MM,
        c.MAGNIFICATION_PARALLELING,
        c.MAGNIFICATION_SD_PARALLELING,
    ),
    "bisecting": (
        c.FILM_BIAS_BISECTING_MM,
        c.FILM_READER_SD_BISECTING_MM,
        c.MAGNIFICATION_BISECTING,
        c.MAGNIFICATION_SD_BISECTING,
    ),
    None: (
        c.FILM_BIAS_NOT_RECORDED_MM,
        c.FILM_READER_SD_NOT_RECORDED_MM,
        c.MAGNIFICATION_NOT_RECORDED,
        c.MAGNIFICATION_SD_NOT_RECORDED,
    ),
}
LOST_MM = {
    "worn": (c.WORN_LEAST_MM.value, c.WORN_MOST_MM.value),
    "prepared": (c.PREPARED_LEAST_MM.value, c.PREPARED_MOST_MM.value),
}
"""What the crown may have lost, any amount between as likely (the latent in mm)."""

FALSE_DRY = {
    None: c.FALSE_DRY_NOT_RECORDED,
    True: c.FALSE_DRY_RAN_FREELY,
    False: c.FALSE_DRY_BINDING,
}


def log_normal(x, mean, sd):
    """Log-density of a normal distribution."""
    return -0.5 * ((x - mean) / sd) ** 2 - np.log(sd) - 0.5 * np.log(2 * np.pi)


def log_or(*weighted):
    """Log of the sum of probability times likelihood, from (probability, log-likelihood)."""
    terms = [np.log(p) + log_l for p, log_l in weighted if p > 0]
    return np.logaddexp.reduce(terms, axis=0)


def log_delayed(lateness, sd, mean):
    """Normal error plus an exponential delay: the convolution, worked out by hand."""
    return (
        -np.log(mean)
        + sd**2 / (2 * mean**2)
        - lateness / mean
        + log_ndtr(lateness / sd - sd / mean)
    )


class Model:
    """The log-posterior of one case over (foramen, latents); rows are walkers."""

    def __init__(self, case):
        self.case = case
        stages = [r.stage for r in case.records if r.stage is not None]
        self.latest = max(stages, key=STAGES.index) if stages else None
        self.sources = {}
        for record in case.records:
            key = (record.kind, record.visit, record.stage)
            self.sources.setdefault(key, []).append(record)
        kinds = {record.kind for record in case.records}
        latents = {"apex"}
        latents |= PAPER if "point_trial" in kinds else set()
        latents |= {"width", "reading"} if "electronic_reading" in kinds else set()
        latents |= {"film_bias"} if "working_film" in kinds else set()
        latents |= {"shortening"} if set(stages) - {self.latest} else set()
        self.lost = LOST_MM.get(case.context.crown)
        latents |= {"lost"} if self.lost else set()
        self.latents = sorted(latents)
        spread, distance = canal_length(case.tooth, case.canal), apex_distance(case.tooth)
        width = spread.max_mm - spread.min_mm
        mean, variance = (spread.mean_mm - spread.min_mm) / width, (spread.sd_mm / width) ** 2
        nu = mean * (1 - mean) / variance - 1
        self.shortest, self.width, self.a, self.b = spread.min_mm, width, mean * nu, (1 - mean) * nu
        self.apex_shape = (distance.mean_mm / distance.sd_mm) ** 2
        self.apex_scale = distance.mean_mm / self.apex_shape

    def __call__(self, theta):
        """Log-posterior (walkers,) of (walkers, foramen and latents)."""
        foramen = theta[:, 0]
        at = dict(zip(self.latents, theta[:, 1:].T, strict=True))
        inside = (foramen > c.LENGTH_LOW_MM.value) & (foramen < c.LENGTH_HIGH_MM.value)
        for name, most in (("apex", FURTHEST_MM), ("pool", FURTHEST_MM), ("slope", np.inf)):
            inside &= (at.get(name, 1) > 0) & (at.get(name, 1) < most)
        if self.lost:
            inside &= (at["lost"] > self.lost[0]) & (at["lost"] < self.lost[1])
        with np.errstate(all="ignore"):
            total = self.log_prior(at)
            total += self.log_average(foramen + at["apex"] + at.get("lost", 0.0))
            for (kind, _, stage), records in self.sources.items():
                shift = self.shift(stage, at.get("shortening", np.zeros_like(foramen)))
                total += getattr(self, kind)(foramen, at, records, shift, stage)
        return np.where(inside & np.isfinite(total), total, -np.inf)

    def log_prior(self, at):
        """Log-density of the latents, up to a constant."""
        total = (self.apex_shape - 1) * np.log(at["apex"]) - at["apex"] / self.apex_scale
        for name, value in at.items():
            if name == "pool":
                total = total - value / c.POOL_HEIGHT_MEAN_MM.value
            elif name not in ("apex", "lost"):
                total = total - 0.5 * value**2
        return total

    def log_average(self, apex_mm):
        """Log-density of the whole tooth's apex by the average tooth, or anywhere."""
        trust = {
            "intact": c.AVERAGE_TRUST.value,
            "worn": c.AVERAGE_TRUST_WORN.value,
            "prepared": c.AVERAGE_TRUST_PREPARED.value,
            None: c.AVERAGE_TRUST_NOT_RECORDED.value,
        }[self.case.context.crown]
        anywhere = -np.log(c.LENGTH_HIGH_MM.value - c.LENGTH_LOW_MM.value)
        share = (apex_mm - self.shortest) / self.width
        known = (self.a - 1) * np.log(share) + (self.b - 1) * np.log1p(-share)
        known = known - betaln(self.a, self.b) - np.log(self.width)
        known = np.where((share > 0) & (share < 1), known, -np.inf)
        return log_or((trust, known), (1 - trust, np.full_like(apex_mm, anywhere)))

    def shift(self, stage, z):
        """What the canal has lost since `stage`: taken off lengths measured then."""
        lost = np.zeros_like(z)
        if stage is None:
            return lost
        if STAGES.index(stage) < 1 <= STAGES.index(self.latest):
            lost = lost + c.SHORTENING_FLARE_MM.value + z * c.SHORTENING_FLARE_SD_MM.value
        if STAGES.index(stage) < 2 <= STAGES.index(self.latest):
            lost = lost + c.SHORTENING_SHAPING_MM.value + z * c.SHORTENING_SHAPING_SD_MM.value
        return lost

    def films(self, foramen, at, readings, shift):
        """Each reading: the apex on the film, the reader's SD, and the scale's relative SD."""
        end = foramen + at["apex"] + shift  # where it was when the film was taken
        wide = c.FILM_UNSOUND_WIDENING.value
        spreads = [np.hypot(reader, relative * end) for _, reader, relative in readings]
        apexes = [apex for apex, _, _ in readings]
        sound = sum(map(log_normal, apexes, [end] * len(apexes), spreads))
        misread = sum(map(log_normal, apexes, [end] * len(apexes), [wide * s for s in spreads]))
        trust = c.FILM_TRUST.value
        return log_or((trust, sound), (1 - trust, misread))

    def preoperative_film(self, foramen, at, records, shift, stage):
        """Films before treatment: the image over its magnification."""
        readings = []
        for record in records:
            _, reader, magnification, spread = (q.value for q in FILM[record.technique])
            apex = record.tooth_length_mm / magnification
            readings.append((apex, reader, spread / magnification))
        return self.films(foramen, at, readings, shift)

    def working_film(self, foramen, at, records, shift, stage):
        """Films with a file: its length, the gap to scale, less what is believed of the bias."""
        readings = []
        for record in records:
            published, reader, magnification, spread = (q.value for q in FILM[record.technique])
            believed = c.FILM_BIAS_BELIEVED.value
            bias = believed * published
            # one canal's films all have the bias or all have none
            bias = bias + at["film_bias"] * abs(published) * np.sqrt(believed * (1 - believed))
            if record.film_file_length_mm:  # the film's own scale: gap, and tooth by rule of three
                scale = record.file_length_mm / record.film_file_length_mm
                by_gap = record.file_length_mm + record.tip_short_of_radiographic_apex_mm * scale
                apex = (by_gap + record.film_tooth_length_mm * scale) / 2 - bias
                readings.append((apex, reader, 0.0))
                continue
            gap = record.tip_short_of_radiographic_apex_mm / magnification
            # nothing of known length on the film: its own scale is not known
            sd = np.hypot(reader, gap * spread / magnification)
            readings.append((record.file_length_mm + gap - bias, sd, 0.0))
        return self.films(foramen, at, readings, shift)

    def diameter(self, at):
        """Diameter of the foramen in mm."""
        return c.FORAMEN_DIAMETER_MM.value * np.exp(c.FORAMEN_DIAMETER_LOG_SD.value * at["width"])

    def electronic_reading(self, foramen, at, records, shift, stage):
        """Foramen signals of one sitting."""
        wider = self.diameter(at) - readings.CALIBRATION_DIAMETER_MM.value
        gives = foramen + readings.LATE_MM.value - readings.SHORT_PER_MM_WIDER.value * wider
        gives = gives + readings.BETWEEN_CANALS_SD_MM.value * at["reading"]
        signals = np.array([record.foramen_signal_mm for record in records])[:, None] - shift
        sd = readings.REPEAT_SD_MM.value
        sound = log_normal(signals, gives, sd).sum(axis=0)
        erratic = log_normal(signals, gives, np.hypot(sd, readings.ERRATIC_SD_MM.value)).sum(axis=0)
        # Steady but early: every repeat comes early by one exponential amount. Seen from their
        # mean, n repeats are one signal of SD sd/√n, and the rest is their scatter about it.
        middle, sd_middle = signals.mean(axis=0), sd / np.sqrt(len(records))
        scatter = log_normal(signals, middle, sd).sum(axis=0) - log_normal(0, 0, sd_middle)
        steady = scatter + log_delayed(gives - middle, sd_middle, readings.EARLY_MEAN_MM.value)
        flooded = any(r.liquid_in_canal in ("blood", "flooded") for r in records)
        dry = all(r.liquid_in_canal == "dry" for r in records)
        usual = readings.TRUST_DRY if dry else readings.TRUST
        trust = (readings.TRUST_FLOODED if flooded else usual).value
        share = readings.STABLE_SHORT_SHARE.value
        return log_or(
            (trust, sound), ((1 - trust) * share, steady), ((1 - trust) * (1 - share), erratic)
        )

    def tactile_stop(self, foramen, at, records, shift, stage):
        """Stops of one sitting, felt again and counted once."""
        felt = np.mean([record.length_mm for record in records]) - shift
        constriction = foramen - c.STOP_SHORT_OF_FORAMEN_MM.value
        early = stage in (None, "before_flare")
        trust = (c.STOP_TRUST_BEFORE_FLARE if early else c.STOP_TRUST_AFTER_FLARE).value
        sd = c.STOP_SD_MM.value
        caught = log_delayed(constriction - felt, sd, c.STOP_EARLY_MEAN_MM.value)
        return log_or((trust, log_normal(felt, constriction, sd)), (1 - trust, caught))

    def point_trial(self, foramen, at, records, shift, stage):
        """Paper points of one sitting."""
        slope = np.radians(np.minimum(c.FORAMEN_ANGLE_SD_DEG.value * at["slope"], 70.0))
        meets = foramen - self.diameter(at) * np.tan(slope) / 2 - c.MENISCUS_MM.value
        meets = meets + c.PAPER_BETWEEN_CANALS_SD_MM.value * at["between"]
        k = c.PAPER_K_MM_PER_SQRT_S.value * (1 + c.PAPER_K_RELATIVE_SD.value * at["paper_k"])
        sd = c.PLACEMENT_SD_MM.value
        bound, stuck = c.BOUND_SHARE.value, c.BOUND_DRY.value
        steady, flooded = c.STEADY_SHARE.value, c.FLOODED_SHARE.value
        trust = self.paper_trust(records)
        # Liquid that comes back: one level, one uptake, and repeats like those of a sound attempt.
        uptake = c.POOL_UPTAKE_MEAN_MM.value + c.POOL_UPTAKE_SD_MM.value * at["uptake"]
        returns = sum(
            one_trial(r, meets - at["pool"], sd, shift, uptake, as_given) for r in records
        )
        drains = log_or(
            *(
                (0.5, drained(records, meets, at["pool"], drift, shift))
                for drift in (c.DRIFT_SLOW_MM.value, c.DRIFT_FAST_MM.value)
            )
        )
        anything = sum(in_a_full_canal(r) for r in records) + 0.0 * meets
        laws = []
        for wick in (washburn, entrance_limited):
            alone = [one_trial(r, meets, sd, shift, k, wick) for r in records]
            sound = sum(alone)
            held = sum(
                felt_odds(record)
                + (
                    np.logaddexp(np.log(stuck), np.log(1 - stuck) + log_l)
                    if record.wet_mm == 0
                    else np.log(1 - stuck) + log_l
                )
                for record, log_l in zip(records, alone, strict=True)
            )
            laws.append(
                log_or(
                    (trust, sound),
                    ((1 - trust) * (1 - bound - steady - flooded), drains),
                    ((1 - trust) * flooded, anything),
                    ((1 - trust) * steady, returns),
                    ((1 - trust) * bound, held),
                )
            )
        first = 1 - c.ENTRANCE_LAW_PROBABILITY.value
        return log_or((first, laws[0]), (1 - first, laws[1]))

    def paper_trust(self, records):
        """Trust in paper before the case is looked at."""
        if any(r.liquid_in_canal in ("flooded", "irrigant") for r in records):
            return c.PAPER_TRUST_FLOODED.value
        if any(r.liquid_in_canal in ("moist", "blood") for r in records) or any(
            r.liquid in ("blood", "turbid") for r in records
        ):
            return c.PAPER_TRUST_MOIST.value
        return c.PAPER_TRUST.value


def in_a_full_canal(record):
    """Dry by chance only; a mark as long as anything up to the whole point."""
    false_dry = FALSE_DRY[record.ran_freely].value
    return np.log(false_dry if record.wet_mm == 0 else (1 - false_dry) / record.length_mm)


def felt_odds(record):
    """Log of how much likelier a bound canal makes what was felt of this point."""
    there, elsewhere = p.FELT_WHERE_BOUND.value, p.FELT_ELSEWHERE.value
    odds = {None: 1.0, False: there / elsewhere, True: (1 - there) / (1 - elsewhere)}
    return np.log(odds[record.ran_freely])


def washburn(time_s, k):
    """Length and its change per relative change of time: the square root halves it."""
    length = k * np.sqrt(time_s)
    return length, length / 2


def entrance_limited(time_s, k):
    """l²/2 + e l = D t, D so that one second wets k; differentiated: dl/dlog t = D t/(l + e)."""
    e = c.ENTRANCE_LENGTH_MM.value
    d = k**2 / 2 + e * k
    length = np.sqrt(e**2 + 2 * d * time_s) - e
    return length, d * time_s / (length + e)


def as_given(time_s, length_mm):
    """What is taken up from a pool does not depend on the time of contact."""
    return length_mm, np.zeros_like(length_mm)


def drained(records, meets, level_mm, drift_mm, shift):
    """Points in liquid whose level every wet one lowers; uptake differs from point to point."""
    total, wet_before = 0.0, 0
    sd = np.hypot(c.PLACEMENT_SD_MM.value, c.POOL_SCATTER_SD_MM.value)
    mark_sd = np.hypot(c.MARK_READING_SD_MM.value, c.POOL_UPTAKE_SD_MM.value)
    for record in records:
        surface = meets - np.maximum(level_mm - drift_mm * wet_before, 0.0)
        past = record.length_mm - shift - surface
        false_dry = FALSE_DRY[record.ran_freely].value
        if record.wet_mm == 0:
            total = total + np.log(false_dry + (1 - false_dry) * ndtr(-past / sd))
            continue
        total = total + np.log(1 - false_dry)
        total = total + log_wet(past, sd, record.wet_mm - c.POOL_UPTAKE_MEAN_MM.value, mark_sd)
        wet_before += 1
    return total


def one_trial(record, meets, sd, shift, k, wick):
    """Dry, or wet with a mark: one placement error behind both, integrated out (`log_wet`)."""
    past = record.length_mm - shift - meets
    false_dry = FALSE_DRY[record.ran_freely].value
    if record.wet_mm == 0:
        return np.log(false_dry + (1 - false_dry) * ndtr(-past / sd))
    wicked, per_log_time = wick(record.contact_s, k)
    mark_sd = np.hypot(c.MARK_READING_SD_MM.value, per_log_time * c.CONTACT_TIME_RELATIVE_SD.value)
    return np.log(1 - false_dry) + log_wet(past, sd, record.wet_mm - wicked, mark_sd)


def log_wet(past, sd, seen, mark_sd):
    """∫₀^∞ N(o; past, sd) N(seen; o, mark_sd) do.

    The density of what was seen, times the chance that the overshoot o, known from both, is
    positive.
    """
    precision = 1 / sd**2 + 1 / mark_sd**2
    overshoot = (past / sd**2 + seen / mark_sd**2) / precision
    return log_normal(seen, past, np.hypot(sd, mark_sd)) + log_ndtr(overshoot * np.sqrt(precision))


def latents_at(model, shares):
    """Latents of a case from numbers between 0 and 1, each by its own distribution."""
    at = {}
    for name, share in zip(model.latents, shares.T, strict=True):
        if name == "apex":
            least = gammainc(model.apex_shape, FURTHEST_MM / model.apex_scale)
            at[name] = model.apex_scale * gammaincinv(model.apex_shape, share * least)
        elif name == "pool":
            mean = c.POOL_HEIGHT_MEAN_MM.value
            at[name] = -mean * np.log1p(share * np.expm1(-FURTHEST_MM / mean))
        elif name == "lost":
            at[name] = model.lost[0] + share * (model.lost[1] - model.lost[0])
        else:
            at[name] = ndtri((1 + share) / 2 if name == "slope" else share)
    return at
