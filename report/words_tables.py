"""Wording of the tables of a page: transitions, tempo, reins, session, notes, every number."""

from __future__ import annotations

from typing import Final

# transitions
TRANSITIONS_TITLE: Final = "Transitions"
TRANSITIONS_LEDE: Final = (
    "When each new gait began, where, and how many strides lay between the two."
)
NEAR: Final = "near {}"
TRANSITIONS_MORE: Final = "{} more; the rider's page has them all."
TRANSITIONS_ALL: Final = "All {} transitions of the ride"
AFTER_THE_A: Final = "after A"
INTO_THE_RIDE: Final = "into the ride"
T_CHANGE: Final = "from, to"
T_PLACE: Final = "where"
T_BETWEEN: Final = "strides between"
TRANSITIONS_NONE: Final = "No transition was found."

# tempo
TEMPO_TITLE: Final = "Tempo over time"
TEMPO_LEDE: Final = "Strides a minute, the median of nine at a time."
TEMPO_AXIS: Final = "strides a minute"
TIME_AXIS: Final = "minutes into the ride"
THE_TEST: Final = "the test"
ZOOM: Final = "Draw it large, to zoom"
ZOOM_HINT: Final = "Drag across the drawing to zoom, double click to return."
TEMPO_SAID: Final = "{}: mostly between {:.0f} and {:.0f} strides a minute."
BEATS: Final = (
    "In trot a stride is two beats: 79 strides a minute are 158 beats. Your own rise and sit is "
    "taken out; whether you rise is not told."
)

# reins
REINS_TITLE: Final = "The reins side by side"
REINS_LEDE: Final = (
    "Of this ride alone: a difference is named where it is larger than its doubt, however small."
)
NO_DIFFERENCE: Final = "none we could see"
DIFFERENCE: Final = "{} more by {}"
MORE: Final = {True: "left", False: "right"}
REIN_ROWS: Final = {
    "tempo_spm": "{} tempo, strides/min",
    "stride_length_m": "{} stride, m",
    "stride_time_cv_percent": "{} stride-time variation, %",
}
REINS_NONE: Final = "No rhythm was measured on both reins."
R_DIFFERENCE: Final = "difference"
MINUTES_GAIT: Final = "Minutes in each gait"
MINUTES_REIN: Final = "Minutes on each rein"
EVENTS_TITLE: Final = "Not planned"
RATINGS_TITLE: Final = "Three things over the whole ride"

# warm-up and session
SESSION_TITLE: Final = "The session"
FIRST_TROT: Final = "First trot {} into the ride."
FIRST_CANTER: Final = "First canter {} into the ride."
WALK_BREAKS: Final = {0: "No walk break.", 1: "One walk break."}
WALK_BREAKS_MANY: Final = "{} walk breaks."
LONGEST: Final = "The longest spell without one: {} minutes."
CHANGES_OF_REIN: Final = {0: "No change of rein.", 1: "One change of rein."}
CHANGES_OF_REIN_MANY: Final = "{} changes of rein."
SETTLED: Final = "The tempo had settled {} into the ride."
SETTLED_IN: Final = "The tempo in {} had settled {{}} into the ride."
SETTLED_AT_ONCE: Final = "The tempo in {} was settled from its first strides{}."
SETTLED_SD: Final = " ± {}"
NOT_SETTLED: Final = "When the tempo had settled cannot be told: {}."
PARTS: Final = "Gait by rein"
P_GAIT: Final = "Gait"
P_REIN: Final = "Rein"
P_MINUTES: Final = "Minutes"
P_STRIDES: Final = "Strides"
SESSION_LEDE: Final = "Described, never graded: how long and how to warm up is your own system."

# plan of everything, notes, limits
WHOLE_RIDE: Final = "The whole ride on one plan"
WHOLE_RIDE_WARNING: Final = (
    "Every minute at once. It is a tangle, and it is here because you asked."
)
NOTES_TITLE: Final = "Notes on the recording"
A_FILE: Final = "the file"
NOTES_NONE: Final = "Nothing out of the ordinary."
NOT_SEEN_TITLE: Final = "What a phone cannot see"
NOT_SEEN: Final = (
    "Bend, contact, outline, stretch, whether a halt is square, the hind quarters, the purity of "
    "the beat (lateral walk, four-beat canter), disunited, above the bit, tension and the rider's "
    "seat. The lead of a canter is left out. None of these is rated here, and "
    "a judge who saw them is never argued with."
)
CAUTIONS_TITLE: Final = "Cautions"
CAUTIONS: Final = (
    "The phone goes on you, in a zipped pocket, never on the saddle. Never look at it mounted.",
    "Check the rules before you wear it in a competition arena.",
    "Few repeats, both reins, walk breaks between.",
    "If the rhythm is less even than your usual: there are many harmless reasons. If it is new, "
    "repeats, or you feel it, stop and ask your vet.",
    "Nothing here is a judge's mark. Coach, vet and the rules of the place come first.",
)
CURIOUS_TITLE: Final = "For the curious"
CURIOUS_LEDE: Final = (
    "Every number with its standard uncertainty and its key in result.json. A chance is that of "
    "the true value lying in the band."
)
CURIOUS_OPEN: Final = "Open the tables"
RHYTHM_NAMES: Final = {
    "tempo_spm": ("tempo", "strides/min"),
    "stride_time_cv_percent": ("stride-time variation", "%"),
    "stride_length_m": ("stride length", "m"),
    "instrument_cv_percent": ("the phone's own share of the variation, taken out", "%"),
    "stride_regularity": ("regularity from stride to stride, by autocorrelation", ""),
}
C_WHERE: Final = "where"
C_WHAT: Final = "what"
C_VALUE: Final = "value"
C_SD: Final = "sd"
C_UNIT: Final = "unit"
C_TARGET: Final = "target"
C_BAND: Final = "band"
C_CHANCE: Final = "chance within"
C_VERDICT: Final = "verdict"
C_KEY: Final = "key"
THE_RIDE: Final = "the ride"
THE_SCHOOL: Final = "the school"
CLOCK_OFFSET: Final = "motion clock less position clock"
RECEIVER_LAG: Final = "the receiver's own smoothing"
TRACK_OFFSET: Final = "the rider inside the boards"
