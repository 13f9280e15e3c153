"""``tanbark arena`` from fixes taken at named letters, without any walk."""

from pathlib import Path

from click.testing import CliRunner

from report.commands.arena import command

CORNERS = {"K": (-10, -14), "F": (10, -14), "H": (-10, 14), "M": (10, 14)}
"""Places of the letters in a 20x40 m school [FEI article 429, recalled]."""


def test_named_fixes_alone_make_an_arena_file(tmp_path: Path) -> None:
    points = "".join(
        f'<wpt lat="{52 + y / 111267.353:.8f}" lon="{5 + x / 68678.016:.8f}"><name>{n}</name></wpt>'
        for n, (x, y) in CORNERS.items()
    )
    gpx = tmp_path / "letters.gpx"
    gpx.write_text(f'<gpx version="1.1" creator="invented">{points}</gpx>')
    out = tmp_path / "home.toml"
    done = CliRunner().invoke(command, [str(gpx), "--size", "20x40", "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert 'size = "20x40"' in out.read_text()
