from dataclasses import replace

import numpy as np
import pytest
from molds import study

from shotwindow.doe.groups import (
    NEAR_MIN,
    change_minutes,
    day_minutes,
    free_minutes,
    heat,
    order_groups,
    order_shots,
    pellet_grams,
    same_slow,
    soak_minutes,
)
from shotwindow.doe.study import Held, parse_study

COLD, MIDDLE, HOT = [3.0, 205.0, 30.0, 4.0], [3.0, 220.0, 45.0, 4.0], [3.0, 235.0, 60.0, 4.0]


def _orders(openings: list[list[float]], times: int = 40) -> list[list[int]]:
    rng = np.random.default_rng(1)
    settings = np.array(openings)
    return [order_groups(study(4), settings, rng).tolist() for _ in range(times)]


def test_soak_minutes__direction_and_size__cooling_slower_and_small_quicker() -> None:
    melt = study(2).factors[1]
    low, high, half = np.array([205.0]), np.array([235.0]), np.array([220.0])
    assert soak_minutes(melt, low, high)[0] == pytest.approx(15)
    assert soak_minutes(melt, high, low)[0] == pytest.approx(25)
    assert 0.8 * 15 < soak_minutes(melt, low, half)[0] < 15
    assert soak_minutes(melt, low, low)[0] == 0
    assert soak_minutes(study(1).factors[0], low, high)[0] == 0
    alike = replace(melt, soak_down_min=None)
    assert soak_minutes(alike, high, low)[0] == pytest.approx(15)


def test_change_minutes__two_temperatures__soak_together() -> None:
    press = study(4)
    changes = change_minutes(press, np.array([COLD, HOT, COLD]), np.array([HOT, COLD, COLD]))
    np.testing.assert_allclose(changes, [15, 25, 0])


def test_day_minutes__by_hand__start_up_soaks_shots_and_clean_up() -> None:
    # 20 + (2 warm-up shots a group, 8 shots) x 3 + 15 + 25 + 15
    minutes = day_minutes(study(4), np.array([COLD, HOT, COLD]), 8)
    assert minutes == pytest.approx(20 + (3 * 2 + 8) * 3 + 15 + 25 + 15)


def test_free_minutes__slow_factors__far_more_than_in_groups() -> None:
    settings = np.array([COLD] * 5 + [HOT] * 5)
    grouped = day_minutes(study(4), np.array([COLD, HOT]), 10)
    free = free_minutes(study(4), settings, np.random.default_rng(1))
    # ten shots change sides five times on average: four more changes of 20 minutes and 6 for shots
    assert free == pytest.approx(grouped + 4 * (20 + 6) + 5, abs=12)
    alike = np.array([COLD] * 10)
    assert free_minutes(study(4), alike, np.random.default_rng(1)) == 20 + 12 * 3 + 15


def test_order_groups__three_temperatures__never_hottest_first_and_heating_up() -> None:
    orders = _orders([HOT, COLD, MIDDLE])
    assert {order[0] for order in orders} <= {1, 2}
    assert orders == [[1, 2, 0]] * len(orders)  # cold, middle, hot saves ten minutes of cooling


def test_order_groups__only_one_slow_setting_is_hottest__two_groups() -> None:
    assert _orders([HOT, COLD]) == [[1, 0]] * 40


def test_order_groups__cooling_is_quicker__still_not_hottest_first() -> None:
    press = study(4)
    quick = tuple(replace(f, soak_down_min=1.0) if f.is_slow else f for f in press.factors)
    cooled = replace(press, factors=quick)
    settings = np.array([HOT, COLD, MIDDLE])
    order = order_groups(cooled, settings, np.random.default_rng(1)).tolist()
    assert order in ([2, 0, 1], [1, 0, 2], [2, 1, 0])
    assert order[0] != 0


def test_order_groups__near_equals__drawn_at_random_within_a_few_minutes() -> None:
    openings = [COLD, [3.0, 205, 45, 4], [3.0, 205, 60, 4], [3.0, 220, 60, 4], HOT]
    orders = _orders(openings)
    settings = np.array(openings)
    minutes = [day_minutes(study(4), settings[order], 9) for order in orders]
    assert len({tuple(order) for order in orders}) > 1
    assert max(minutes) - min(minutes) <= NEAR_MIN + 1e-9


@pytest.mark.parametrize("count", [5, 9])
def test_order_groups__repeated_groups__kept_apart(count: int) -> None:
    more = [[3.0, 205, 60, 4], [3.0, 235, 30, 4], [3.0, 220, 30, 4], [3.0, 220, 60, 4]]
    openings = [COLD, MIDDLE, HOT, COLD, MIDDLE, *more][:count]
    same = same_slow(study(4), np.array(openings))
    for order in _orders(openings):
        assert sorted(order) == list(range(count))
        kinds = same[order]
        for place in range(count - 1):
            assert kinds[place] != kinds[place + 1]


def test_order_shots__opening__lowest_pressure_then_random() -> None:
    rng = np.random.default_rng(1)
    settings = np.array([[4, 220, 45, 4], [3, 220, 45, 9], [3, 220, 45, 5], [5, 220, 45, 4.0]])
    orders = [order_shots(study(4), settings, rng).tolist() for _ in range(60)]
    assert all(order[0] == 2 for order in orders)  # of two at 3 bar the shorter time opens
    assert len({tuple(order) for order in orders}) == 6


def test_order_shots__no_pressure__entirely_random() -> None:
    free = parse_study('[factors.cooling]\nunit = "s"\nlow = 1\nhigh = 5\nstep = 1\n')
    rng = np.random.default_rng(1)
    openings = {int(order_shots(free, np.array([[1.0], [3], [5]]), rng)[0]) for _ in range(60)}
    assert openings == {0, 1, 2}


def test_heat__temperatures__summed() -> None:
    np.testing.assert_allclose(heat(study(4), np.array([COLD, MIDDLE, HOT])), [-2, 0, 2])


def test_pellet_grams__charge_or_masses_or_neither() -> None:
    plain = study(2)
    assert pellet_grams(plain, 10) is None
    weighed = replace(plain, mold=replace(plain.mold, full_mass_g=(2.0, 2.5)))
    assert pellet_grams(weighed, 10) == pytest.approx(45)
    charged = replace(weighed, held=(Held("charge", 1.0, "oz"),))
    assert pellet_grams(charged, 10) == pytest.approx(283.495, abs=1e-3)
