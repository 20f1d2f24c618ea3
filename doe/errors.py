"""What goes wrong, turned into messages: the user's mistakes, and questions that have no answer.

Three kinds are kept apart. A mistake in the user's files becomes a `Problem` with its place; all
problems found together leave as one `StudyError`. A question that these data cannot answer is
`Unanswerable`. Anything else is a fault of the program and stays a traceback.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Problem:
    """One mistake: where it is, what stands there, what should, and what to do about it.

    Attributes
    ----------
    place : str
        File, table and key, or file, row and column, as the user sees them.
    found : str
        What stands there now.
    expected : str
        What would be right.
    do : str
        The next step in plain words; empty where `expected` already says it.

    Examples
    --------
    >>> from shotwindow.doe.errors import Problem
    >>> print(Problem("study.toml [mold] cavities", "0", "1 or more", "count the cavities"))
    study.toml [mold] cavities: found 0; expected 1 or more; count the cavities
    """

    place: str
    found: str
    expected: str
    do: str = ""

    def __str__(self) -> str:
        """Return the problem as one line."""
        line = f"{self.place}: found {self.found}; expected {self.expected}"
        return f"{line}; {self.do}" if self.do else line


class StudyError(Exception):
    """The user's files need mending; carries every problem that was found.

    Examples
    --------
    >>> from shotwindow.doe.errors import StudyError
    >>> str(StudyError.one("study.toml", "no file", "a study", "run `shotwindow start`"))
    'study.toml: found no file; expected a study; run `shotwindow start`'
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type["StudyError"], tuple[tuple[Problem, ...]]]:
        """Let the error cross from a worker process: it is made again from its problems."""
        return type(self), (self.problems,)

    @classmethod
    def one(cls, place: str, found: str, expected: str, do: str = "") -> "StudyError":
        """Return the error for a single problem."""
        return cls((Problem(place, found, expected, do),))


class Unanswerable(Exception):
    """The data hold no answer to the question; the message says why, in plain words."""


def guess(word: str, known: Iterable[str], alike: float = 0.6) -> str | None:
    """Return the known word that was probably meant, or None where none comes close.

    ``alike`` is how close a word must come, from 0 to 1 (the same word).

    Examples
    --------
    >>> from shotwindow.doe.errors import guess
    >>> guess("cavitys", ["cavities", "name"])
    'cavities'
    """
    by_folded = {name.casefold(): name for name in known}
    close = get_close_matches(word.casefold(), by_folded, n=1, cutoff=alike)
    return by_folded[close[0]] if close else None
