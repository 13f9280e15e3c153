"""An invented judge's sheet for the invented ride."""

from decimal import Decimal

from report.page_marks import JudgeMark, JudgeSheet

BAD = "<script>document.title='run'</script><img src=x onerror=\"document.title='run'\">"


def judged() -> JudgeSheet:
    return JudgeSheet(
        rows=(
            JudgeMark(movement=1, mark=Decimal("6.5"), remark="straight", felt=Decimal(7)),
            JudgeMark(
                movement=2, mark=Decimal(5), remark="not round", underlined="size",
                adds="The circle was an egg. A phone cannot see bend.",
            ),
            JudgeMark(movement=3, mark=Decimal(7), coefficient=2),
            JudgeMark(movement=5, mark=Decimal("5.5"), remark="late", adds="Two lengths after C."),
            JudgeMark(movement=None, name="rider", mark=Decimal("6.5"), remark="quiet hands"),
        ),
        percent=Decimal("61.88"),
    )  # fmt: skip


def uneven() -> JudgeSheet:
    return JudgeSheet(
        rows=(
            JudgeMark(
                movement=6, mark=Decimal(4), remark="irregular steps",
                adds="A judge saw uneven steps. A phone cannot confirm or rule this out.",
            ),
        )
    )  # fmt: skip


def planted() -> JudgeSheet:
    return JudgeSheet(
        rows=(JudgeMark(movement=2, mark=None, remark=BAD, underlined=BAD, adds=BAD),)
    )
