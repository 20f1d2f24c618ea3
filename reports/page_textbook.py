"""The textbook's answers -> its tables as a page shows them: folded, each under its question."""

from dataclasses import dataclass

from shotwindow.reports.page_pictures import Table
from shotwindow.reports.questions import Question, text_rows
from shotwindow.reports.textbook import Answers

HEADS = {"fill": "Fill", "flash": "Flash", "edges": "Why its edges lie elsewhere"}


@dataclass(frozen=True)
class Asked:
    """A question with its answer in sentences, and perhaps a table."""

    asked: str
    said: tuple[str, ...]
    table: Table | None


def textbook_sections(answers: Answers) -> list[tuple[str, list[Asked]]]:
    """Return questions that `surfaces --textbook` answers, by response, each with a heading.

    Examples
    --------
    >>> from pathlib import Path
    >>> from shotwindow.reports.findings import read_findings
    >>> from shotwindow.reports.page_textbook import textbook_sections
    >>> from shotwindow.reports.textbook import textbook
    >>> found = read_findings(Path("examples/plant-label"), seed=1)
    >>> [name for name, _ in textbook_sections(textbook(found))]
    ['Fill', 'Flash', 'Why its edges lie elsewhere']
    """
    return [
        (HEADS[name], [_asked(question, HEADS[name]) for question in questions])
        for name, questions in answers.items()
    ]


def _asked(question: Question, head: str) -> Asked:
    rows = text_rows(question)
    # the same is asked of several responses: who jumps from table to table hears of which it is
    caption = f"{head}: {question.asked}"
    table = Table(caption, question.heads, rows) if rows else None
    return Asked(question.asked, question.said, table)
