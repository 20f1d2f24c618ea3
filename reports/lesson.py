"""A lesson -> its handout, and the answers apart, as pages that print black on white.

A lesson is made by its module in examples/lessons, which computes every number that stands in it.
"""

from dataclasses import dataclass

from shotwindow.reports.page_pictures import Picture, Table
from shotwindow.reports.sheet_page import PAPERS
from shotwindow.reports.templates import filled


@dataclass(frozen=True)
class Part:
    """A stretch of a lesson: its heading, its paragraphs, and perhaps a picture and a table."""

    heading: str
    words: tuple[str, ...]
    table: Table | None = None
    picture: Picture | None = None


@dataclass(frozen=True)
class Question:
    """What is asked, what is right, and how many lines there are to write on."""

    asked: str
    answer: str
    lines: int = 2


@dataclass(frozen=True)
class Lesson:
    """A handout of one or two pages.

    Attributes
    ----------
    title : str
    goal : str
        What somebody can do afterwards.
    minutes : int
        How long it takes; a guess, nobody has timed it.
    source : str
        Where the numbers come from.
    parts : tuple of Part
    questions : tuple of Question
    """

    title: str
    goal: str
    minutes: int
    source: str
    parts: tuple[Part, ...]
    questions: tuple[Question, ...]


def lesson_html(lesson: Lesson, paper: str = "a4") -> str:
    """Return the handout for "a4" or "letter" paper, with lines to write answers on.

    Examples
    --------
    >>> from shotwindow.reports.lesson import Lesson, Question, answers_html, lesson_html
    >>> asked = (Question("Why?", "Because."),)
    >>> lesson = Lesson("Title", "A goal.", 20, "Invented.", (), asked)
    >>> "Because." in lesson_html(lesson), "Because." in answers_html(lesson)
    (False, True)
    """
    return filled("lesson.html", lesson=lesson, paper=PAPERS[paper], answers=False)


def answers_html(lesson: Lesson, paper: str = "a4") -> str:
    """Return the questions with their answers, for the instructor alone."""
    return filled("lesson.html", lesson=lesson, paper=PAPERS[paper], answers=True)
