"""What ``tanbark sheet`` prints: the test as laid out, its times, and how to set it out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from report import words_plan
from report.result_file import read_result
from report.words_said import clock
from track.floorplan import Speeds, call_sheet
from track.layout import Layout
from track.setting_out import setting_out, tape_check

_FEW_STRIDES: Final = 10


def sheet_text(layout: Layout, speeds: Speeds, *, speeds_from: str = "") -> str:
    """The whole print-out, ending in a newline."""
    calls = call_sheet(layout, speeds)
    lines = [
        layout.sheet.title,
        words_plan.about(layout, calls),
        words_plan.speeds_line(speeds, speeds_from),
        "",
        "The test as it is ridden (what the sheet leaves out in brackets)",
        *_movement_lines(layout),
        "",
        "Call sheet: time since A, movement, command, seconds to the next",
    ]
    for command in calls.commands:
        after = "" if command.to_next_s is None else f"{command.to_next_s:4.0f} s"
        busy = f"  {words_plan.BUSY_MARK}" if command.busy else ""
        lines.append(
            f"  {clock(command.t_s):>5}  {command.movement:>2}  {command.text:<50} {after}{busy}"
        )
    lines += [f"  {clock(calls.total_s):>5}      end of the test", ""]
    lines += [words_plan.BUSY_INTRO if calls.busy else words_plan.BUSY_NONE]
    lines += [f"  {words_plan.busy_line(first, then)}" for first, then in calls.busy]
    lines += ["", "Setting out, board to board"]
    for item in setting_out(layout.sheet):
        lines.append(f"  {item.figure}: {'; '.join(touch.text for touch in item.touches)}")
    lines.append("Tape check of the school")
    lines += [f"  {tape.text}: {tape.length_m:.2f} m" for tape in tape_check(layout.sheet.arena)]
    return "\n".join(lines) + "\n"


def _movement_lines(layout: Layout) -> Iterator[str]:
    for line in layout.movements:
        asked = layout.sheet.movements[line.number - 1]
        items = [(c.start_m, 0, c.text) for c in line.changes]
        items += [(s.start_m, 1, f"[{s.text}]" if s.filled else s.text) for s in line.stretches]
        terms = [words for _, _, words in sorted(items, key=lambda item: item[:2])]
        if asked.of:
            terms.append(words_plan.of_line(asked.of))
        if asked.show:
            terms.append(words_plan.SHOW.format(asked.show))
        times = f"  x{asked.coefficient}" if asked.coefficient != 1 else ""
        where = f"  {line.start_m:.0f}-{line.end_m:.0f} m" if line.end_m > line.start_m else ""
        yield f"  {line.number:>2}  {', '.join(terms)}{times}{where}"


def speeds_of(source: Path) -> Speeds:
    """A horse's own speeds from the rhythm in a result file; usual ones where it has none."""
    found: dict[str, float] = {}
    for row in read_result(source).rhythm:
        if row.rein != "all" or row.stride_count < _FEW_STRIDES:
            continue
        if row.tempo_spm is not None and row.stride_length_m is not None:
            found[f"{row.gait}_ms"] = row.tempo_spm.value / 60.0 * row.stride_length_m.value
    usual = Speeds()
    return Speeds(
        walk_ms=found.get("walk_ms", usual.walk_ms),
        trot_ms=found.get("trot_ms", usual.trot_ms),
        canter_ms=found.get("canter_ms", usual.canter_ms),
    )
