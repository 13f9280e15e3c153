"""``result.json``: the tool's findings as plain data, before any page.

The keys are the published interface: more may be added, none renamed or removed.
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field

SCHEMA: Final = "tanbark.result/1"

Gait = Literal["halt", "walk", "trot", "canter", "unknown"]
Rein = Literal["left", "right"]
Verdict = Literal["within", "near", "cannot tell", "outside"]
Kind = Literal["schooling", "lesson", "warm-up", "run-through", "test"]


class Model(BaseModel):
    """Common settings: immutable, no unknown keys, no NaN in the file."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False
    )


class Value(Model):
    """A value with its standard uncertainty, both in the unit of the key."""

    value: float
    sd: float


class Ride(Model):
    """The recording as a whole."""

    duration_s: float
    fix_count: int
    fix_rate_hz: float | None
    motion_rate_hz: float | None
    sources: list[str]
    horse: str | None
    kind: Kind | None
    pocket: str | None
    label: str | None
    clock_offset_s: Value | None = Field(
        description="motion clock minus position clock, any pure delay of the receiver counted in"
    )
    receiver_lag_s: Value | None = Field(
        description="time constant of the first-order low-pass that best describes the receiver"
    )


class NoteRow(Model):
    """One thing to know about the recording."""

    code: str
    text: str
    severity: Literal["info", "warning"]


class RunnerUpRow(Model):
    """The next best placement of the arena."""

    size: Literal["20x40", "20x60"]
    x_lat_deg: float | None
    x_lon_deg: float | None
    bearing_deg: float | None
    log_odds: float = Field(description="how much worse it is, natural log of the odds")


class ArenaRow(Model):
    """Where the arena lies; positions are null in a private result."""

    size: Literal["20x40", "20x60"]
    source: Literal["file", "ride"] = Field(serialization_alias="from", validation_alias="from")
    ends: Literal["known", "unknown"]
    ends_because: str
    x_lat_deg: float | None
    x_lon_deg: float | None
    bearing_deg: float | None
    sd_m: float
    bearing_sd_deg: float
    track_offset_m: Value
    runner_up: RunnerUpRow | None
    because: str = ""
    school_log_odds: float | None = None


class PathRow(Model):
    """The rider's path, at least two points a second."""

    frame: Literal["arena", "local"]
    t_s: list[float]
    x_m: list[float]
    y_m: list[float]
    sd_m: list[float]
    speed_ms: list[float]
    heading_deg: list[float]


class BoutRow(Model):
    """One gait over ``[start_s, end_s)``."""

    gait: Gait
    start_s: float
    end_s: float
    confidence: float
    because: str


class StrideRow(Model):
    """One full cycle of the legs."""

    t_s: float
    duration_s: float
    gait: Gait


class TransitionRow(Model):
    """One change of gait; ``t_s`` is the start of the new gait."""

    from_gait: Gait = Field(serialization_alias="from", validation_alias="from")
    to_gait: Gait = Field(serialization_alias="to", validation_alias="to")
    t_s: float
    t_sd_s: float
    x_m: float | None
    y_m: float | None
    between_strides: float


class EventRow(Model):
    """Something that was not planned."""

    kind: Literal["jog", "break", "stumble", "spook", "phone moved"]
    start_s: float
    end_s: float
    because: str


class SettlesRow(Model):
    """One way that would settle an open verdict."""

    what: str
    more: int | None = Field(description="how many more repeats; null where it is no repeat")


class Finding(Model):
    """One measure of one stretch, with its doubt, band and verdict."""

    measure: str
    of: str | None = Field(description='"ride:2", "change:1" (from 1, in the order of the sheet)')
    start_s: float | None
    end_s: float | None
    gait: Gait | None
    value: float | None
    sd: float | None
    unit: str
    target: float | None
    low: float | None
    high: float | None
    chance_within: float | None
    verdict: Verdict | None
    shown: str
    say: str
    do: str
    because: str
    settles: list[SettlesRow] = Field(
        default_factory=list, description="ways that would settle an open verdict"
    )


class MovementRow(Model):
    """One movement of the sheet as it was found in the ride."""

    number: int
    run: int
    found: bool
    start_s: float | None
    start_sd_s: float | None
    end_s: float | None
    end_sd_s: float | None
    because: str
    findings: list[Finding]


class CourseErrorRow(Model):
    """Where the ride left the test."""

    movement: int
    t_s: float
    x_m: float | None
    y_m: float | None
    text: str


