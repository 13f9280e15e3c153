"""Orientation of the phone: gyroscope integrated, vertical held by slow gravity, turn of the trunk.

A phone in a pocket swings. Turn rate read off the gyroscope along mean gravity then carries the
solid angle the vertical sweeps in the phone's axes (coning), up to 0.2 rad/s. Here the whole
attitude is integrated; gravity, averaged in the unturning frame that the integration gives,
holds the vertical; and the heading of the phone *with its swing taken off* is differenced. That
heading is a single-valued function of the attitude, so a swing that repeats leaves nothing.

Quaternions are arrays of shape (4, n), scalar first, taking phone axes to the unturning frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from track.path import Floats

Complexes = NDArray[np.complex128]

GRAVITY_SMOOTH_S: Final = 8.0
"""Sd of the two-sided average of gravity. Longer than a circle's lean takes to come round
(2π·8 s against 15-20 s leaves 2 % of it), short enough for the drift of a cheap gyroscope."""
POSTURE_SMOOTH_S: Final = 6.0
"""Sd of the average that tells how the phone hangs; must be long against a stride."""
_STILL_AIR_S: Final = 1.0
_BLOCK_S: Final = 0.5
_SCAN: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Attitude:
    """How the phone stood to the vertical, sample by sample.

    Attributes
    ----------
    up : array, shape (n, 3)
        Unit vector of 'up' in the phone's axes.
    hang : array, shape (n, 3)
        The same, averaged over many strides: how the phone hangs in the pocket.
    gravity_ms2 : array, shape (n,), m/s²
        Slow mean of the specific force along ``up``.
    twist_rads : array, shape (n,), rad/s
        Rate of the phone's heading with its swing taken off, left positive; NaN without a
        gyroscope. Not averaged yet.
    """

    up: Floats
    hang: Floats
    gravity_ms2: Floats
    twist_rads: Floats


def multiply(p: Floats, q: Floats) -> Floats:
    """Quaternion product, shapes (4, n)."""
    a, b, c, d = p
    e, f, g, h = q
    product = np.empty(np.broadcast_shapes(p.shape, q.shape))
    product[0] = a * e - b * f - c * g - d * h
    product[1] = a * f + b * e + c * h - d * g
    product[2] = a * g - b * h + c * e + d * f
    product[3] = a * h + b * g - c * f + d * e
    return product


def conjugate(q: Floats) -> Floats:
    """The opposite rotation."""
    opposite = -q
    opposite[0] = q[0]
    return opposite


def cross(a: Floats, b: Floats) -> Floats:
    """Vector product of (n, 3) arrays, kept column by column: three times as fast as numpy's."""
    product = np.empty((len(a), 3), order="F")
    product[:, 0] = a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1]
    product[:, 1] = a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2]
    product[:, 2] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return product


def dot(a: Floats, b: Floats) -> Floats:
    """Scalar product of (n, 3) arrays, row by row."""
    return np.asarray(a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1] + a[:, 2] * b[:, 2])


def rotate(q: Floats, v: Floats) -> Floats:
    """Rotate vectors of shape (n, 3).

    Examples
    --------
    >>> quarter = np.array([[np.sqrt(0.5)], [0.0], [0.0], [np.sqrt(0.5)]])
    >>> rotate(quarter, np.array([[1.0, 0.0, 0.0]])).round(3).tolist()
    [[0.0, 1.0, 0.0]]
    """
    axis = q[1:].T
    turned = cross(axis, v)
    turned *= 2
    return np.asarray(v + q[0][:, None] * turned + cross(axis, turned))


def shortest(start: Floats, end: Floats) -> Floats:
    """Rotation by the smaller angle that takes unit vectors ``start`` to ``end``, (n, 3) each."""
    q = np.empty((4, len(start)))
    q[0] = 1.0 + dot(start, end)
    q[1:] = cross(start, end).T
    q /= np.maximum(np.sqrt(np.einsum("ij,ij->j", q, q)), 1e-9)
    return q


def steps_of(gyro_rads: Floats, rate_hz: float) -> Floats:
    """Rotation of each sample interval, from the turn rates at its two ends."""
    half = (gyro_rads[1:] + gyro_rads[:-1]).T * (0.25 / rate_hz)
    angle = np.sqrt(np.einsum("ij,ij->j", half, half))
    steps = np.empty((4, half.shape[1]))
    steps[0] = np.cos(angle)
    steps[1:] = half * (np.sin(angle) / np.maximum(angle, 1e-12))
    return steps


