import numpy as np
from molds import study

from shotwindow.doe.drafts import Draft, Place, running_order

ROWS = np.array(
    [
        [5.0, 205, 30, 4],
        [3.0, 205, 30, 10],
        [4.0, 205, 30, 6],
        [3.5, 235, 60, 4],
        [5.0, 235, 60, 8],
        [4.5, 205, 30, 5],
        [3.2, 205, 30, 5],
    ]
)


def _draft(group: list[int] | None = None) -> Draft:
    kinds = tuple(f"kind {row}" for row in range(7))
    return Draft(ROWS, kinds, "first-order", None if group is None else np.array(group))


def test_running_order__groups__warm_up_shots_at_each_opening() -> None:
    shots = running_order(study(4), _draft(), 1, Place())
    assert [shot.shot for shot in shots] == list(range(1, 12))
    assert [shot.group for shot in shots] == [1] * 7 + [2] * 4
    assert [shot.kind == "warm-up" for shot in shots] == [True] * 2 + [False] * 5 + [True] * 2 + [
        False
    ] * 2
    for group in (1, 2):
        members = [shot for shot in shots if shot.group == group]
        assert len({shot.settings for shot in members[:3]}) == 1
        assert members[0].settings[0] == min(shot.settings[0] for shot in members)
        assert len({shot.settings[1:3] for shot in members}) == 1


def test_running_order__each_row_once__with_its_kind() -> None:
    shots = [s for s in running_order(study(4), _draft(), 5, Place()) if s.kind != "warm-up"]
    found = sorted((shot.kind, shot.settings) for shot in shots)
    assert found == [(f"kind {row}", tuple(ROWS[row])) for row in range(7)]


def test_running_order__same_slow_setting_in_two_groups__set_twice() -> None:
    shots = running_order(study(4), _draft([0, 0, 0, 1, 1, 2, 2]), 1, Place())
    slow = [{s.settings[1] for s in shots if s.group == group} for group in (1, 2, 3)]
    assert slow == [{205.0}, {235.0}, {205.0}]


def test_running_order__seed__decides_and_repeats() -> None:
    orders = {seed: running_order(study(4), _draft(), seed, Place()) for seed in (1, 2, 3, 4)}
    assert orders[1] == running_order(study(4), _draft(), 1, Place())
    assert len(set(orders.values())) > 1


def test_running_order__place__numbers_and_names_go_on() -> None:
    shots = running_order(study(4), _draft(), 1, Place("2", "lot B", shot=21, group=6))
    assert shots[0].shot == 21
    assert {shot.group for shot in shots} == {6, 7}
    assert {(shot.block, shot.lot) for shot in shots} == {("2", "lot B")}


def test_running_order__in_order__left_as_it_stands() -> None:
    draft = Draft(ROWS, ("ladder",) * 7, "first-order", np.repeat([0, 1], [3, 4]), in_order=True)
    shots = [s for s in running_order(study(4), draft, 1, Place()) if s.kind != "warm-up"]
    assert [shot.settings for shot in shots] == [tuple(row) for row in ROWS]


def test_running_order__nothing_slow__one_group() -> None:
    shots = running_order(study(4, slow=False), _draft(), 1, Place())
    assert {shot.group for shot in shots} == {1}
    assert shots[2].settings == (3.0, 205.0, 30.0, 10.0)
