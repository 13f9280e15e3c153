"""What a made-up ride is like: horse, rider, pocket, phone, receiver and place.

Every field is an input of the simulator and part of the ride's truth. The figures behind the
defaults and the spreads: gaits after Clayton (Equine Vet J 1994;26:230 and Suppl 1994;17:16)
[recalled], size after Froude scaling, positions after open phone recordings [measured].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeVar

import numpy as np
from numpy.random import Generator

T = TypeVar("T")
Seat = Literal["rising", "sitting"]
Pocket = Literal["thigh", "jacket", "chest"]
NoiseGrade = Literal["none", "good", "typical", "poor", "bound_table"]
Before = Literal["boards", "outside", "none"]

REFERENCE_WITHERS_M: Final = 1.65
"""Height of the horse whose stride rates the published table gives [recalled]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One ride's circumstances; the defaults are a well recorded, ordinary ride.

    Attributes
    ----------
    withers_m : float, m
        Height at the withers; rates scale with its inverse square root, speeds with its root.
    rate_factor, speed_factor : float
        This horse's own stride rate and speed against the scaled table.
    stride_cv : float
        Standard deviation over mean of stride durations within a bout.
    seat : {"rising", "sitting"}
        Trot of the rider; the diagonal is changed with the rein.
    imperfection : float
        Scales every imperfection of the ridden line; 0 rides the ideal line.
    placement_sd_m : float, m
        Spread of the onsets of new gaits about the letters.
    before, laps, lap_gait, after : what is ridden outside the test
        ``"boards"`` starts with laps along the boards, one per rein in turn.
    handling : bool
        The phone is put into the pocket at the start and taken out at the end.
    pocket : {"thigh", "jacket", "chest"}
    orientation_deg : (float, float, float), degrees
        Intrinsic z, y, x angles of the phone's axes in the rider's (forward, left, up).
    swing : float
        Scales how far the phone swings in the pocket.
    slip_after_s : float or None, s
        The phone slips to another orientation this long after the start of the test.
    motion_rate_hz, gyro, gravity : what is logged of the motion
    motion_start_s, fixes_start_s : float, s
        Neither log begins before this long after the ride's start.
    motion_gaps : int
        Times the motion log drops out for 0.3 to 2 s.
    gyro_bias_rads, gyro_scale : faults of the gyroscope
    fix_interval_s, speed_and_course, course : what is logged of the positions
        ``course`` False leaves speed alone.
    speed_scale : float
        Reported speed over true speed.
    noise : {"none", "good", "typical", "poor", "bound_table"}
        Grade of the position noise (``sample_rides.noise.GRADES``).
    receiver_lag_s : float, s
        Time constant of the receiver's own first-order smoothing.
    receiver_delay_s : float, s
        Pure delay of the positions.
    clock_offset_s : float, s
        Motion stamps less position stamps, before the receiver's delay.
    clocks_shared : bool
        False: motion is stamped in seconds since boot.
    wild_first_fixes, wild_share, freezes, gaps : faults of the positions
    lat_deg, lon_deg, bearing_deg : where X lies and where C is from A
    start_epoch_s : int, s
        UTC of the log's start, seconds since 1970.
    """

    withers_m: float = 1.60
    rate_factor: float = 1.0
    speed_factor: float = 0.95
    stride_cv: float = 0.02
    seat: Seat = "rising"
    imperfection: float = 1.0
    placement_sd_m: float = 1.5
    before: Before = "boards"
    laps: int = 1
    lap_gait: Literal["walk", "trot"] = "walk"
    after: bool = True
    handling: bool = True
    pocket: Pocket = "jacket"
    orientation_deg: tuple[float, float, float] = (25.0, -60.0, 10.0)
    swing: float = 1.0
    slip_after_s: float | None = None
    motion_rate_hz: float = 50.0
    gyro: bool = True
    gravity: bool = True
    motion_start_s: float = 0.0
    fixes_start_s: float = 1.0
    motion_gaps: int = 0
    gyro_bias_rads: tuple[float, float, float] = (0.004, -0.003, 0.002)
    gyro_scale: float = 1.0
    fix_interval_s: float = 1.0
    speed_and_course: bool = True
    course: bool = True
    speed_scale: float = 1.0
    noise: NoiseGrade = "typical"
    receiver_lag_s: float = 0.5
    receiver_delay_s: float = 0.0
    clock_offset_s: float = 0.0
    clocks_shared: bool = True
    wild_first_fixes: int = 2
    wild_share: float = 0.0
    freezes: bool = True
    gaps: int = 1
    lat_deg: float = 52.0
    lon_deg: float = 5.0
    bearing_deg: float = 30.0
    start_epoch_s: int = 1_716_000_000

    @classmethod
    def drawn(cls, seed: int) -> Scenario:
        """Draw a scenario from the whole population of horses, riders, phones and places.

        Parameters
        ----------
        seed : int
            The same seed gives the same scenario.
        """
        rng = np.random.default_rng([seed, 7919])
        return _with_positions(_with_phone(_with_horse_and_rider(cls(), rng), rng), rng)

    @classmethod
    def bound_table(cls) -> Scenario:
        """Noise of the accuracy targets: slow error 2 m over 60 s, white 0.5 m, speed 0.2 m/s.

        At 1 Hz; no course, no lag, nothing frozen, wild or missing; two laps along the boards.
        """
        return cls(
            noise="bound_table",
            laps=2,
            course=False,
            receiver_lag_s=0.0,
            wild_first_fixes=0,
            freezes=False,
            gaps=0,
        )


def _pick(rng: Generator, options: Sequence[T]) -> T:
    return options[int(rng.integers(len(options)))]


def _with_horse_and_rider(base: Scenario, rng: Generator) -> Scenario:
    return replace(
        base,
        withers_m=float(rng.uniform(1.20, 1.75)),
        rate_factor=float(np.clip(rng.normal(1.0, 0.06), 0.85, 1.15)),
        speed_factor=float(np.clip(rng.normal(0.95, 0.06), 0.82, 1.1)),
        stride_cv=float(rng.uniform(0.01, 0.03)),
        seat=_pick(rng, ["rising", "sitting"]),
        imperfection=float(rng.uniform(0.6, 1.4)),
        before=_pick(rng, ["boards", "boards", "boards", "outside"]),
        laps=int(rng.integers(1, 3)),
        lap_gait=_pick(rng, ["walk", "walk", "walk", "trot"]),
        after=bool(rng.random() < 0.8),
        handling=bool(rng.random() < 0.8),
    )


def _with_phone(base: Scenario, rng: Generator) -> Scenario:
    bias = rng.normal(0.0, 0.008, 3)
    yaw, roll = rng.uniform(-180.0, 180.0, 2)
    pitch = np.degrees(np.arcsin(rng.uniform(-1.0, 1.0)))
    return replace(
        base,
        pocket=_pick(rng, ["thigh", "jacket", "chest"]),
        orientation_deg=(float(yaw), float(pitch), float(roll)),
        swing=float(rng.uniform(0.4, 1.5)),
        slip_after_s=float(rng.uniform(20.0, 200.0)) if rng.random() < 0.1 else None,
        motion_rate_hz=_pick(rng, [50.0, 100.0]),
        gyro=bool(rng.random() < 0.85),
        gravity=bool(rng.random() < 0.7),
        gyro_bias_rads=(float(bias[0]), float(bias[1]), float(bias[2])),
        gyro_scale=float(1.0 + rng.normal(0.0, 0.01)),
        motion_start_s=float(rng.uniform(0.0, 40.0)) if rng.random() < 0.2 else 0.0,
        motion_gaps=_pick(rng, [0, 0, 1, 2]),
    )


def _with_positions(base: Scenario, rng: Generator) -> Scenario:
    return replace(
        base,
        fix_interval_s=_pick(rng, [1.0, 1.0, 0.5, 2.0]),
        speed_and_course=bool(rng.random() < 0.7),
        noise=_pick(rng, ["good", "typical", "typical", "poor"]),
        receiver_lag_s=float(rng.uniform(0.0, 1.5)),
        receiver_delay_s=float(rng.uniform(0.0, 1.0)) if rng.random() < 0.5 else 0.0,
        clock_offset_s=float(rng.uniform(-15.0, 15.0)),
        clocks_shared=bool(rng.random() < 0.75),
        wild_first_fixes=int(rng.integers(0, 7)),
        wild_share=_pick(rng, [0.0, 0.0, 0.02]),
        speed_scale=float(rng.normal(1.0, 0.01)),
        fixes_start_s=float(rng.uniform(0.0, 40.0)) if rng.random() < 0.2 else 1.0,
        gaps=int(rng.integers(0, 3)),
        lat_deg=float(rng.uniform(-50.0, 62.0)),
        lon_deg=float(rng.uniform(-179.0, 179.0)),
        bearing_deg=float(rng.uniform(0.0, 360.0)),
        start_epoch_s=int(1_700_000_000 + rng.integers(0, 40_000_000)),
    )