def integrate(steps: Floats) -> Floats:
    """Running product of rotations, starting with none: shape (4, n) to (4, n + 1).

    Blocks are multiplied side by side, then laid end to end: a few hundred small steps in place
    of n.
    """
    count = steps.shape[1]
    blocks = -(-count // _SCAN)
    padded = np.zeros((4, blocks * _SCAN))
    padded[0] = 1.0
    padded[:, :count] = steps
    inside = np.ascontiguousarray(padded.reshape(4, blocks, _SCAN).transpose(2, 0, 1))
    for i in range(1, _SCAN):
        inside[i] = multiply(inside[i - 1], inside[i])
    starts = np.zeros((4, blocks))
    starts[0, 0] = 1.0
    for block in range(1, blocks):
        starts[:, block] = multiply(starts[:, block - 1], inside[-1, :, block - 1])
    whole = multiply(starts[:, :, None], inside.transpose(1, 2, 0)).reshape(4, -1)
    turned = np.empty((4, count + 1))
    turned[:, 0] = (1.0, 0.0, 0.0, 0.0)
    turned[:, 1:] = whole[:, :count]
    turned /= np.sqrt(np.einsum("ij,ij->j", turned, turned))
    return turned


def slow_mean(values: Floats, rate_hz: float, sd_s: float) -> Floats:
    """Two-sided Gaussian average of (n, k) values, worked out on half-second blocks."""
    size = max(round(_BLOCK_S * rate_hz), 1)
    count = max(len(values) // size, 1)
    edges = np.linspace(0, len(values), count + 1).astype(np.int64)
    sums = np.add.reduceat(values, edges[:-1], axis=0)
    means = gaussian_filter1d(
        sums / np.diff(edges)[:, None], sd_s * rate_hz / size, axis=0, mode="nearest"
    )
    middles, at = (edges[:-1] + edges[1:] - 1) / 2, np.arange(len(values))
    smooth = np.empty(values.shape, order="F")
    for k, column in enumerate(means.T):
        smooth[:, k] = np.interp(at, middles, column)
    return smooth


def attitude_of(accel_ms2: Floats, gyro_rads: Floats | None, rate_hz: float) -> Attitude:
    """Vertical and turn of one unbroken stretch of the log.

    Parameters
    ----------
    accel_ms2 : array, shape (n, 3), m/s²
        Specific force, gravity included.
    gyro_rads : array, shape (n, 3), rad/s, or None
    rate_hz : float, Hz

    Returns
    -------
    Attitude
    """
    if gyro_rads is None:
        return _without_gyroscope(accel_ms2, rate_hz)
    steps = steps_of(gyro_rads, rate_hz)
    turned = integrate(steps)
    slow = slow_mean(rotate(turned, accel_ms2), rate_hz, GRAVITY_SMOOTH_S)
    size = np.sqrt(dot(slow, slow))
    up = rotate(conjugate(turned), slow / np.maximum(size, 1e-9)[:, None])
    hang = _unit(slow_mean(up, rate_hz, POSTURE_SMOOTH_S))
    twist = _twist_steps(steps, up, hang) * rate_hz
    return Attitude(up=up, hang=hang, gravity_ms2=size, twist_rads=np.append(twist, twist[-1:]))


def _without_gyroscope(accel_ms2: Floats, rate_hz: float) -> Attitude:
    slow = slow_mean(accel_ms2, rate_hz, _STILL_AIR_S)
    up = _unit(slow)
    return Attitude(
        up=up,
        hang=_unit(slow_mean(up, rate_hz, POSTURE_SMOOTH_S)),
        gravity_ms2=np.sqrt(dot(slow, slow)),
        twist_rads=np.full(len(up), np.nan),
    )


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.sqrt(dot(vectors, vectors)), 1e-9)[:, None])


def _twist_steps(steps: Floats, up: Floats, hang: Floats) -> Floats:
    """Heading turned in each interval: S_k · step · S_k+1⁻¹ is a turn about ``hang``.

    S_k is the shortest rotation from ``up`` to ``hang``: what undoes the swing.
    """
    swing = shortest(up, hang)
    net = multiply(multiply(swing[:, :-1], steps), conjugate(swing[:, 1:]))
    about = dot(net[1:].T, hang[:-1])
    angle = 2 * np.arctan2(about, net[0])
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def level_axes(
    accel_ms2: Floats, *, up: Floats, hang: Floats, reference: Floats
) -> tuple[Complexes, Floats]:
    """Specific force along two horizontal axes that tilt no more, but turn with the phone.

    Parameters
    ----------
    accel_ms2 : array, shape (n, 3), m/s²
    up, hang : array, shape (n, 3)
        As in :class:`Attitude`.
    reference : array, shape (3,)
        The hang to which the axes are fixed; unit vector.

    Returns
    -------
    array of complex, shape (n,), m/s²
        Axis a as the real part, axis b (a right angle to the left of a) as the imaginary part.
    array of float, shape (n,), m/s²
        Along 'up', gravity included.
    """
    undo = multiply(shortest(hang, np.broadcast_to(reference, hang.shape)), shortest(up, hang))
    force = rotate(undo, accel_ms2)
    a = np.cross(np.eye(3)[int(np.argmin(np.abs(reference)))], reference)
    a /= np.linalg.norm(a)
    b = np.cross(reference, a)
    return force @ a + 1j * (force @ b), dot(accel_ms2, up)
