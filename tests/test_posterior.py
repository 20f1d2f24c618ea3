"""The censored surface against published fits, closed forms and plain integration."""

from pathlib import Path

import numpy as np
import pytest
from densities import density, most_probable, prior
from scipy.stats import multivariate_normal, norm

from shotwindow.models.drawing import draw
from shotwindow.models.matching import factors
from shotwindow.models.sequential import particles

REFERENCE = Path(__file__).parent / "reference" / "censored"
WIDE = {"intercept_sd": 1e7, "effect": 1e7}


def _table(name: str) -> dict[str, np.ndarray]:
    with open(REFERENCE / name, encoding="utf-8") as file:
        heads = [h.strip('"') for h in file.readline().strip().split(",")]
        rows = [
            [cell.strip('"') for cell in line.strip().split(",")] for line in file if line.strip()
        ]
    return {
        head: np.array(column) for head, column in zip(heads, zip(*rows, strict=True), strict=True)
    }


def _tobit(
    y: np.ndarray, x: np.ndarray, left: float, right: float, sigma: float
) -> tuple[np.ndarray, float]:
    """Our most probable coefficients at the published scatter, and the log likelihood there."""
    low = np.where(y <= left, -np.inf, np.where(y >= right, right, y))
    high = np.where(y <= left, left, np.where(y >= right, np.inf, y))
    design = np.column_stack([np.ones(y.size), x])
    what = density(design, low[:, None], high[:, None], prior(design.shape[1], **WIDE))
    scales = np.array([[np.log(sigma)], [np.log(WIDE["effect"])]])
    rest = most_probable(what, scales)
    fit = what.likelihood(
        what.rows @ rest[:, None], what.ends(what.logs(scales)), np.array([sigma])
    )
    assert fit.log_sigma.sum() == pytest.approx(0.0, abs=2e-4)  # sigma is at its best as well
    return rest, float(fit.log_probability.sum())


def test_likelihood__tobin_1958__as_published() -> None:
    """Tobin, Econometrica 26 (1958), data as in R package survival (tobin).

    The prior is ten million units wide: the likelihood alone decides, to six digits.
    """
    data = _table("tobin.csv")
    y = data["durable"].astype(float)
    x = np.column_stack([data["age"], data["quant"]]).astype(float)
    found, log_likelihood = _tobit(y, x, 0.0, np.inf, 5.57253976)
    assert found == pytest.approx([15.1448664, -0.1290593, -0.0455417], abs=2e-6)
    assert log_likelihood == pytest.approx(-28.9401332, abs=1e-6)


@pytest.mark.parametrize(
    ("right", "sigma", "expected", "log_likelihood"),
    [
        (
            np.inf,
            8.24708033,
            [8.17419743, -0.17933258, 0.55414181, -1.68622049, 0.32605325, -2.28497272],
            -705.5762226,
        ),
        (
            4.0,
            7.94321944,
            [7.90098045, -0.17759821, 0.53230211, -1.61633565, 0.32418646, -2.20700745],
            -500.0427601,
        ),
    ],
)
def test_likelihood__fair_1978__as_published(
    right: float, sigma: float, expected: list[float], log_likelihood: float
) -> None:
    """Fair, J. Polit. Econ. 86 (1978); Greene, Econometric Analysis, 5th ed., p. 767."""
    data = _table("fair_affairs.csv")
    names = ["age", "yearsmarried", "religiousness", "occupation", "rating"]
    x = np.column_stack([data[name] for name in names]).astype(float)
    found, value = _tobit(data["affairs"].astype(float), x, 0.0, right, sigma)
    assert found == pytest.approx(expected, abs=2e-5)
    assert value == pytest.approx(log_likelihood, abs=1e-5)


