"""Which number of a state stands for what: built by hand from its pieces, and taken apart again."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from densities import bending, density, prior
from numpy.typing import NDArray

from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

SHOTS = 6
GROUP, LOT = np.array([0, 0, 1, 1, 2, 2]), np.array([0, 0, 0, 1, 1, 1])


def _density(cavities: int, lots: bool, groups: bool, terms: int, slopes: int) -> Density:
    """Return a density of readings between -1 and 2, the first two of which are values."""
    rng = np.random.default_rng(terms)
    design = np.column_stack([np.ones(SHOTS), rng.normal(size=(SHOTS, terms - 1))])
    low = np.full((SHOTS, cavities), -1.0)
    high = np.where(np.arange(SHOTS)[:, None] < 1, -1.0, 2.0) + 0 * low
    made = density(
        design, low, high, prior(terms), group=GROUP if groups else None, lot=LOT if lots else None
    )
    return replace(made, data=replace(made.data, slopes=slopes))


def _pieces(what: Density, rng: np.random.Generator) -> dict[str, Array]:
    """Draw every parameter that is no scale, in the order of the state, as they are told of."""
    data, several = what.data, what.data.cavities > 1
    pieces = {"surface": np.asarray(rng.normal(size=data.design.shape[1]))}
    if several:
        pieces["cavity"] = rng.normal(size=data.cavities)
        pieces["slope"] = rng.normal(size=(data.cavities, data.slopes))
    if data.lots > 1:
        pieces["lot"] = rng.normal(size=data.lots)
    if data.groups:
        pieces["group"] = rng.normal(size=data.groups)
    if several:
        pieces["shot"] = rng.normal(size=data.shots)
    return pieces


CASES = [
    (cavities, lots, groups, terms, slopes)
    for cavities, lots, groups, terms in product((1, 2, 3), (False, True), (False, True), (1, 4))
    for slopes in ((0, terms - 1) if cavities > 1 and terms > 1 else (0,))
]


@pytest.mark.parametrize("case", CASES)
def test_rows__state_of_pieces__mean_of_each_reading_by_hand(
    case: tuple[int, bool, bool, int, int],
) -> None:
    what = _density(*case)
    data, pieces = what.data, _pieces(what, np.random.default_rng(1))
    state = np.concatenate([piece.ravel() for piece in pieces.values()])
    assert (what.rest, what.size) == (state.size, state.size + what.log_median.size)
    for row, mean in enumerate(what.rows @ state):
        cavity, x = data.cavity[row], data.design[row]
        by_hand = float(x @ pieces["surface"])
        for name, number in (("cavity", cavity), ("lot", data.lot[row])):
            by_hand += pieces[name][number] if name in pieces else 0.0
        for name, number in (("group", data.group[row]), ("shot", data.shot[row])):
            by_hand += pieces[name][number] if name in pieces else 0.0
        if data.slopes:
            by_hand += float(x[1 : 1 + data.slopes] @ pieces["slope"][cavity])
        assert mean == pytest.approx(by_hand, abs=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_named__state_of_pieces__each_piece_by_its_name_and_scatters_multiplied(
    case: tuple[int, bool, bool, int, int],
) -> None:
    what, rng = _density(*case), np.random.default_rng(2)
    draws = [_pieces(what, rng) for _ in range(4)]
    names = ["scatter"]
    names += ["group_ratio"] if case[2] else []
    names += ["cavity_ratio"] if case[0] > 1 else []
    names += ["effect"] if case[3] > 1 else []
    assert [name for name in what.log_priors if np.ones(what.size)[what.parts[name]].any()] == names
    logs = rng.normal(size=(4, len(names)))
    shared = [[v.ravel() for n, v in pieces.items() if n != "shot"] for pieces in draws]
    states = np.array([np.concatenate([*s, log]) for s, log in zip(shared, logs, strict=True)]).T
    found = what.named(states)
    absent = {"cavity": (4, 1), "slope": (4, 1, 0), "lot": (4, 1)}
    for name in ("surface", "cavity", "slope", "lot"):
        if name in draws[0]:
            assert np.array_equal(found[name], [pieces[name] for pieces in draws])
        else:
            assert found[name].shape == absent[name] and not found[name].any()
    log = dict(zip(names, logs.T, strict=True))
    scatter = np.exp(log["scatter"])
    assert np.array_equal(found["shot_sd"], scatter)
    for told, ratio in (("group_sd", "group_ratio"), ("rest_sd", "cavity_ratio")):
        by_hand = scatter * np.exp(log[ratio]) if ratio in log else np.zeros(4)
        assert found[told] == pytest.approx(by_hand)
    assert found["gaps"].shape == (4, 0) and np.array_equal(found["power"], np.ones(4))


def test_parts__one_group_of_shots__its_scatter_is_estimated_all_the_same() -> None:
    what = _density(1, False, True, 1, 0)
    one = replace(what, data=replace(what.data, group=0 * what.data.group, groups=1))
    sizes = {name: part.stop - part.start for name, part in one.parts.items()}
    assert {name for name, size in sizes.items() if size} == {
        "surface", "group", "scatter", "group_ratio",
    }  # fmt: skip


def test_log_priors__every_scale__median_and_spread_in_the_order_of_the_state() -> None:
    """All that can be estimated at once: two grade gaps, and no power beside them."""
    what = _density(2, True, True, 3, 0)
    gaps = np.zeros((SHOTS * 2, 2))
    changed = prior(
        3, scatter=0.5, scatter_spread=0.1, group_ratio=0.8, cavity_ratio=0.6, ratio_spread=0.2,
        effect=1.5, effect_spread=0.3, bend_spread=0.4, cut_gap=0.7, cut_spread=0.9,
    )  # fmt: skip
    what = Density(replace(what.data, low_gaps=gaps, high_gaps=gaps), bending(changed, 1))
    medians = np.log([0.5, 0.8, 0.6, 1.5, 1.0, 0.7, 0.7])
    assert what.log_median == pytest.approx(medians)
    assert what.log_spread.tolist() == [0.1, 0.2, 0.2, 0.3, 0.4, 0.9, 0.9]
    assert what.logs(medians[:, None])["gaps"].tolist() == [[medians[5]], [medians[6]]]
    widths = replace(what.data, low_gaps=gaps[:, :0], high_gaps=gaps[:, :0], powers=1)
    powered = Density(widths, replace(prior(3), power=0.6, power_spread=0.05))
    assert (powered.log_median[-1], powered.log_spread[-1]) == (np.log(0.6), 0.05)
    assert powered.logs(powered.log_median[:, None])["power"] == pytest.approx([np.log(0.6)])


def test_ends__gaps_or_power__moved_by_multiples_of_gaps_or_raised() -> None:
    what = _density(1, False, False, 3, 0)
    low_gaps, high_gaps = np.zeros((SHOTS, 2)), np.zeros((SHOTS, 2))
    low_gaps[1], high_gaps[1] = [1, 0], [1, 1]
    graded = replace(what, data=replace(what.data, low_gaps=low_gaps, high_gaps=high_gaps))
    low, high = graded.ends({"gaps": np.log([[0.5, 2.0], [0.25, 4.0]]), "power": np.zeros(2)})
    assert low[1] == pytest.approx([-0.5, 1.0]) and high[1] == pytest.approx([2.75, 8.0])
    assert (low[2] == -1.0).all() and (high[2] == 2.0).all()
    assert graded.data.gaps == 2 and graded.data.exact.tolist() == [True] + [False] * 5
    # Box and Cox, J. R. Statist. Soc. B 26 (1964) 211: (w^p - 1)/p, with w = 0.04 and 0.09
    logs = replace(what.data, powers=1, low=np.log([0.04] * SHOTS), high=np.log([0.09] * SHOTS))
    log = {"gaps": np.zeros((0, 2)), "power": np.log([0.5, 1.0])}
    low, high = replace(what, data=logs).ends(log)
    assert low[0] == pytest.approx([-1.6, -0.96]) and high[0] == pytest.approx([-1.4, -0.91])


def test_exact__grade_between_two_gaps__is_no_value() -> None:
    """Both ends of a grade are zero but for gaps: it is an interval all the same."""
    what = _density(1, False, False, 1, 0)
    zero, one = np.zeros((SHOTS, 1)), np.ones((SHOTS, 1))
    one[0] = 0.0
    same = np.zeros(SHOTS)
    graded = replace(what.data, low=same, high=same, low_gaps=zero, high_gaps=one)
    assert graded.exact.tolist() == [True] + [False] * 5
