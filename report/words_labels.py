"""What gaits, reins, verdicts, measures and events are called."""

from __future__ import annotations

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
