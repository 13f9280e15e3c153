"""The slip for the minutes before a test: large type, on paper, no phone needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from report import words_labels as labels
from report import words_page as w
from report import words_said as sentences
from report.card_times import (
    WARM_UP_MIN,
    Step,
    gap_minutes,
    steps_before,
    time_of_day,
)
from report.headline import headline
from report.look import environment, security_policy
from report.page_words import words_of_pages
from report.result import Gait, Result, RhythmRow
from report.words import capital
from track.floorplan import Speeds, call_sheet
from track.layout import Layout
from track.sheet import Movement

COMMANDS: Final = 4
NUMBERS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One test's slip, ready to be printed.

    Attributes
    ----------
    title, start, enter, rein : str
        ``start`` and ``rein`` may be empty.
    commands : tuple of (str, str)
        Number and words of the first marks.
    numbers : tuple of (str, str)
        At most three: the number, and what it is.
    keep, change : str
        From the rider's own rides; empty without them.
    steps : tuple of (str, str)
        Time and what to begin.
    between : str
        How long there is between two tests; may be empty.
    """

    title: str
    start: str
    enter: str
    rein: str
    commands: tuple[tuple[str, str], ...]
    numbers: tuple[tuple[str, str], ...]
    keep: str
    change: str
    steps: tuple[tuple[str, str], ...]
    between: str = ""


def render_card(
    layouts: Sequence[Layout], starts: Sequence[int | None], results: Sequence[Result]
) -> str:
    """Write the slip of one or two tests.

    Parameters
    ----------
    layouts : sequence of Layout
        One or two sheets, in the order they are ridden.
    starts : sequence of int or None, min
        Start of each, minutes after midnight.
    results : sequence of Result
        The rider's own rides, latest last; may be empty.

    Returns
    -------
    str
        One self-contained HTML page.
    """
    slips = [_slip(layouts, starts, results, i) for i in range(len(layouts))]
    template = environment().get_template("card.html.j2")
    return template.render(w=words_of_pages(), slips=slips, policy=security_policy())


def _slip(
    layouts: Sequence[Layout], starts: Sequence[int | None], results: Sequence[Result], index: int
) -> Slip:
    layout, start = layouts[index], starts[index]
    own = _own_ride(layout, results)
    keep, change = _keep_and_change(own, layout)
    gap = gap_minutes(starts, _seconds(layouts[0], own)) if index else None
    steps = steps_before(
        canter="canter" in layout.gait, minutes=gap if gap is not None else WARM_UP_MIN,
        mounted=index > 0,
    )  # fmt: skip
    return Slip(
        title=layout.sheet.title,
        start=time_of_day(start) if start is not None else "",
        enter=w.CARD_ENTER.format(labels.GAITS[layout.sheet.enter]),
        rein=_first_rein(layout),
        commands=tuple(
            (str(m.number), capital(command(m))) for m in layout.sheet.movements if not m.of
        )[:COMMANDS],
        numbers=_numbers(layout, own)[:NUMBERS],
        keep=keep,
        change=change,
        steps=tuple(_step(step, start) for step in steps),
        between=w.CARD_BETWEEN.format(gap) if gap is not None and start is not None else "",
    )


def _own_ride(layout: Layout, results: Sequence[Result]) -> Result | None:
    """The latest ride of this sheet, else the latest of all."""
    of_sheet = [r for r in results if r.sheet is not None and r.sheet.title == layout.sheet.title]
    own = of_sheet or list(results)
    return own[-1] if own else None


def _keep_and_change(own: Result | None, layout: Layout) -> tuple[str, str]:
    if own is None:
        return "", ""
    same = own.sheet is not None and own.sheet.title == layout.sheet.title
    head = headline(own, layout if same else None)
    keep = next((told.finding.say for told in head.well), "")
    change = next((told.finding.do for told in head.school if told.finding.do), "")
    return keep, change


def command(movement: Movement) -> str:
    """A mark's words as a caller would read them."""
    return movement.text or ", ".join([*movement.ride, *movement.change])


def _first_rein(layout: Layout) -> str:
    """The hand the test turns onto first."""
    reins = [s.rein for m in layout.movements for s in m.stretches if s.rein is not None]
    return w.CARD_REIN.format(reins[0]) if reins else ""


def _seconds(layout: Layout, own: Result | None) -> float:
    speeds = Speeds()
    if own is not None:
        tempo = {row.gait: row for row in own.rhythm if row.rein == "all"}
        speeds = Speeds(
            walk_ms=_own_speed(tempo.get("walk"), speeds.walk_ms),
            trot_ms=_own_speed(tempo.get("trot"), speeds.trot_ms),
            canter_ms=_own_speed(tempo.get("canter"), speeds.canter_ms),
        )
    return call_sheet(layout, speeds).total_s


def _own_speed(row: RhythmRow | None, usual_ms: float) -> float:
    """Tempo times stride length, where both were measured."""
    if row is None or row.tempo_spm is None or row.stride_length_m is None:
        return usual_ms
    return row.tempo_spm.value * row.stride_length_m.value / 60


def _numbers(layout: Layout, own: Result | None) -> tuple[tuple[str, str], ...]:
    """How long the test takes, and her own tempo in its working gaits."""
    out = [(sentences.clock(_seconds(layout, own)), w.CARD_LASTS)]
    gaits: tuple[Gait, ...] = ("trot", "canter")
    for gait in gaits:
        tempo = _own_tempo(own, gait) if gait in layout.gait else None
        if tempo is not None:
            beats = tempo * (2 if gait == "trot" else 1)
            words = w.CARD_TEMPO_TROT if gait == "trot" else w.CARD_TEMPO
            out.append((f"{tempo:.0f}", words.format(labels.GAITS[gait], round(beats))))
    return tuple(out)


def _own_tempo(own: Result | None, gait: Gait) -> float | None:
    rows = own.rhythm if own is not None else []
    tempo = [r.tempo_spm for r in rows if r.gait == gait and r.rein == "all" and r.tempo_spm]
    return tempo[0].value if tempo else None


def _step(step: Step, start: int | None) -> tuple[str, str]:
    words = w.CARD_STEPS[step.what]
    if start is None:
        return w.CARD_BEFORE.format(step.before_min), words
    return time_of_day(start - step.before_min), words
