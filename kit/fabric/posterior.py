"""What is believed of the yarn in a stitch and of every ball, and what readings change.

Bayesian linear regression in closed form: everything unknown is one normal vector of
relative deviations, a reading is linear in it, and what is believed before the first
is the prior. Readings are linearised anew around what they lead to, a few times.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.fabric.tolerance import together

N_PASSES = 4  # linearised anew so many times; a product of two deviations is small


@dataclass(frozen=True, slots=True)
class BallDoubt:
    """One ball as read: metres had, grams in a metre, and standard uncertainties.

    `length` of the metres and `tex` of the grams in a metre, as shares; `both` is their
    covariance: a label that lies makes a ball shorter and its metres heavier. `tension`
    of the stretches it is knitted in; `day` of a weighing's moisture.
    """

    name: str
    metres: float
    grams_per_m: float
    length: float
    tex: float
    both: float
    tension: float
    day: float


@dataclass(frozen=True, slots=True)
class Reading:
    """What was found of a ball once it had given `used_m` metres by the plan's yarn in
    a stitch: `left_g` grams on the scale, or None where it ran out.

    `error` is the standard uncertainty: grams for a weighing, metres for running out.
    Readings of one `day` share its moisture; "" stands alone.
    """

    name: str
    used_m: float
    left_g: float | None
    error: float
    day: str = ""
    kept_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Posterior:
    """Mean and covariance of the deviations: the pace first, then for every ball those
    of its length, of its tex and of its tension."""

    balls: tuple[BallDoubt, ...]
    mean: np.ndarray
    covariance: np.ndarray
    n_readings: int = 0

    def __repr__(self) -> str:
        return f"Posterior(pace {self.pace:.3f} ± {self.pace_error:.3f})"

    @property
    def pace(self) -> float:
        """Yarn in a stitch, as a multiple of the plan's."""
        return 1.0 + float(self.mean[0])

    @property
    def pace_error(self) -> float:
        """Its standard uncertainty."""
        return float(np.sqrt(self.covariance[0, 0]))

    def at(self, name: str) -> int:
        """Where a ball's three deviations begin."""
        return 1 + 3 * next(k for k, b in enumerate(self.balls) if b.name == name)

    def of(self, names: Sequence[str]) -> Posterior:
        """The same of these balls alone, in this order: the marginal of a normal."""
        at = [0, *(self.at(name) + k for name in names for k in range(3))]
        balls = tuple(self.balls[(self.at(name) - 1) // 3] for name in names)
        covariance = self.covariance[np.ix_(at, at)]
        return Posterior(balls, self.mean[at], covariance, self.n_readings)


def normal_prior(pace_error: float, balls: Sequence[BallDoubt]) -> Posterior:
    """What is believed before any reading: all as planned, with its doubts."""
    n = 1 + 3 * len(balls)
    covariance = np.zeros((n, n))
    covariance[0, 0] = pace_error**2
    for k, ball in enumerate(balls):
        at = 1 + 3 * k
        covariance[at, at] = ball.length**2
        covariance[at + 1, at + 1] = ball.tex**2
        covariance[at, at + 1] = covariance[at + 1, at] = ball.both
        covariance[at + 2, at + 2] = ball.tension**2
    return Posterior(tuple(balls), np.zeros(n), covariance)


def learned(posterior: Posterior, readings: Sequence[Reading]) -> Posterior:
    """What is believed after these readings; one that knows of none yet.

    A ball that keeps as planned in all that is read of it is believed as before.
    """
    if not readings:
        return posterior
    days = list(dict.fromkeys(one.day for one in readings if one.day))
    n, n_days = len(posterior.mean), len(days)
    mean = np.concatenate([posterior.mean, np.zeros(n_days)])
    covariance = np.eye(n + n_days)
    covariance[:n, :n] = posterior.covariance
    noise = np.diag([one.error**2 for one in readings])
    x = mean
    for _ in range(N_PASSES):
        rows = [_linear(posterior, one, days, x) for one in readings]
        slopes = np.array([slope for slope, _ in rows])
        # what is read, less what it would be at the prior's mean by these slopes
        missed = np.array([miss for _, miss in rows]) + slopes @ (x - mean)
        shared = covariance @ slopes.T
        gain = np.linalg.solve(slopes @ shared + noise, shared.T).T
        x = mean + gain @ missed
    after = covariance - gain @ shared.T
    after = (after + after.T) / 2
    done = posterior.n_readings + len(readings)
    return Posterior(posterior.balls, x[:n], after[:n, :n], done)


def _linear(
    posterior: Posterior, reading: Reading, days: Sequence[str], x: np.ndarray
) -> tuple[np.ndarray, float]:
    """A reading's slopes at `x`, and by how much it misses what `x` makes of it."""
    at = posterior.at(reading.name)
    ball = posterior.balls[(at - 1) // 3]
    pace, (length, tex, tension) = x[0], x[at : at + 3]
    slope = np.zeros(len(x))
    left_m = ball.metres * (1 + length) - reading.used_m * (1 + pace + tension)
    if reading.left_g is None:
        slope[0] = slope[at + 2] = -reading.used_m
        slope[at] = ball.metres
        return slope, reading.kept_m - left_m
    per_m = ball.grams_per_m
    damp, day = 0.0, None
    if reading.day:
        day = len(posterior.mean) + days.index(reading.day)
        damp = ball.day * x[day]
    weight = per_m * (1 + tex) * (1 + damp)
    slope[0] = slope[at + 2] = -reading.used_m * weight
    slope[at] = ball.metres * weight
    slope[at + 1] = left_m * per_m * (1 + damp)
    if day is not None:
        slope[day] = left_m * per_m * (1 + tex) * ball.day
    return slope, reading.left_g - left_m * weight


def expected(posterior: Posterior, reading: Reading) -> tuple[float, float]:
    """What a reading is expected to be, grams on the scale (metres kept where it ran
    out), and the standard uncertainty of how far off it may be."""
    days = [reading.day] if reading.day else []
    x = np.append(posterior.mean, np.zeros(len(days)))
    slope, miss = _linear(posterior, reading, days, x)
    own, shared = slope[: len(posterior.mean)], slope[len(posterior.mean) :]
    variance = own @ posterior.covariance @ own + shared @ shared + reading.error**2
    read = reading.kept_m if reading.left_g is None else reading.left_g
    return read - miss, float(np.sqrt(variance))


def drawn(posterior: Posterior, n: int, rng: np.random.Generator) -> np.ndarray:
    """`n` draws of all deviations, shape (n, 1 + 3 balls)."""
    values, vectors = np.linalg.eigh(posterior.covariance)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    return posterior.mean + rng.standard_normal((n, len(values))) @ root.T


def left_m(posterior: Posterior, name: str, used_m: float) -> tuple[float, float]:
    """Metres left of a ball and their standard uncertainty, to first order."""
    at = posterior.at(name)
    ball = posterior.balls[(at - 1) // 3]
    slope = np.zeros(len(posterior.mean))
    slope[at], slope[0], slope[at + 2] = ball.metres, -used_m, -used_m
    left = ball.metres - used_m + float(slope @ posterior.mean)
    return left, float(np.sqrt(max(0.0, slope @ posterior.covariance @ slope)))


def ball_doubt(
    name: str,
    metres: float,
    grams_per_m: float,
    *,
    scale: float,
    label: float,
    tape: float | None,
    tension: float,
    day: float,
) -> BallDoubt:
    """A ball from the doubts of what was read of it, all as shares of the reading.

    Weighed: its length is the scale's grams by the label, so a label that promises too
    many metres is wrong both ways. Measured (`tape` given): the length is the tape's.
    """
    if tape is None:
        return BallDoubt(
            name, metres, grams_per_m,
            together((scale, label)), label, -(label**2), tension, day,
        )  # fmt: skip
    tex = together((scale, tape)) if scale else label
    both = -(tape**2) if scale else 0.0
    return BallDoubt(name, metres, grams_per_m, tape, tex, both, tension, day)
