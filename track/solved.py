"""The smoother's solution as a path and a pair of clocks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ingest.recording import Recording
from track.evidence import EPOCH_S, Evidence
from track.motion import Motion
from track.path import Estimate, Floats, Ints, Path
from track.smoother import Smoothed
from track.smoother_covariance import Solution
from track.smoother_prior import HELD, ClockPrior
from track.smoother_state import BLUR, DELAY, PARAMETERS, PSI, V, X, Y, lag_of, shift_of
from track.stage import Clock


@dataclass(frozen=True, kw_only=True)
class PathPosterior:
    """Joint covariance of a path's epochs, from the smoother's solution."""

    solution: Solution

    def covariance(self, epochs: Ints) -> Floats:
        """Joint covariance of x and y; see :class:`track.path.Posterior`."""
        order = np.argsort(epochs, kind="stable")
        joint = self.solution.joint(np.asarray(epochs)[order], (X, Y))
        back = np.empty(len(order), dtype=np.int64)
        back[order] = np.arange(len(order))
        place = np.stack([2 * back, 2 * back + 1], axis=1).ravel()
        turned: Floats = joint[np.ix_(place, place)]
        return turned


def clock_prior(clock: Clock | None, motion: Motion | None) -> ClockPrior:
    """Shift of the motion clock and the receiver's lag, and how freely the path may move them.

    The first guess came from the same fixes and turns: of the shift it says where to look, not
    how surely. Without turns the path can say nothing better of either.
    """
    if clock is None or motion is None:
        return HELD
    lag = clock.lag_s or HELD.lag
    if not motion.has_gyro:
        return ClockPrior(shift=Estimate(value=clock.shift_s.value, sd=1e-4), lag=lag, held=True)
    loose = max(3 * clock.shift_s.sd, 0.5)
    return ClockPrior(shift=Estimate(value=clock.shift_s.value, sd=loose), lag=lag, held=False)


def as_sure_as(smoothed: Smoothed, clock: ClockPrior) -> Smoothed:
    """The same with the lag no surer than it was before, and all that goes with it.

    A lag that was held has to be let go again, and one told from the same fixes before must not
    count twice.
    """
    border = smoothed.solution.border
    spare_s4 = clock.blur_sd_s2**2 - float(border[BLUR, BLUR])
    if spare_s4 <= 0.0:
        return smoothed
    with_lag = border[:, BLUR] / border[BLUR, BLUR]
    wider = border + spare_s4 * np.outer(with_lag, with_lag)
    return replace(smoothed, solution=replace(smoothed.solution, border=wider))


def clock_of(
    recording: Recording, motion: Motion | None, placed: Smoothed, first: Clock | None
) -> Clock | None:
    """Offset and lag as the path has them; the first guess where there are no turns."""
    if motion is None or not motion.has_gyro:
        return first
    ride, cov = placed.state.ride, placed.solution.border
    slope = _lag_slope(placed)
    spread = np.array([1.0, slope]) @ cov[np.ix_([DELAY, BLUR], [DELAY, BLUR])]
    shift = Estimate(value=shift_of(ride), sd=float(np.sqrt(spread @ [1.0, slope])))
    lag = Estimate(value=lag_of(ride), sd=slope * placed.parameter_sd(BLUR))
    return Clock(
        offset_s=shift if recording.clocks_shared else None,
        shift_s=shift,
        lag_s=lag,
        notes=first.notes if first else (),
    )


def _lag_slope(smoothed: Smoothed) -> float:
    """Change of the lag with its square over one sd either way; its derivative has no end.

    The inverse of :attr:`ClockPrior.blur_sd_s2`: an sd of the lag comes back as it was.
    """
    lag_s, blur_sd_s2 = lag_of(smoothed.state.ride), smoothed.parameter_sd(BLUR)
    near_nought = blur_sd_s2 > 2 * lag_s**2
    sd_s = np.sqrt(2 * blur_sd_s2) - lag_s if near_nought else blur_sd_s2 / (2 * lag_s)
    return float(sd_s / blur_sd_s2)


def _at_fix_times(smoothed: Smoothed) -> Solution:
    """The covariance at fixed times of the positions' clock, the doubt of the clocks added.

    The smoother's epochs lie on the motion clock; at a time of the other clock the path moves on
    with the shift.
    """
    carried = _rates(smoothed, DELAY) + _lag_slope(smoothed) * _rates(smoothed, BLUR)
    return replace(smoothed.solution, carried=carried)


def _rates(smoothed: Smoothed, parameter: int) -> Floats:
    """Speeds at which the states go by, each times a parameter of the clocks, in its column."""
    e = smoothed.state.epochs
    rates = np.zeros((*e.shape, PARAMETERS))
    for column in (X, Y, PSI, V):
        rates[:, column, parameter] = np.gradient(e[:, column], EPOCH_S)
    return rates


def _at_instants(smoothed: Smoothed) -> Solution:
    """The covariance at instants of a motion log that did not steer the path.

    Its clock was laid against the positions as they are, late by the receiver's lag: an error of
    the lag moves an instant and the path alike. What is left is the clocks' own doubt.
    """
    carried = -_lag_slope(smoothed) * _rates(smoothed, BLUR)
    return replace(smoothed.solution, carried=carried)


def path_of(evidence: Evidence, smoothed: Smoothed, frame: str) -> Path:
    """The path and its marginal uncertainties."""
    e = smoothed.state.epochs
    steered = evidence.yaw is not None
    timed = _at_fix_times(smoothed) if steered else smoothed.solution
    instants = smoothed.solution if steered else _at_instants(smoothed)
    sd = np.sqrt(timed.variances())
    return Path(
        t_s=evidence.t_s - shift_of(smoothed.state.ride),
        x_m=e[:, X],
        y_m=e[:, Y],
        sd_x_m=sd[:, X],
        sd_y_m=sd[:, Y],
        speed_ms=e[:, V],
        speed_sd_ms=sd[:, V],
        heading_rad=e[:, PSI],
        heading_sd_rad=sd[:, PSI],
        turn_rads=np.gradient(e[:, PSI], EPOCH_S),
        posterior=PathPosterior(solution=timed),
        frame="arena" if frame == "arena" else "local",
        at_instants=PathPosterior(solution=instants),
    )
