"""What `next` says of each shot: the reason that made it chosen, in one sentence."""

from dataclasses import replace

import pytest

from shotwindow.models.next_shots import Batch
from shotwindow.models.suggestion import Suggestion
from shotwindow.reports.next_words import advice, reason, where

SHOT = Suggestion((4.0, 220.0), "doubt", "fill", 0.55, 0.8, 0.5, 0.012, False, ())


@pytest.mark.parametrize(
    ("shot", "said"),
    [
        (SHOT, "In the window or not is open here (chance 0.50), above all whether it is full"),
        (replace(SHOT, why="walk"), "No setting is likely good yet"),
        (replace(SHOT, why="walk", probability_good=0.0), "Nothing tried is likely good"),
        (
            replace(SHOT, why="edge", response="flash", chance=0.7),
            "No shot flashed over the limit yet: this one may, with a chance of 0.30",
        ),
        (
            replace(SHOT, why="edge", response="flash", chance=0.99),
            "No shot flashed over the limit yet: a small step toward that edge",
        ),
        (replace(SHOT, probability_in_window=0.97), "Most likely in the window here (chance 0.97)"),
        (replace(SHOT, probability_in_window=0.04), "Most likely out of the window here (chance"),
    ],
)
def test_reason__each_why__one_sentence(shot: Suggestion, said: str) -> None:
    text = reason(shot)
    assert said in text and text.endswith(".") and text.count(". ") == 0


def test_where__soak_and_step_outside_only_where_so() -> None:
    assert where(SHOT) == ""
    both = where(replace(SHOT, new_group=True, beyond=("melt_temperature",)))
    assert "soak and warm-up" in both and "Outside of what was tried in melt temperature" in both


def test_advice__little_to_gain__says_to_stop() -> None:
    more = Batch((SHOT,), 0.20, 0.10, (), False)
    enough = Batch((SHOT,), 0.0201, 0.0200, (), False)
    assert not more.stop and enough.stop
    assert "About 20 % of all settings are expected to be taken wrongly now" in advice(more)
    assert "and about 10 % after these shots" in advice(more)
    assert advice(more) != advice(enough) and "stop" in advice(enough).lower()


def test_advice__nothing_good__no_share_that_is_wrong() -> None:
    walk = replace(SHOT, why="walk")
    said = advice(Batch((walk,), 4e-48, 3e-48, (), nothing_good=True))
    assert "search for good ones" in said and "%" not in said and "stop" not in said
    assert advice(Batch((SHOT,), 4e-48, 3e-48, (), False)).startswith("Under 0.01 % of all")
