"""One shot to make next, and what speaks for it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Suggestion:
    """One shot to make next.

    Attributes
    ----------
    settings : tuple of float
    why : str
        "doubt", "edge" (to see one), "walk" (toward good shots) or "reference" (made before, once
        more in a new group).
    response : str
        What decides there: "fill", "flash" or "other".
    chance : float
        That this response is good there.
    probability_good, probability_in_window : float
    settles : float
        By how much it is expected to lessen the share of all settings that the window gets
        wrong, after those chosen before it.
    new_group : bool
        Whether a slow setting changes before it.
    beyond : tuple of str
        Factors that go outside of what was tried.
    """

    settings: tuple[float, ...]
    why: str
    response: str
    chance: float
    probability_good: float
    probability_in_window: float
    settles: float
    new_group: bool
    beyond: tuple[str, ...]
