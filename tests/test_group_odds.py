"""Counts of shots in groups against the binomial, plain integration, and shots that are drawn."""

from itertools import pairwise

import numpy as np
import pytest
from invented_shots import study
from made_surfaces import surface, surfaces
from scipy.integrate import quad
from scipy.stats import binom, norm

from shotwindow.models.confirmation import exact_limits
from shotwindow.models.group_odds import between_groups, pass_odds, share_shown

NOTHING = np.array([0.0])


@pytest.mark.parametrize("failures", [0, 1, 3])
def test_pass_odds__nothing_between_groups__binomial(failures: int) -> None:
    expected = binom.cdf(failures, 22, 0.15)
    assert pass_odds(0.85, [8, 7, 7], failures, NOTHING) == pytest.approx(expected, rel=1e-9)


def test_pass_odds__all_between_groups__a_group_is_nearly_one_shot() -> None:
    assert pass_odds(0.7, [8, 7, 7], 0, np.array([1.0])) == pytest.approx(0.7**3, abs=0.03)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.8])
def test_pass_odds__one_group__integrated_plainly(part: float) -> None:
    def weighed(effect: float) -> float:
        good = norm.cdf((norm.ppf(0.8) + np.sqrt(part) * effect) / np.sqrt(1 - part))
        return float(binom.cdf(1, 11, 1 - good) * norm.pdf(effect))

    expected = quad(weighed, -8, 8)[0]
    assert pass_odds(0.8, [11], 1, np.array([part])) == pytest.approx(expected, abs=1e-6)


def test_pass_odds__drawn_shots_in_groups_of_unlike_size() -> None:
    rng, groups, times = np.random.default_rng(3), (5, 3, 1), 200_000
    which = np.repeat(np.arange(3), groups)
    effect = np.sqrt(0.4) * rng.normal(size=(times, 3))[:, which]
    bad = norm.ppf(0.75) + effect + np.sqrt(0.6) * rng.normal(size=(times, 9)) < 0
    for failures in (0, 2):
        expected = (bad.sum(axis=1) <= failures).mean()
        found = pass_odds(0.75, groups, failures, np.array([0.4]))
        # four standard errors: 1 in 10,000 to fail by chance
        assert found == pytest.approx(expected, abs=4 * 0.5 / times**0.5)


def test_pass_odds__more_groups__bad_setting_passes_less_often() -> None:
    half = np.array([0.5])
    odds = [pass_odds(0.7, groups, 0, half) for groups in ([11], [6, 5], [4, 4, 3], [1] * 11)]
    assert all(more > fewer for more, fewer in pairwise(odds))
    assert odds[-1] == pytest.approx(0.7**11)


@pytest.mark.parametrize(("failed", "shots"), [(0, 22), (1, 38), (5, 5), (3, 20)])
def test_share_shown__nothing_between_groups__clopper_pearson(failed: int, shots: int) -> None:
    expected = exact_limits(shots - failed, shots, confidence=0.9, sides="lower")[0]
    assert share_shown(failed, [shots], 0.9, NOTHING) == pytest.approx(expected, abs=1e-6)


def test_share_shown__that_share_passes_as_rarely_as_said() -> None:
    part = np.array([0.2, 0.6])
    share = share_shown(1, [10, 10], 0.9, part)
    assert pass_odds(share, [10, 10], 1, part) == pytest.approx(0.1, abs=1e-6)


def test_between_groups__response_on_which_groups_differ_more() -> None:
    factors = study("map").factors
    fill, flash = surface("fill", factors, [0.0, 0, 0]), surface("flash", factors, [0.0, 0, 0])
    object.__setattr__(flash, "group_sd", 2 * flash.shot_sd)
    assert between_groups(surfaces(fill, flash)) == pytest.approx(0.8)
    assert between_groups(surfaces(fill, fill)) == pytest.approx(0.0)
