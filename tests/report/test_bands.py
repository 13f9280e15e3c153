"""Bands by level: common practice, no source, unless the row says otherwise."""

from pathlib import Path

import pytest

from ingest.errors import TanbarkError
from report.bands import LEVELS, bands_of, shipped_rules
from track.sheet import Level

CONTRACT_MEASURES = [
    "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread", "second_half",
    "centre_offset", "corner_radius", "turn_radius", "corner_depth", "corner_contrast",
    "overshoot", "leave_place", "arrive_place", "loop_depth", "loop_spread", "crossing_angle",
    "wander", "heading_wobble", "line_offset", "placement", "between_strides", "settle_strides",
    "rush", "halt_time", "halt_place", "tempo", "tempo_change", "tempo_range", "stride_time_cv",
    "stride_length_ratio", "jog_strides", "break_strides",
]  # fmt: skip


def test_every_measure_has_a_row_with_its_source() -> None:
    rules = shipped_rules()
    assert sorted(rules) == sorted(CONTRACT_MEASURES)
    assert all(rule.source for rule in rules.values())


@pytest.mark.parametrize(
    ("level", "diameter", "placement", "wander"),
    [("walk and trot", 1.5, 3.6, 0.5), ("first canter", 1.2, 3.0, 0.4), ("ten metre", 1, 2.4, 0.3)],
)
def test_levels(level: Level, diameter: float, placement: float, wander: float) -> None:
    bands = bands_of(level)
    assert bands.limit("diameter", "20") == diameter
    assert bands.limit("placement") == placement
    assert bands.limit("wander", "line") == wander


def test_higher_levels_are_never_more_lenient() -> None:
    for measure, rule in shipped_rules().items():
        for case in rule.cases:
            limits = [bands_of(level).limit(measure, case) for level in LEVELS]
            known = [limit for limit in limits if limit is not None]
            order = known if rule.kind == "at least" else known[::-1]
            assert order == sorted(order), (measure, case)


def test_a_measure_without_a_default_band_is_not_rated() -> None:
    bands = bands_of("walk and trot")
    for measure in ("tempo", "corner_depth", "stride_time_cv"):
        assert not bands.band(measure, 79.0).rated
    assert not bands.band("width", 9.2, "10").rated


def test_the_riders_own_tolerances_replace_the_shipped_ones(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text('placement = 2\n[diameter]\n"20" = 0.5\n')
    bands = bands_of("walk and trot", mine)
    assert bands.band("diameter", 18.4, "20").high == pytest.approx(18.9)
    assert bands.limit("placement") == 2
    assert bands.limit("diameter", "15") == 1.5


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("roundness = 1\n", "'roundness' is not a measure"),
        ('[diameter]\n"18" = 1\n', "no case '18'"),
        ("placement = 'lots'\n", "write a number of m"),
        ("placement = \n", "cannot be read"),
    ],
)
def test_faults_of_a_tolerances_file_are_one_line(tmp_path: Path, text: str, words: str) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text(text)
    with pytest.raises(TanbarkError) as fault:
        bands_of("walk and trot", mine)
    assert words in str(fault.value)
    assert len(fault.value.faults) == 1