class FigureRow(Model):
    """A circle or half circle found in the ride, with a sheet or without."""

    kind: Literal["circle", "half circle"]
    rein: Rein
    start_s: float
    end_s: float
    movement: int | None
    asked_m: float | None = Field(default=None, description="board to board; null if not asked")
    findings: list[Finding]


class RepeatRow(Model):
    """Repeats of one figure on one rein, pooled: the unit is the repeat."""

    kind: Literal["circle", "half circle"]
    rein: Rein
    gait: Gait
    asked_m: float | None
    count: int
    findings: list[Finding]


class PlantedRow(Model):
    """One size of a planted fault, and the chance that this recording would have shown it."""

    size: float
    chance_shown: float


class DetectionRow(Model):
    """What this recording would have shown of a fault planted into the same ride."""

    fault: Literal["egg", "late", "wobble", "tempo"]
    measure: str
    unit: str
    tried: int = Field(description="how many figures, lines or transitions it was planted into")
    sizes: list[PlantedRow]
    smallest_shown: float | None = Field(description="smallest size shown in 9 of 10; or null")
    sentence: str


class RhythmRow(Model):
    """Rhythm of one gait on one rein."""

    gait: Gait
    rein: Literal["left", "right", "straight", "all"]
    tempo_spm: Value | None
    stride_time_cv_percent: Value | None
    stride_length_m: Value | None
    stride_count: int
    tempo_range_spm: Value | None = Field(
        default=None,
        description="fastest less slowest reading over 10 strides, nine in ten of them",
    )
    instrument_cv_percent: Value | None = Field(
        default=None,
        description="stride-time variation that the phone alone would show; already taken out",
    )
    stride_time_cv_interval_percent: tuple[float, float] | None = Field(
        default=None,
        description="95 % interval of the variation of ever so many strides like these",
    )
    stride_regularity: Value | None = Field(
        default=None,
        description="autocorrelation of the vertical a stride on, mean over readings of 10 strides",
    )


class PartRow(Model):
    """Time and strides of one gait on one rein, or straight."""

    gait: Gait
    rein: Literal["left", "right", "straight"]
    seconds: float
    stride_count: int


class TimeIn(Model):
    """Seconds per gait and per rein."""

    halt_s: float
    walk_s: float
    trot_s: float
    canter_s: float
    unknown_s: float
    left_rein_s: float | None
    right_rein_s: float | None
    straight_s: float | None
    parts: list[PartRow] = Field(default_factory=list, description="gait by rein; needs a path")


class WarmUp(Model):
    """The shape of the session, described and never graded."""

    first_trot_s: float | None
    first_canter_s: float | None
    walk_breaks: int
    longest_without_walk_break_s: float | None
    changes_of_rein: int | None
    settled_s: float | None = Field(
        description="from then on the tempo of the working gait stays within its later spread"
    )
    settled_sd_s: float | None = None
    settled_after_s: Value | None = Field(
        default=None, description="the same from the first stride of the working gait"
    )
    settled_gait: Gait | None = None
    settled_because: str = ""


class RatingRow(Model):
    """Verdict counts per rein, a pooled value and one sentence: never a single score."""

    name: Literal["circle_shape", "rhythm_regularity", "transition_placement"]
    counts: dict[Literal["left", "right", "straight"], dict[str, int]]
    pooled: Value | None
    unit: str
    sentence: str


class Ratings(Model):
    """The three overall ratings."""

    circle_shape: RatingRow | None
    rhythm_regularity: RatingRow | None
    transition_placement: RatingRow | None


class SheetRow(Model):
    """The sheet the ride was compared with, for the pages."""

    title: str
    arena: Literal["20x40", "20x60"]
    level: str
    movement_count: int


class Result(Model):
    """The whole of ``result.json``."""

    schema_name: Literal["tanbark.result/1"] = Field(
        default=SCHEMA, serialization_alias="schema", validation_alias="schema"
    )
    ride: Ride
    notes: list[NoteRow]
    sheet: SheetRow | None
    arena: ArenaRow | None
    path: PathRow | None
    bouts: list[BoutRow]
    strides: list[StrideRow]
    transitions: list[TransitionRow]
    events: list[EventRow]
    movements: list[MovementRow]
    course_errors: list[CourseErrorRow]
    figures: list[FigureRow]
    repeats: list[RepeatRow] = Field(default_factory=list)
    rhythm: list[RhythmRow]
    time_in: TimeIn
    warm_up: WarmUp
    ratings: Ratings
    detection: list[DetectionRow] | None = Field(
        default=None, description="null unless it was asked for"
    )
