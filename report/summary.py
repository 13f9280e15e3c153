"""What a command prints when it is done: a few plain lines."""

from __future__ import annotations

from collections import Counter

from report.headline import cost, every_finding, first_few
from report.output import Written
from report.result import Result
from report.result_file import all_findings
from report.words import clock


def summary(result: Result, written: Written | None = None) -> str:
    """Say in a few lines what was found."""
    lines = [_recorded(result), _school(result), *_sheet(result), *_findings(result)]
    lines += [row.sentence for row in result.detection or []]
    lines += [f"note: {n.text}" for n in result.notes if n.severity == "warning"]
    if written is not None:
        lines.append(f"The page: {written.report}")
    return "\n".join(line for line in lines if line)


def _recorded(result: Result) -> str:
    times = result.time_in
    gaits = {"halt": times.halt_s, "walk": times.walk_s, "trot": times.trot_s,
             "canter": times.canter_s}  # fmt: skip
    told = ", ".join(f"{gait} {clock(seconds)}" for gait, seconds in gaits.items() if seconds >= 1)
    return f"Recorded {clock(result.ride.duration_s)} min: {told or 'no gait could be told'}."


def _school(result: Result) -> str:
    arena = result.arena
    if arena is None:
        return "No school was found in this ride."
    source = "from the arena file" if arena.source == "file" else "found in the ride"
    ends = "" if arena.ends == "known" else "; which end is A is not known"
    offset = arena.track_offset_m
    return (
        f"School {arena.size} {source}, ridden {offset.value:.1f} ± {offset.sd:.1f} m "
        f"from the boards{ends}."
    )


def _sheet(result: Result) -> list[str]:
    if result.sheet is None:
        return []
    found = {row.number for row in result.movements if row.found}
    line = f"{result.sheet.title}: {len(found)} of {result.sheet.movement_count} movements found."
    return [line, *(f"Course: {error.text}" for error in result.course_errors)]


def _findings(result: Result) -> list[str]:
    findings = [f for f in all_findings(result) if f.verdict is not None]
    if not findings:
        return []
    counts = Counter(f.verdict for f in findings)
    words = {"within": "within", "near": "about right", "cannot tell": "cannot tell",
             "outside": "outside"}  # fmt: skip
    told = ", ".join(f"{counts[v]} {word}" for v, word in words.items() if counts[v])  # type: ignore[index]
    outside = [t for t in every_finding(result, None) if t.finding.verdict == "outside"]
    first = first_few(sorted(outside, key=cost, reverse=True), ())
    return [f"Findings: {told}.", *(f"- {each.finding.say}" for each in first)]