def test_draw__nothing_censored__as_the_closed_form() -> None:
    """Scales fixed and readings exact: everything is normal, with a covariance written by hand."""
    rng = np.random.default_rng(3)
    shots, cavities, group = 10, 2, np.repeat(np.arange(5), 2)
    design = np.column_stack([np.ones(shots), rng.uniform(-1, 1, shots)])
    y = rng.normal(size=(shots, cavities))
    drawn = draw(density(design, y, y, prior(2), group=group), rng, draws=4096)
    x = np.repeat(design, cavities, axis=0)
    same_shot = np.kron(np.eye(shots), np.ones((cavities, cavities)))
    groups = np.repeat(group, cavities)
    covariance = (
        0.25 * same_shot
        + 0.16 * (groups[:, None] == groups)  # (0.8 x 0.5)^2
        + 0.16 * np.kron(np.ones((shots, shots)), np.eye(cavities))  # cavities, 0.4^2
        + 0.09 * np.eye(shots * cavities)  # (0.6 x 0.5)^2
    )
    whole = x @ x.T + covariance
    mean = x.T @ np.linalg.solve(whole, y.ravel())
    spread = np.eye(2) - x.T @ np.linalg.solve(whole, x)
    # six standard errors of a mean of 4,096 draws: a false alarm in a thousand million
    error = 6.0 * np.sqrt(np.diag(spread) / 4096)
    assert np.all(np.abs(drawn.states[:2].mean(axis=1) - mean) < error)
    assert np.cov(drawn.states[:2]) == pytest.approx(spread, abs=0.12 * spread.max())


def test_particles__one_sided_readings__evidence_is_the_orthant_probability() -> None:
    """The chance that all readings fall as they did, against the normal integral of scipy."""
    rng = np.random.default_rng(8)
    design = np.column_stack([np.ones(4), np.linspace(-1, 1, 4)])
    limit = np.array([0.2, -0.1, 0.3, 0.0])
    low, high = np.full((4, 1), -np.inf), limit[:, None]
    what = density(design, low, high, prior(2))
    scales = np.tile(what.log_median[:, None], (1, 64))
    found = particles(what, scales, factors(what, scales), 64, rng)
    expected = multivariate_normal(np.zeros(4), design @ design.T + 0.25 * np.eye(4)).cdf(limit)
    # 64 estimates, each off by a few percent: their mean is off by less than one percent
    assert np.exp(found.log_evidence).mean() == pytest.approx(expected, rel=0.01)


def test_draw__scatter_and_mean_unknown__as_plain_integration() -> None:
    """Intercept and scatter of mixed readings, integrated on a fine grid."""
    low = np.array([0.0, 0.4, -np.inf, 0.1, 0.35, 0.8])
    high = np.array([np.inf, 0.4, 0.2, 0.3, 0.35, np.inf])
    what = density(np.ones((6, 1)), low[:, None], high[:, None], prior(1, scatter_spread=0.8))
    drawn = draw(what, np.random.default_rng(2), draws=8192, effective=3000.0)
    mean, log_sd = np.meshgrid(np.linspace(-3, 4, 601), np.linspace(-5, 3, 601), indexing="ij")
    sd = np.exp(log_sd)
    log = norm.logpdf(mean) + norm.logpdf(log_sd, np.log(0.5), 0.8)
    for a, b in zip(low, high, strict=True):
        if a == b:
            log += norm.logpdf(a, mean, sd)
        else:
            chance = norm.cdf(b, mean, sd) - norm.cdf(a, mean, sd)
            log += np.log(np.maximum(chance, 1e-300))
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    for values, states in ((mean, drawn.states[0]), (log_sd, drawn.states[1])):
        center = float((weight * values).sum())
        spread = float(np.sqrt((weight * (values - center) ** 2).sum()))
        # five standard errors at 3,000 effective draws
        assert states.mean() == pytest.approx(center, abs=5 * spread / np.sqrt(3000))
        assert states.std() == pytest.approx(spread, rel=5 / np.sqrt(2 * 3000))


def test_draw__same_seed__same_draws() -> None:
    what = density(np.ones((3, 1)), np.zeros((3, 1)), np.full((3, 1), np.inf), prior(1))
    one, two = (draw(what, np.random.default_rng(4), draws=64).states for _ in range(2))
    assert np.array_equal(one, two)


def test_draw__readings_that_hardly_fit_any_scale__finite_and_honest() -> None:
    """A wild reading among exact ones: no overflow, no warning, and a verdict either way."""
    rng = np.random.default_rng(1)
    design = np.column_stack([np.ones(8), rng.uniform(-1, 1, 8)])
    y = np.array([[0.1], [0.1], [0.1], [0.1], [0.1], [0.1], [0.1], [40.0]])
    drawn = draw(density(design, y, y, prior(2, scatter=0.01, scatter_spread=0.8)), rng)
    assert np.isfinite(drawn.states).all()
    assert isinstance(drawn.diagnostics.converged, bool)
