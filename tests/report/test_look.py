"""The door that text passes through, and the ink on the paper."""

import base64
import hashlib
import json

import numpy as np
import pytest

from report import arena_letters, arena_svg, look
from track.arena import LETTERS, SIZES, Size


def relative_luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted([relative_luminance(one), relative_luminance(other)], reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_formula_gives_the_published_extreme() -> None:
    # WCAG 2.2: black on white is 21:1
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("ink", [look.INK, look.INK_SOFT, look.ACCENT])
@pytest.mark.parametrize("ground", [look.PAPER, look.BAND])
def test_every_ink_reads_on_paper_and_on_the_band(ink: str, ground: str) -> None:
    # WCAG 2.2 success criterion 1.4.3 (AA): 4.5:1 for text
    assert contrast(ink, ground) >= 4.5


def test_script_hash_is_the_csp_source_expression() -> None:
    # W3C Content Security Policy Level 3: base64 of SHA-256 of the element's text
    script = "let a = 1;"
    expected = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert look.script_hash(script) == f"'sha256-{expected}'"
    assert f"script-src 'sha256-{expected}'" in look.security_policy([script])


def test_policy_without_scripts_lets_none_run() -> None:
    policy = look.security_policy()
    assert policy.startswith("default-src 'none'")
    assert "script-src" not in policy


def test_json_block_cannot_be_ended_from_inside_and_reads_back() -> None:
    data = {"remark": "</script><script>alert(1)</script><!-- & '"}
    block = str(look.json_block(data))
    assert "<" not in block and ">" not in block
    assert json.loads(block) == data


def test_json_block_refuses_nan() -> None:
    with pytest.raises(ValueError, match="JSON"):
        look.json_block({"v": float("nan")})


@pytest.mark.parametrize("size", SIZES)
def test_school_shows_every_letter_once(size: Size) -> None:
    drawn = str(arena_letters.letters(arena_svg.school_frame(size), size))
    for letter in LETTERS[size]:
        assert drawn.count(f">{letter}</text>") == 1


@pytest.mark.parametrize("size", SIZES)
def test_no_letter_is_named_when_the_ends_are_unknown(size: Size) -> None:
    drawn = str(arena_letters.letters(arena_svg.school_frame(size), size, ends_known=False))
    assert "short side 1" in drawn and "short side 2" in drawn
    assert not any(f">{letter}<" in drawn for letter in LETTERS[size])


def test_frame_puts_c_at_the_top_and_b_on_the_right() -> None:
    frame = arena_svg.school_frame("20x40")
    assert frame.px(0, 20)[1] < frame.px(0, -20)[1]
    assert frame.px(10, 0)[0] > frame.px(-10, 0)[0]


def test_part_of_a_school_never_leaves_it_and_keeps_its_least() -> None:
    frame = arena_svg.part_frame("20x60", 27.0, 29.5)
    assert frame.high_m == 30 + arena_svg.MARGIN_M
    assert frame.high_m - frame.low_m == pytest.approx(20 + 2 * arena_svg.MARGIN_M)


def test_band_is_two_sds_to_either_side() -> None:
    frame = arena_svg.Frame(left_m=0, right_m=20, low_m=0, high_m=20, px_per_m=10)
    x = np.linspace(0, 10, 11)
    drawn = str(arena_svg.band(frame, x, x * 0, np.full(11, 0.5)))
    # 2 sd each side of 0.5 m at 10 px/m: 20 px wide in all
    assert drawn.count("<path") == 1
    assert 'stroke-width="20"' in drawn


def test_band_follows_a_doubt_that_grows() -> None:
    frame = arena_svg.Frame(left_m=0, right_m=20, low_m=0, high_m=20, px_per_m=10)
    x = np.linspace(0, 10, 11)
    drawn = str(arena_svg.band(frame, x, x * 0, np.where(x < 5, 0.3, 0.6)))
    assert 'stroke-width="12"' in drawn and 'stroke-width="24"' in drawn


def test_words_in_a_drawing_never_become_markup() -> None:
    drawn = str(arena_svg.text(0, 0, "<script>x</script>", "mark"))
    assert "<script>" not in drawn and "&lt;script&gt;" in drawn


def test_thinned_keeps_both_ends() -> None:
    x = np.linspace(0, 1, 101)
    kept = arena_svg.thinned(x, x * 0, 0.3)
    assert kept[0] == 0 and kept[-1] == 100
    assert len(kept) == 5
