import pytest
from scipy import stats

from shotwindow.doe.power import power, smallest_effect


@pytest.mark.parametrize(
    ("shots", "df", "effect", "published"),
    [
        (8, 4, 2, 0.571609),
        (16, 8, 1, 0.421052),
        (16, 8, 2, 0.936743),
        (16, 11, 1.5, 0.779595),
        (32, 16, 1, 0.756655),
        (12, 6, 2, 0.821278),
    ],
)
def test_power__two_level_plans__published_figures(
    shots: int, df: int, effect: float, published: float
) -> None:
    # check values of section 4: noncentral F, effect in scatter, noncentrality n effect^2 / 4
    assert power(shots * effect**2 / 4, df) == pytest.approx(published, abs=6e-7)


def test_power__no_effect__the_level() -> None:
    assert power(0.0, 5, level=0.1) == pytest.approx(0.1)


@pytest.mark.parametrize("df", [1, 2, 3, 8, 30])
def test_smallest_effect__each_df__power_of_eighty_percent_by_noncentral_t(df: int) -> None:
    least = smallest_effect(0.7, df)
    assert least is not None
    limit = stats.t.ppf(0.975, df)
    seen = stats.nct.sf(limit, df, least / 0.7) + stats.nct.cdf(-limit, df, least / 0.7)
    # the noncentral t of the other library is good to about 1e-4 at one degree of freedom
    assert seen == pytest.approx(0.8, abs=2e-4)


def test_smallest_effect__no_scatter_known__none() -> None:
    assert smallest_effect(0.7, 0) is None
