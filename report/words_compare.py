"""Wording of rides compared: the table, the page and the sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from report.words import listed

TITLE: Final = "Rides compared"
MEASURES: Final[Mapping[str, str]] = {
    "tempo": "tempo",
    "tempo_range": "range of the tempo",
    "stride_time_cv": "stride-time variation",
    "stride_length": "stride length",
    "settled": "time until the tempo settled",
    "out_of_round": "circles out of round",
    "between_strides": "strides between gaits",
}
UNITS: Final[Mapping[str, str]] = {
    "tempo": "strides/min",
    "tempo_range": "strides/min",
    "stride_time_cv": "%",
    "stride_length": "m",
    "settled": "min",
    "out_of_round": "m",
    "between_strides": "strides",
}
REINS: Final[Mapping[str, str]] = {
    "all": "both reins",
    "left": "left rein",
    "right": "right rein",
    "left less right": "left less right",
}
WHOLE_RIDE: Final = "whole ride"
VERDICTS: Final[Mapping[str, str]] = {
    "changed": "changed",
    "none seen": "no change we could have seen",
    "cannot tell": "cannot tell",
}
BEFORE: Final = "before"
AFTER: Final = "after"
LINE_START: Final = "first ride, on the line"
LINE_END: Final = "last ride, on the line"

# what a row's word stands on
TOO_FEW: Final = "{} before and {} after: three or more on either side would tell"
TOO_FEW_LINE: Final = "{}: five or more would tell"
ALL_ALIKE: Final = "every ride has the same value: what differs from day to day is not known"
ONE_SIDE: Final = "not measured in the rides {}"
BY_CHANCE: Final = (
    "its own interval leaves out nought, but among {} rows one may do so by chance; {} would tell"
)
NEEDED: Final = "about {} rides on either side"
MORE_RIDES: Final = "more rides"
MANY_NEEDED: Final = "more rides than a season has"
RIDES: Final[Mapping[int, str]] = {0: "no ride", 1: "one ride"}
RIDES_MANY: Final = "{} rides"

# about the rides as a whole
NAMED: Final = "{}, phone in the {}"
NO_HORSE: Final = "A horse without a name"
NO_POCKET: Final = "pocket not named"
SIDES: Final = "{} before, {} after"
SPLIT: Final[Mapping[str, str]] = {
    "halves": "the first half against the second, in the order given",
    "asked": "the first {} against the rest, in the order given",
    "labels": "“{}” against “{}”",
    "line": "along a straight line from the first ride to the last, in the order given",
}
HORSE_MISSING: Final = (
    "No horse is named in these rides: they are taken as rides of one horse. "
    "--horse, when a ride is analysed, names it."
)
POCKET_MISSING: Final = (
    "No pocket is named in these rides: they are taken as carried alike. Another pocket can look "
    "like another rhythm; --pocket, when a ride is analysed, names it."
)
KINDS_DIFFER: Final = (
    "The rides are not all of one kind ({}): a change may be one of kind, not of the horse."
)
ALONE: Final = "left out: the only ride of {}"
SAME: Final = "left out: the same recording as ride {}"
NO_STRIDES: Final = "left out: no strides were found in it; motion is needed for rhythm"
LABELS_MANY: Final = (
    "The rides have {} different labels: with exactly two, these would be the two groups."
)
TWO_RIDES: Final = (
    "Two rides cannot tell a change: how much this horse differs from one day to the next is not "
    "known from them. Three or more rides on either side would tell."
)
FEW_RIDES: Final = (
    "So few rides cannot tell a change: three or more on either side, better eight, would."
)

# sentences
CHANGED_SAID: Final = (
    "{gait}, {rein}: the {measure} went from {before} to {after} {unit}, a change of {change} "
    "({low} to {high})."
)
CHANGED_TIME: Final = (
    "{gait}: the {measure} went from {before} to {after} {unit}, a change of {change} "
    "({low} to {high})."
)
CHANGED_SIDED: Final = (
    "{gait}: left less right, the {measure} went from {before} to {after} {unit}, a change of "
    "{change} ({low} to {high})."
)
NONE_CHANGED: Final = "Nothing changed that these rides could have shown."
COULD_SEE: Final = (
    "{gait}, tempo on both reins: {word}. A change of {smallest} strides/min would have shown in "
    "8 of 10 such comparisons."
)
PRIMARY_OPEN: Final = "{gait}, tempo on both reins: {word}; {because}."
COUNT_NONE: Final = "{} of {} rows: no change we could have seen."
COUNT_OPEN: Final = "{} of {} rows: cannot tell."

# the page
COMPARE_LEDE: Final = (
    "One ride counts once, however many strides it had. Between the dots lies what differs from "
    "day to day; a change is called only where it stands out from that."
)
TABLE: Final = "{}, all rows by rein"
SHOWN_FROM: Final = "would have shown"
CHANGE: Final = "change"
THE_RIDES: Final = "The rides"
RIDE: Final = "Ride"
LEFT_OUT: Final = "Left out"
HOW: Final = "How it was compared"
HOW_SAID: Final[Sequence[str]] = (
    "Every number is a mean over rides with its 95 % interval (Student's t; the change by Welch's "
    "t): what is claimed of the horse comes from the spread between rides alone.",
    "“Would have shown” is the smallest true change that these rides would have called in 8 of 10 "
    "such comparisons. A smaller one may be there: these rides cannot show it.",
    "At most one comparison in twenty calls anything that did not change: half of that is given "
    "to the tempo on both reins in trot and canter, half is shared by all other rows (Holm). Where "
    "one side has few rides that differ more than three times as much from day to day as the "
    "other's, false calls are more frequent: trust those less.",
    "Both reins take in straight lines; left and right are circles, loops and corners only. A ride "
    "counts in a row when it has 20 strides or more for it. The range is fastest less slowest over "
    "ten strides, nine in ten of all readings.",
)  # fmt: skip
CAUTIONS: Final[Sequence[str]] = (
    "Left and right differ in most horses and on most days, and riders, schools and pockets differ "
    "with them: this is rhythm told by rein, nothing more. If a rhythm is less even than usual and "
    "it is new, repeats or you feel it: stop and ask your vet.",
    "A change is not said to be better or worse: that is for the two of you to see.",
)
CHART_TITLE: Final = "Tempo in {}, both reins, ride by ride"
CHART_SAID: Final = "Strides/min, in the order drawn: {}."
CHART_KEY: Final = (
    "Strides/min against the number of the ride; bars: 95 % within the ride; filled: after; line: "
    "mean or trend."
)
WRITTEN: Final = "The page: {}"
NO_PAGE: Final = "--out compare.html writes the page for the coach."


def rides(count: int) -> str:
    """Number of rides in words.

    Examples
    --------
    >>> rides(1), rides(8)
    ('one ride', '8 rides')
    """
    return RIDES.get(count, RIDES_MANY.format(count))


def of_whom(horse: str | None, pocket: str | None) -> str:
    """A horse and a pocket in words.

    Examples
    --------
    >>> of_whom("Larch", "jacket"), of_whom(None, None)
    ('Larch, phone in the jacket', 'A horse without a name, pocket not named')
    """
    name = horse or NO_HORSE
    return NAMED.format(name, pocket) if pocket else f"{name}, {NO_POCKET}"


def kinds(words: Sequence[str]) -> str:
    """Say that rides of several kinds are compared."""
    return KINDS_DIFFER.format(listed(list(words)))
