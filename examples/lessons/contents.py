"""The name of a lesson -> the lesson, made anew from its seed."""

from importlib import import_module
from inspect import getdoc
from types import ModuleType

from shotwindow.reports.lesson import Lesson

#: In the order in which they are best taken.
LESSONS = (
    "one_at_a_time",
    "aliasing",
    "random_order",
    "temperature_groups",
    "clipped_readings",
    "reading_a_window",
    "choosing_a_margin",
    "failed_confirmation",
)


def read_lesson(name: str) -> Lesson:
    """Make one of `LESSONS`.

    Raises
    ------
    ValueError
        If there is no lesson of this name.
    """
    if name not in LESSONS:
        raise ValueError(f"no lesson {name!r}; there are {', '.join(LESSONS)}")
    made: Lesson = _module(name).lesson()
    return made


def about(name: str) -> str:
    """Return what a lesson is about, in one line."""
    return (getdoc(_module(name)) or "").splitlines()[0]


def _module(name: str) -> ModuleType:
    return import_module(f"shotwindow.examples.lessons.{name}")
