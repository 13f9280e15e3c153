"""Unit quaternions over whole arrays: rows w, x, y, z; one column per instant.

``scipy.spatial.transform.Rotation`` says the same more shortly, and takes some forty times as long
to multiply a hundred thousand of them; the tests hold the two against each other.
"""

from __future__ import annotations

import numpy as np

from track.path import Floats


def about(axis: int, angle_rad: Floats) -> Floats:
    """Turn about one axis (0, 1, 2 for x, y, z), right-handed; shape (4, n)."""
    turn = np.zeros((4, len(angle_rad)))
    turn[0] = np.cos(angle_rad / 2.0)
    turn[axis + 1] = np.sin(angle_rad / 2.0)
    return turn


def from_vector(vector_rad: Floats) -> Floats:
    """Turn about a vector by its length; (3, n) to (4, n)."""
    half = np.sqrt((vector_rad**2).sum(axis=0)) / 2.0
    return np.vstack([np.cos(half), 0.5 * np.sinc(half / np.pi) * vector_rad])


def inverse(turn: Floats) -> Floats:
    """The turn back."""
    return np.vstack([turn[:1], -turn[1:]])


def after(second: Floats, first: Floats) -> Floats:
    """``first``, then ``second`` (in axes that stay): the product second x first."""
    w2, x2, y2, z2 = second
    w1, x1, y1, z1 = first
    return np.stack(
        [
            w2 * w1 - x2 * x1 - y2 * y1 - z2 * z1,
            w2 * x1 + x2 * w1 + y2 * z1 - z2 * y1,
            w2 * y1 - x2 * z1 + y2 * w1 + z2 * x1,
            w2 * z1 + x2 * y1 - y2 * x1 + z2 * w1,
        ]
    )


def turned(turn: Floats, vector: Floats) -> Floats:
    """Vectors turned; (3, n), or (3, 1) for one vector at all instants."""
    w, (x, y, z) = turn[0], turn[1:]
    vx, vy, vz = vector
    tx, ty, tz = 2 * (y * vz - z * vy), 2 * (z * vx - x * vz), 2 * (x * vy - y * vx)
    return np.stack(
        [
            vx + w * tx + y * tz - z * ty,
            vy + w * ty + z * tx - x * tz,
            vz + w * tz + x * ty - y * tx,
        ]
    )


def steps_rad(turn: Floats) -> Floats:
    """Small turns from each instant to the next, in the turning axes; (4, n) to (3, n - 1)."""
    step = after(inverse(turn[:, :-1]), turn[:, 1:])
    sine = np.sqrt((step[1:] ** 2).sum(axis=0))
    angle = 2.0 * np.arctan2(sine, np.abs(step[0]))
    scale = np.where(sine > 1e-9, angle / np.maximum(sine, 1e-9), 2.0)
    return np.asarray(np.sign(step[0]) * scale * step[1:])
