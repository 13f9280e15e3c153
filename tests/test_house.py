"""The house: what stands at the top level, and that words which promise too much stay out."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
ALLOWED = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
    "ingest", "track", "gait", "report", "tests", "sample_rides",
}  # fmt: skip


def test_top_level_holds_only_what_the_house_names() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split()
    tops = {name.split("/")[0] for name in listed}
    assert {name for name in tops if not name.startswith(".")} <= ALLOWED
