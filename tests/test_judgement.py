"""Verdicts from counted shots, and readings that were not predicted."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import study
from made_surfaces import surface, surfaces
from scipy.stats import binom

from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.seeds import generator
from shotwindow.models.challenge import Demand
from shotwindow.models.group_odds import share_shown
from shotwindow.models.judgement import Judgement, Made, find_surprises, good_shots, judge
from shotwindow.models.scales import fill_percent, flash_width
from shotwindow.models.surface import Surfaces

SETPOINT = (4.2, 220.0)


def _surfaces(scatter: float = 0.02) -> Surfaces:
    factors = study("map").factors
    return surfaces(
        surface("fill", factors, [-0.05, 0.0, 0.0], spread=0.01, scatter=scatter),
        surface("flash", factors, [-0.7, 0.0, 0.0], spread=0.01, scatter=scatter),
    )


def _shots(good: int, bad: int, *, fill: float = 96.0, group: int = 9) -> Readings:
    """Readings at the setpoint: some full, some of them short."""
    rows = [
        Row(i + 1, "c", "L1", group, "confirm", SETPOINT, (None, None), (value,), (0.04,))
        for i, value in enumerate([100.0] * good + [fill] * bad)
    ]
    return readings(study("map"), rows)


def _judge(
    good: int, bad: int, *, corners: int = 0, missing: int = 0, failures: int = 0
) -> Judgement:
    """Judge shots of which the last ones, as many as `corners`, are challenge shots."""
    total = good + bad
    corner = np.arange(total) >= total - corners
    made = Made(_shots(good, bad) if total else None, corner, missing)
    # predicted so widely that nothing is a surprise
    return judge(
        _surfaces(0.5), made, Demand(0.9, 0.9, failures), good_from=0.9, rng=generator(1, "j")
    )


@pytest.mark.parametrize(
    ("good", "bad", "corners", "missing", "failures", "answer"),
    [
        (22, 0, 0, 0, 0, "confirmed"),
        (26, 0, 4, 0, 0, "confirmed"),
        (21, 0, 0, 0, 0, "cannot tell"),  # too few, as when one was void
        (22, 0, 0, 1, 0, "cannot tell"),
        (21, 1, 0, 0, 0, "not confirmed"),
        (37, 1, 0, 0, 1, "confirmed"),
        (3, 1, 0, 18, 0, "not confirmed"),  # no need to go on
        (25, 1, 4, 0, 0, "cannot tell"),  # one bad corner of four
        (23, 3, 4, 0, 0, "not confirmed"),  # three
        (0, 0, 0, 26, 0, "cannot tell"),
    ],
)
def test_judge__counts__verdict(
    good: int, bad: int, corners: int, missing: int, failures: int, answer: str
) -> None:
    found = _judge(good, bad, corners=corners, missing=missing, failures=failures)
    assert found.answer == answer


def test_judge__share_shown__exact_lower_limit() -> None:
    found = _judge(22, 0)
    # 0.1 = R^22 (success run)
    assert found.shown == pytest.approx(0.1 ** (1 / 22))
    assert 1 - binom.cdf(21, 22, found.shown) == pytest.approx(0.1)


def test_judge__two_groups__failures_in_each() -> None:
    made = _shots(20, 2)
    both = replace(made, group=np.repeat([9, 10], 11))
    found = judge(
        _surfaces(0.5), Made(both, np.zeros(22, dtype=bool), 0), Demand(0.9, 0.9),
        good_from=0.9, rng=generator(1, "j"),
    )  # fmt: skip
    assert found.groups == 2 and found.failed_by_group == (0, 2)


def test_judge__group_scatter__less_is_shown_of_other_groups() -> None:
    made, known = _shots(22, 0), _surfaces(0.02)
    scattered = replace(known, fill=replace(known.fill, group_sd=0.02 * np.ones(200)))
    three = replace(made, group=np.repeat([9, 10, 11], [8, 7, 7]))

    def shown(surfaces: Surfaces, readings: Readings) -> float:
        shot = Made(readings, np.zeros(22, dtype=bool), 0)
        found = judge(surfaces, shot, Demand(0.9, 0.9), good_from=0.9, rng=generator(1, "j"))
        assert found.shown == pytest.approx(0.1 ** (1 / 22))
        return found.shown_over_groups

    assert shown(known, made) == pytest.approx(0.1 ** (1 / 22), abs=1e-6)
    assert shown(scattered, made) == pytest.approx(share_shown(0, [22], 0.9, np.array([0.5])))
    assert shown(scattered, three) == pytest.approx(share_shown(0, [8, 7, 7], 0.9, np.array([0.5])))


def test_good_shots__flash_at_the_limit_is_good_and_above_is_not() -> None:
    rows = [
        Row(i + 1, "c", "L1", 1, "confirm", SETPOINT, (None, None), (100.0,), (width,))
        for i, width in enumerate([0.0, 0.10, 0.12])
    ]
    assert good_shots(readings(study("map"), rows)).tolist() == [True, True, False]


def test_surprises__shots_as_predicted__false_alarms_as_rare_as_said() -> None:
    predicted, rng = _surfaces(), np.random.default_rng(2)
    alarms = 0
    for _ in range(200):
        draw = rng.integers(200)
        fill = fill_percent(predicted.fill.coefficients[draw, 0] + 0.02 * rng.normal(size=8))
        latent = predicted.flash.coefficients[draw, 0] + 0.02 * rng.normal(size=8)
        flash = flash_width(latent, 0.1, np.array(0.5))
        rows = [
            Row(i + 1, "c", "L1", 1, "confirm", (4.0, 220.0), (None, None),
                (min(100.0, float(f)),), (float(w),))
            for i, (f, w) in enumerate(zip(fill, flash, strict=True))
        ]  # fmt: skip
        alarms += bool(find_surprises(predicted, readings(study("map"), rows), rng))
    # two responses at 5 % each, less by rounding intervals; 1 in 10,000 to exceed by chance
    assert 0 < alarms <= binom.ppf(0.9999, 200, 0.0975)


def test_surprises__far_off__named() -> None:
    rows = [
        Row(1, "c", "L1", 1, "confirm", (4.0, 220.0), (None, None), (80.0,), (0.04,)),
        Row(2, "c", "L1", 1, "confirm", (4.0, 220.0), (None, None), (95.0,), (0.20,)),
    ]
    found = find_surprises(_surfaces(), readings(study("map"), rows), generator(1, "s"))
    assert [(s.shot, s.response, s.side) for s in found] == [
        (1, "fill", "low"),
        (2, "flash", "high"),
    ]
