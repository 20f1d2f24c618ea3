"""What a device posts -> a checked entry for one shot, and the reply that its page shows."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from shotwindow.doe.errors import Problem, StudyError

_LONGEST = 500  # characters of a note or a reason


class Posted(BaseModel):
    """One entry, as the page sends it.

    Attributes
    ----------
    id : str
        Made by the device, so that an entry that is sent again is taken once.
    act : str
        What is asked for; the methods of `Acts`.
    who : str
        Who stands at the device.
    shot : int
        The shot that the entry is for.
    seen : int
        The newest entry of the journal about that shot that the device knew of; for an undo the
        entry to take back.
    heading, text, was : str
        A column, what is entered there, and what the device saw there before; or a note.
    values : dict of str to str
        All answers of a shot, as the device saw them.
    sure : list of str
        Questions that were answered with yes.
    shots : list of int
        Where an entry is about more than one.
    """

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    id: str = Field(pattern=r"^[0-9a-f]{32}$")
    act: Literal[
        "actual",
        "accept",
        "answer",
        "change",
        "cut",
        "later",
        "no_part",
        "note",
        "reopen",
        "set",
        "skip",
        "undo",
        "void",
    ]
    who: str = Field(min_length=1, max_length=60)
    shot: int
    seen: int = 0
    heading: str = ""
    text: str = ""
    was: str = ""
    values: dict[str, str] = {}
    sure: list[str] = []
    shots: list[int] = []

    @property
    def words(self) -> str:
        """The text on one line.

        Raises
        ------
        StudyError
            If it is too long.
        """
        words = " ".join(self.text.split())
        if len(words) > _LONGEST:
            place, found = f"shot {self.shot}", f"a text of {len(words)} characters"
            raise StudyError.one(place, found, f"at most {_LONGEST}", "say it shorter")
        return words


@dataclass(frozen=True)
class Offer:
    """A question whose answer with yes is a further entry."""

    text: str
    yes: str
    no: str
    act: str
    shots: tuple[int, ...]


@dataclass(frozen=True)
class Reply:
    """What became of an entry.

    Attributes
    ----------
    taken : bool
    said : tuple of str
        What was done, beyond what the page shows anyway.
    problems : tuple of str
        Why it was refused.
    doubts : tuple of str
        What should be asked before it is taken.
    conflict : str
        What another device did meanwhile.
    theirs : str or None
        What stands now where this device saw something else.
    again : bool
        Whether the entry may be sent once more, now that its sender knows of the conflict.
    offer : Offer or None
    """

    taken: bool
    said: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    conflict: str = ""
    theirs: str | None = None
    again: bool = False
    offer: Offer | None = None

    def fields(self) -> dict[str, Any]:
        """Return the reply for the page."""
        return asdict(self)


class Conflict(Exception):
    """Another device was quicker; nothing is overwritten."""

    def __init__(self, text: str, *, theirs: str | None = None, again: bool = False) -> None:
        super().__init__(text)
        self.reply = Reply(False, conflict=text, theirs=theirs, again=again)


class Doubted(Exception):
    """The answers can be right but seldom are, and nobody has said yet that they are."""

    def __init__(self, questions: Sequence[Problem]) -> None:
        super().__init__()
        self.reply = Reply(False, doubts=tuple(map(str, questions)))
