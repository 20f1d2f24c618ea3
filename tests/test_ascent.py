import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import assert_close, montgomery_yield, numbers, words

from shotwindow.doe.terms import first_order, full_quadratic
from shotwindow.models.ascent import ridge, steepest_ascent
from shotwindow.models.stationary import Quadratic, quadratic
from shotwindow.models.textbook import fit


def test_steepest_ascent__montgomery_first_steps__as_printed() -> None:
    """Montgomery, 10th ed., Table 11.1: steps of 5 min and 2 degF (0.325 / 0.775 = 0.42)."""
    table = numbers("montgomery/table_11_1", "Time", "Temperature", "Yield")
    coded = (table[:, :2] - [35.0, 155.0]) / 5.0
    slope = fit(first_order("ab").matrix(coded), table[:, 2]).coefficients[1:]
    path = steepest_ascent(slope, 0, 1.0, 12)
    assert_close(path[1], [1.0, 0.42], atol=6e-3)
    in_units = [35.0, 155.0] + 5.0 * path
    assert np.round(in_units[1] - in_units[0]).tolist() == [5.0, 2.0]
    assert_close(path[12], 12 * path[1])


def test_steepest_ascent__two_blocks__as_printed() -> None:
    """Lenth, Journal of Statistical Software 32(7) (2009), block 1 of Table 7.6."""
    table = numbers("response_surfaces/chemreact", "Time", "Temp", "Yield")
    first = np.array([cell == "B1" for cell in words("response_surfaces/chemreact")["Block"]])
    coded = (table[first, :2] - [85.0, 175.0]) / 5.0
    slope = fit(first_order("ab").matrix(coded), table[first, 2]).coefficients[1:]
    step = steepest_ascent(slope, 0, 1.0, 1)[1]
    assert_close(step / np.linalg.norm(step), [0.8137335, 0.5812382], atol=6e-8)


def test_steepest_ascent__falling_factor_leads__goes_down_in_it() -> None:
    assert steepest_ascent(np.array([-2.0, 1.0]), 0, 0.5, 1)[1].tolist() == [-0.5, 0.25]
    with pytest.raises(ValueError, match="no slope"):
        steepest_ascent(np.array([0.0, 1.0]), 0, 0.5, 1)


def test_ridge__montgomery_yield__recomputed_maxima() -> None:
    """Montgomery, 10th ed., Table 11.6, alpha 1.414: highest points at four distances."""
    terms, response = full_quadratic("ab"), numbers("montgomery/table_11_6", "Yield")[:, 0]
    fitted = fit(terms.matrix(montgomery_yield(1.414)), response)
    surface = quadratic(terms, fitted.coefficients)
    found = ridge(surface, np.array([0.25, 0.5, 1.0, 1.414]))
    expected = [
        [0.209522, 0.136384], [0.392628, 0.309585], [0.690909, 0.722942], [0.891984, 1.097160],
    ]  # fmt: skip
    assert_close(found, expected, atol=6e-7)
    assert_close(surface(found)[[0, 2, 3]], [80.146798, 79.944379, 79.336925], atol=6e-7)


@settings(max_examples=60)
@given(
    st.integers(0, 10_000),
    st.integers(1, 4),
    st.sampled_from([0.1, 1.0, 3.0]),
    st.sampled_from(["general", "no slope", "no curve", "slope across the top axis", "nothing"]),
)
def test_ridge__any_surface__on_the_sphere_and_never_beaten(
    seed: int, k: int, radius: float, kind: str
) -> None:
    generator = np.random.default_rng(seed)
    slope, curve = generator.normal(size=k), generator.normal(size=(k, k))
    curve = curve + curve.T
    if kind in ("no slope", "nothing"):
        slope = np.zeros(k)
    if kind in ("no curve", "nothing"):
        curve = np.zeros((k, k))
    if kind.startswith("slope across"):
        top = np.linalg.eigh(curve)[1][:, -1]
        slope = slope - top * (top @ slope)
    surface = Quadratic(0.0, slope, curve)
    point = ridge(surface, np.array([radius]))[0]
    assert np.linalg.norm(point) == pytest.approx(radius, rel=1e-9)
    others = generator.normal(size=(2000, k))
    others *= radius / np.linalg.norm(others, axis=1)[:, None]
    assert float(surface(point)) >= surface(others).max() - 1e-9
