from pathlib import Path

import numpy as np
import pytest

from shotwindow.doe import classical
from shotwindow.doe.aliases import rank, resolution, word_lengths, word_means
from shotwindow.doe.terms import first_order, full_quadratic
from shotwindow.doe.variance import leverages

DESIGNS = Path(__file__).parent / "reference" / "designs"


def _table(name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.loadtxt(DESIGNS / f"{name}.csv", delimiter=",", skiprows=1)


def _as_set(rows: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> list[tuple[float, ...]]:
    return sorted(tuple(float(value) for value in row) for row in rows + 0.0)


@pytest.mark.parametrize("k", range(1, 9))
def test_two_level__k_factors__every_corner_once(k: int) -> None:
    rows = classical.two_level(k)
    assert len(set(_as_set(rows))) == len(rows) == 2**k
    assert resolution(rows) is None


@pytest.mark.parametrize(("k", "halvings"), list(classical.GENERATORS))
def test_fraction__each__no_less_aberrant_one_exists(k: int, halvings: int) -> None:
    """Against every other choice of generators: the pattern is the least (up to 16 shots)."""
    ours = word_lengths(classical.fraction(k, halvings))
    assert resolution(classical.fraction(k, halvings)) == classical.RESOLUTIONS[k, halvings]
    base = k - halvings
    if base > 4:
        return
    from itertools import combinations

    words = [w for size in range(2, base + 1) for w in combinations(range(1, base + 1), size)]
    others = [word_lengths(classical.generated(base, c)) for c in combinations(words, halvings)]
    assert ours == min(others)


def test_fraction__none_of_resolution_three__refused() -> None:
    with pytest.raises(ValueError, match="resolution III"):
        classical.fraction(4, 2)


def test_verified__words_too_short__fails_loudly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(classical.GENERATORS, (4, 1), ((1, 2),))
    with pytest.raises(RuntimeError, match="came out wrong"):
        classical.fraction(4, 1)


def test_verified__plans_of_the_library_spoiled__none_leaves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    library = classical._pydoe2()
    for name, make in (("ff2n", lambda: classical.two_level(3)), ("bbdesign", _edges)):
        whole = getattr(library, name)
        with monkeypatch.context() as spoiled:
            spoiled.setattr(library, name, lambda *a, whole=whole, **k: np.abs(whole(*a, **k)))
            with pytest.raises(RuntimeError, match="came out wrong"):
                make()
        make()
    monkeypatch.setitem(classical.FIRST_ROWS, 12, "++-+++---++")
    with pytest.raises(RuntimeError, match="a two-level plan for 8 factors in 12 shots came out"):
        classical.plackett_burman(8, 12)


def _edges() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return classical.box_behnken(4)


@pytest.mark.parametrize(
    ("k", "halvings", "clear"), [(7, 2, 15), (8, 3, 13), (8, 2, 28), (6, 2, 0), (5, 1, 10)]
)
def test_fraction__interactions_clear_of_main_effects_and_each_other__as_in_the_catalogue(
    k: int, halvings: int, clear: int
) -> None:
    # the first three as in J. Chen, D. X. Sun and C. F. J. Wu, International Statistical Review 61
    # (1993) 131, by way of an open library's catalogue (check values MA-WLP); the others by hand:
    # resolution IV from two words of four that share no pair, and resolution V
    means = word_means(classical.fraction(k, halvings), 4)
    words = [set(chosen) for chosen, mean in means.items() if abs(mean) > 0.5]
    assert sum(not any({a, b} <= w for w in words) for b in range(k) for a in range(b)) == clear


@pytest.mark.parametrize("k", [3, 4, 5])
def test_box_behnken__k_factors__as_published(k: int) -> None:
    # Box and Behnken 1960; NIST/SEMATECH e-Handbook 5.3.3.6.2; reference/SOURCES.md
    published = _table(f"bbd{k}")
    edges = published[np.abs(published).sum(axis=1) > 0]
    assert _as_set(classical.box_behnken(k)) == _as_set(edges)


@pytest.mark.parametrize(
    ("k", "centers", "logdet", "largest"),
    [(3, 3, 17.040997, 0.75), (4, 3, 28.772384, 0.5833), (5, 6, 42.923009, 0.5)],
)
def test_box_behnken__with_centers__determinant_and_leverage(
    k: int, centers: int, logdet: float, largest: float
) -> None:
    # check values 1k, recomputed from the handbook's tables
    plan = np.vstack([classical.box_behnken(k), np.zeros((centers, k))])
    matrix = full_quadratic("abcde"[:k]).matrix(plan)
    assert np.linalg.slogdet(matrix.T @ matrix)[1] == pytest.approx(logdet, abs=1e-6)
    assert leverages(matrix).max() == pytest.approx(largest, abs=5e-5)


@pytest.mark.parametrize("runs", [8, 12, 16, 20, 24])
def test_plackett_burman__runs__orthogonal_and_as_published(runs: int) -> None:
    # Plackett and Burman 1946, reference/SOURCES.md
    rows = classical.plackett_burman(runs - 1, runs)
    np.testing.assert_allclose(rows.T @ rows, runs * np.eye(runs - 1), atol=1e-9)
    assert _as_set(rows) == _as_set(_table(f"pb{runs}"))


def test_plackett_burman__twelve_runs__aliases_as_in_another_library() -> None:
    # pyDOE2's own plan has its rows and columns in another order, but aliases the same way
    threes = [
        sorted(abs(mean) for chosen, mean in word_means(rows, 3).items() if len(chosen) == 3)
        for rows in (classical.plackett_burman(11, 12), classical._pydoe2().pbdesign(11))
    ]
    np.testing.assert_allclose(threes[0], threes[1], atol=1e-9)


@pytest.mark.parametrize(("k", "runs"), [(5, 13), (6, 13), (7, 17), (8, 17)])
def test_definitive__k_factors__main_effects_clear_of_second_order(k: int, runs: int) -> None:
    # Jones and Nachtsheim 2011 (from memory): 2k + 1 shots for even k, one center, each factor at
    # its center in two more shots, folded over
    rows = classical.definitive(k)
    assert rows.shape == (runs, k)
    assert ((rows == 0).sum(axis=0) == 3).all()
    assert _as_set(rows) == _as_set(-rows)
    assert rank(first_order("abcdefgh"[:k]), rows) == k + 1
    with pytest.raises(ValueError, match="5 to 8"):
        classical.definitive(4)


@pytest.mark.parametrize(
    ("cube", "alpha"),
    [(4, 1.4142), (8, 1.6818), (16, 2.0), (32, 2.3784), (64, 2.8284)],
)
def test_rotatable_alpha__cube__as_the_handbook(cube: int, alpha: float) -> None:
    # NIST/SEMATECH e-Handbook 5.3.3.6.1 (check values 1j)
    assert classical.rotatable_alpha(cube) == pytest.approx(alpha, abs=5e-5)


def test_rotatable_alpha__prediction__as_good_in_every_direction() -> None:
    plan = np.vstack([classical.two_level(3), classical.axial(3, 8**0.25), np.zeros((4, 3))])
    matrix = full_quadratic("abc").matrix(plan)
    ball = np.random.default_rng(1).normal(size=(50, 3))
    rows = full_quadratic("abc").matrix(ball / np.linalg.norm(ball, axis=1)[:, None])
    variance = np.einsum("mp,pq,mq->m", rows, np.linalg.inv(matrix.T @ matrix), rows)
    np.testing.assert_allclose(variance, variance[0])


@pytest.mark.parametrize(
    ("k", "cube", "centers", "alpha"), [(3, 8, (4, 2), 1.632993), (4, 16, (4, 2), 2.0)]
)
def test_blocking_alpha__two_blocks__orthogonal(
    k: int, cube: int, centers: tuple[int, int], alpha: float
) -> None:
    # NIST/SEMATECH e-Handbook 5.3.3.6.1 (check values 1j), and orthogonality itself
    assert classical.blocking_alpha(k, cube, *centers) == pytest.approx(alpha, abs=5e-7)
    blocks = [
        np.vstack([classical.two_level(k), np.zeros((centers[0], k))]),
        np.vstack([classical.axial(k, alpha), np.zeros((centers[1], k))]),
    ]
    means = [full_quadratic("abcd"[:k]).matrix(block).mean(axis=0) for block in blocks]
    np.testing.assert_allclose(means[0], means[1], atol=1e-6)
