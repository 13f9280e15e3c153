"""All wording of the pages, in one place so that it can be translated.

Sentences about findings are not here: they come with the result (``shown``, ``say``, ``do``,
``because``).
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Final

LANGUAGE: Final = "en"

GAITS: Final = {
    "halt": "halt", "walk": "walk", "trot": "trot", "canter": "canter", "unknown": "not known",
}  # fmt: skip
REINS: Final = {
    "left": "left rein", "right": "right rein", "straight": "straight", "all": "both reins",
}  # fmt: skip
VERDICTS: Final = {
    "within": "within", "near": "about right", "outside": "outside", "cannot tell": "cannot tell",
    None: "measured",
}  # fmt: skip
MEASURES: Final = {
    "diameter": "size",
    "width": "width",
    "out_of_round": "roundness",
    "length_minus_width": "longer than wide",
    "quarter_spread": "strides per quarter",
    "second_half": "second half against the first",
    "centre_offset": "place of the circle",
    "corner_radius": "corner",
    "turn_radius": "turn",
    "corner_depth": "depth of the corner",
    "corner_contrast": "corner against circle",
    "overshoot": "overshoot",
    "leave_place": "leaving the track",
    "arrive_place": "reaching the track",
    "loop_depth": "depth of the loop",
    "loop_spread": "loops alike",
    "crossing_angle": "crossing the centre line",
    "wander": "straightness",
    "heading_wobble": "steadiness of the line",
    "line_offset": "distance from the line",
    "placement": "place of the transition",
    "between_strides": "strides between gaits",
    "settle_strides": "strides until it settled",
    "rush": "tempo before the transition",
    "halt_time": "standing time",
    "halt_place": "place of the halt",
    "tempo": "tempo",
    "tempo_change": "change of tempo",
    "tempo_range": "range of tempo",
    "stride_time_cv": "stride-time variation",
    "stride_length_ratio": "stride length",
    "jog_strides": "jog",
    "break_strides": "break",
}
EVENTS: Final = {
    "jog": "Jog", "break": "Break", "stumble": "Stumble", "spook": "Spook",
    "phone moved": "The phone moved",
}  # fmt: skip
RATINGS: Final = {
    "circle_shape": "Circle shape",
    "rhythm_regularity": "Regularity of the rhythm",
    "transition_placement": "Place of the transitions",
}
KINDS: Final = {
    "schooling": "schooling", "lesson": "lesson", "warm-up": "warm-up",
    "run-through": "run-through", "test": "test",
}  # fmt: skip

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
MOVEMENT: Final = "Movement\u00a0{}"
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
BEATS: Final = "In trot a stride is two beats: 79 strides a minute are 158 beats."

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


def judge_sentence(mark: Decimal | None, remark: str, underlined: str, felt: Decimal | None) -> str:
    """What a judge gave and wrote, and what the rider had felt.

    Examples
    --------
    >>> judge_sentence(Decimal("6.5"), "late", "", Decimal("7"))
    'The judge gave 6.5 and wrote “late”; it had felt like 7.'
    """
    said = []
    if mark is not None:
        said.append(f"gave {mark}")
    if remark:
        said.append(f"wrote “{remark}”")
    if underlined:
        said.append(f"underlined “{underlined}”")
    judge = f"The judge {listed(said)}" if said else ""
    rider = f"it had felt like {felt}" if felt is not None else ""
    line = "; ".join(part for part in (judge, rider) if part)
    return f"{line[:1].upper()}{line[1:]}." if line else ""


def folded(count: int, why: bool) -> str:
    """What a row folds away: the ground of its sentence, and how many more findings.

    Examples
    --------
    >>> folded(0, True), folded(7, True), folded(1, False)
    ('Why', 'Why, and 7 more findings', 'One finding')
    """
    number = "one" if count == 1 else str(count)
    more = " more" if why else ""
    findings = f"{number}{more} finding{'s' if count > 1 else ''}"
    if count == 0:
        return "Why"
    return f"Why, and {findings}" if why else f"{findings[0].upper()}{findings[1:]}"


def mark_of(movement: int | None, name: str) -> str:
    """What a mark is for."""
    return name.capitalize() if movement is None else MOVEMENT.format(movement)


def untold_sentence(near: int, untold: int, way: str, settled: int) -> str:
    """How many findings are open, and what would settle most of them.

    Examples
    --------
    >>> untold_sentence(2, 5, "a walk lap along the boards", 4)
    '5 findings cannot be told. A walk lap along the boards would settle 4 of them. 2 more are \
about right, finer than a phone can tell.'
    """
    said = []
    if untold:
        said.append(
            "One finding cannot be told." if untold == 1 else f"{untold} findings cannot be told."
        )
        if way:
            some = "one" if settled == 1 else f"{settled}"
            of_them = "it" if untold == 1 else "all" if settled == untold else some
            of_them += " of them" if untold > 1 else ""
            said.append(f"{way[0].upper()}{way[1:]} would settle {of_them}.")
    if near:
        more = " more" if untold else ""
        said.append(
            f"One{more} is about right, finer than a phone can tell."
            if near == 1
            else f"{near}{more} are about right, finer than a phone can tell."
        )
    return " ".join(said)


def clock(seconds: float) -> str:
    """Minutes and seconds of a stretch of time.

    Examples
    --------
    >>> clock(83.4)
    '1:23'
    """
    whole = round(seconds)
    sign = "−" if whole < 0 else ""
    return f"{sign}{abs(whole) // 60}:{abs(whole) % 60:02d}"


def minutes(seconds: float | None) -> str:
    """Minutes to a tenth, for a table.

    Examples
    --------
    >>> minutes(150)
    '2.5'
    """
    return "–" if seconds is None else f"{seconds / 60:.1f}"


def minutes_line(lines: Iterable[tuple[str, str]]) -> str:
    """Minutes in one line.

    Examples
    --------
    >>> minutes_line([("walk", "2.5"), ("trot", "4.3")])
    'Walk 2.5, trot 4.3.'
    """
    words = ", ".join(f"{name} {time}" for name, time in lines)
    return f"{words[:1].upper()}{words[1:]}."


def listed(words: list[str]) -> str:
    """A list as it is said.

    Examples
    --------
    >>> listed(["walk", "trot", "canter"])
    'walk, trot and canter'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
