"""Judge's marks: the file's forms, and the percentage after the rules' formula."""

from decimal import Decimal
from pathlib import Path

import pytest

from ingest.errors import MarksError
from report.marks import percent_of, read_marks
from report.page_marks import JudgeMark


def marks_adding_up_to(points: str, most: int) -> list[JudgeMark]:
    """Marks of coefficient 1 whose sum is ``points`` of ``most``."""
    count = most // 10
    each = Decimal(points) / count
    return [JudgeMark(movement=i + 1, mark=each) for i in range(count)]


# 99/160 -> 61.88 and 100.5/160 = 62.8125 -> 62.81: worked examples of the trade, where Python's
# own round and binary floats give other digits.
@pytest.mark.parametrize(("points", "most", "percent"), [("99", 160, "61.88"),
                                                         ("100.5", 160, "62.81")])  # fmt: skip
def test_percent_is_rounded_half_up(points: str, most: int, percent: str) -> None:
    assert percent_of(marks_adding_up_to(points, most)) == Decimal(percent)


def test_a_file_with_coefficients_collectives_and_errors(tmp_path: Path) -> None:
    file = tmp_path / "marks.csv"
    file.write_text(
        "movement,mark,coefficient,remark,underlined,felt\n"
        '1,6.5,1,"straight, but late",,7\n'
        "2,7,2,,round,\n"
        "collective:Paces,6,1,,,\n"
        "errors,2,,,,\n"
    )
    sheet = read_marks(file)
    assert sheet.of(1)[0].remark == "straight, but late"
    assert sheet.of(1)[0].felt == Decimal(7)
    assert sheet.of(2)[0].underlined == "round"
    assert sheet.percent == Decimal("61.25")  # (6.5 + 14 + 6 - 2) / 40


def test_a_spreadsheet_with_decimal_commas(tmp_path: Path) -> None:
    file = tmp_path / "marks.csv"
    file.write_text("\ufeffMovement;Mark\r\n1;6,5\r\n2;7\r\n", encoding="utf-8")
    assert read_marks(file).percent == Decimal("67.50")


def test_a_blank_mark_leaves_the_percentage_open(tmp_path: Path) -> None:
    file = tmp_path / "marks.csv"
    file.write_text("movement,mark\n1,\n2,7\n")
    assert read_marks(file).percent is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "must name the columns"),
        ("movement,mark\n", "no marks below"),
        ("movement,mark\nfirst,6\n", "row 2: the movement is 'first'"),
        ("movement,mark\n1,11\n", "row 2: mark is '11'"),
        ("movement,mark\n1,NaN\n", "row 2: mark is 'NaN'"),
        ("movement,mark,coefficient\n1,6,two\n", "row 2: the coefficient is 'two'"),
        ("movement,mark\n1,six\n", "row 2: mark is 'six'"),
    ],
)
def test_faults_name_the_row(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "marks.csv"
    file.write_text(text)
    with pytest.raises(MarksError) as fault:
        read_marks(file)
    assert words in str(fault.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(MarksError, match="cannot be read"):
        read_marks(tmp_path / "none.csv")
