"""All wording of the pages, in one place so that it can be translated.

Names of things, tables and sentences that are put together have modules of their own
(``words_labels``, ``words_tables``, ``words_said``). Sentences about findings are not here: they
come with the result (``shown``, ``say``, ``do``, ``because``).
"""

from __future__ import annotations

from typing import Final

# the head of the page
TITLE_NO_SHEET: Final = "A ride"
TITLE_NO_SCHOOL: Final = "A ride, without a school"
COACH_TITLE: Final = "For the coach"
SKIP: Final = "To the test"
ON_THIS_PAGE: Final = "On this page"
HOW_IT_IS_DRAWN: Final = "How it is drawn"
LEGEND_ASKED: Final = "asked for"
LEGEND_BAND: Final = "where the line may have been, 95 in 100"
LEGEND_ONSET: Final = "new gait begins, and its doubt"
LEGEND_QUARTER: Final = "quarter of a circle, its strides inside"
LEGEND_WINDOW: Final = "change asked for here"

SKIP_FIGURES: Final = "To the figures"
SCHOOL_SIZE: Final = "{} m school"
LASTED: Final = "{} minutes recorded"
FIXES: Final = "A position every {:.1f} s."
MOTION: Final = "Motion {:.0f} times a second."
NO_POSITIONS: Final = "No positions: gaits and rhythm only, no line."
NO_MOTION: Final = "No motion: gaits are coarse and strides are not counted."
LINE_KNOWN: Final = "A point of the line is known to ± {:.1f} m."

# the first screen
WORDS_TITLE: Final = "In words"
WELL: Final = "What went well"
NOTHING_RATED: Final = (
    "Nothing was rated: this recording has no figure or transition to hold against a band."
)
WELL_NONE: Final = "Nothing could be called good or bad with enough certainty."
SCHOOL: Final = {
    0: "What to school",
    1: "One thing to school",
    2: "Two things to school",
    3: "Three things to school",
}
NO_HOMEWORK: Final = (
    "Something was outside its band, see the rows below; no homework is offered for it."
)
SCHOOL_NONE: Final = "Nothing was outside what its level allows, as far as this recording can tell."
UNTOLD: Final = "What cannot be told"
UNTOLD_NONE: Final = "Everything rated could be told one way or the other."
OFFERED: Final = "Offered, not ordered: you and your coach know the horse."

# the sheet
TEST_TITLE: Final = "The test, mark by mark"
TEST_LEDE: Final = (
    "Each row is one mark of the sheet: the thin line was asked for, the brown line was ridden."
)
RUN: Final = "Ridden for the {} time"
ORDINALS: Final = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth"}
AFTER_A: Final = "{} after A"
INTO_RIDE: Final = "{} into the ride"
COEFFICIENT: Final = "coefficient {}"
FILLED: Final = "on the way: {}"
OF_OTHERS: Final = "Transitions of other movements"
MARK_FOR: Final = "A mark for what was asked elsewhere; see"
NOT_FOUND: Final = "Not found in the ride."
NO_FINDING: Final = "Nothing was measured here."
ROW_NEAR: Final = "About right: {}"
ROW_UNTOLD: Final = "Cannot be told: {}"
ROW_SETTLES: Final = "; {} would settle most"
ROW_MISSING: Final = "Not measured: {}"
STRIDES_PER_QUARTER: Final = "strides"
OVERVIEW: Final = "The whole test"
MOVEMENTS: Final = "Movements"
UNDERLINED: Final = "underlined"
PERCENT: Final = "The judge's sheet comes to {} %."
PHONE_ADDS: Final = "What the phone can add"
COURSE_ERROR: Final = "Error of course"
NOT_FOUND_ONE: Final = "Movement {} was not found in the ride."
NOT_FOUND_MANY: Final = "Movements {} were not found in the ride."
IN_RUN: Final = " ({} riding)"

# figures
FIGURES_TITLE: Final = "The figures, by rein"
FIGURES_LEDE: Final = (
    "Every circle and half circle that was found; no sheet was given to compare them with."
)
COACH_FIGURES_LEDE: Final = "Those outside their band and the first of each rein, in riding order."
FIGURES_MORE: Final = "{} more on this rein"
FIGURE_DESC: Final = "The ridden line, with its quarters and the strides each took."
FIGURES_NONE: Final = "No circle or half circle was found."
CIRCLES_TITLE: Final = "Left and right circles, folded together"
CIRCLES_LEDE: Final = (
    "The right circles are turned over onto the left ones, each about its own middle, all begun "
    "at the same point. Where the two hands part, the reins differ."
)
FOLDED_TITLE: Final = "{:g} m circles in {}, left and right folded together"
FOLDED_DESC: Final = "{} on the left rein, {} on the right rein turned over onto them."
FOLDED_CAPTION: Final = "{:g} m in {}: {} left, {} right"
BEGINS: Final = "begins"
LEFT_LINE: Final = "left rein"
RIGHT_LINE: Final = "right rein, turned over"
REPEATS_TITLE: Final = "Repeats, taken together"
REPEATS_LEDE: Final = (
    "One circle says how that circle was ridden. Several say how you ride them: only these tell "
    "of you and the horse."
)
REPEATS: Final = "{} times {} {} in {}"
REPEATS_ASKED: Final = ", asked {:g} m"
DETECTION_TITLE: Final = "What this recording would have shown"
DETECTION_LEDE: Final = (
    "Faults of known size were planted into your own ride, to see which it would have shown."
)
DETECTION_TABLE: Final = "Size by size"
D_FAULT: Final = "fault planted"
D_SIZE: Final = "size"
D_CHANCE: Final = "chance that it would have shown"
FAULTS: Final = {
    "egg": "a circle longer than wide", "late": "a transition late",
    "wobble": "a wobble on a line", "tempo": "a change of tempo",
}  # fmt: skip

# the coach's page
QUALITY: Final = "How good the recording is"
MINUTES: Final = "Minutes"
JUDGE_AND_PHONE: Final = "The judge's remarks, and what the phone can add"
J_MOVEMENT: Final = "movement"
J_MARK: Final = "mark"
J_REMARK: Final = "remark"
FELT_ONE: Final = "{} felt like {}"
FELT_JUDGE: Final = "(the judge gave {})"
FEELING: Final = "How it felt"
COACH_NOTE: Final = "The coach's note"

# the slip
CARD_TITLE: Final = "Before the test"
CARD_ENTER: Final = "Enter in {}."
CARD_REIN: Final = "First turn {}."
CARD_KEEP: Final = "Keep"
CARD_CHANGE: Final = "Change"
CARD_TIMES: Final = "Backwards from the start"
CARD_BEFORE: Final = "{} min before"
CARD_BETWEEN: Final = "{} minutes between the two tests."
CARD_STEPS: Final = {
    "tack": "tack up", "walk": "mount, walk", "walk on": "walk, long rein",
    "trot": "trot, both reins", "canter": "canter, both reins", "ring": "at the ring, walk",
}  # fmt: skip
CARD_LASTS: Final = "minutes, the test"
CARD_TEMPO_TROT: Final = "strides a minute in {}: {} beats"
CARD_TEMPO: Final = "strides a minute in {}"
CARD_CAUTION: Final = (
    "This slip never needs a phone. Check the rules before you wear one in a competition arena. "
    "Your horse, your coach and the steward come before any time written here."
)
