import numpy as np
import pytest
from published import assert_close

from shotwindow.models.capability import capability


def test_capability__handbook__indices() -> None:
    """NIST/SEMATECH e-Handbook 6.1.6: limits 8 and 20, mean 16, sd 2 (page from memory)."""
    found = capability(16.0, 2.0, 30, (8.0, 20.0), target=14.0)
    assert_close(
        [found.cp, found.cpl, found.cpu, found.cpk, found.cpm],
        [1.0, 1.3333, 0.6667, 0.6667, 0.707107],
        atol=4e-5,
    )
    assert_close(found.cpm, 0.707107, atol=6e-7)


def test_capability__montgomery__limits_of_cp() -> None:
    """Montgomery, Introduction to Statistical Quality Control: 1.57 to 3.01 (from memory)."""
    found = capability(50.0, 1.75, 20, (38.0, 62.0))
    assert_close([found.cp, found.cp_low, found.cp_high], [2.2857, 1.565, 3.006], atol=5.1e-4)
    assert_close(found.cp, 2.2857, atol=5e-5)
    found = capability(0.0, 1.0, 30, (-3.0, 3.0))
    assert_close([found.cp_low, found.cp_high], [0.743873, 1.255639], atol=6e-7)


def test_capability__bissell__limits_of_cpk() -> None:
    """Bissell, Applied Statistics 39 (1990); n = 20 in Montgomery as 0.88 to 1.78 (memory)."""
    found = capability(0.0, 1.0, 20, (-3.99, None))
    assert_close([found.cpk_low, found.cpk_high], [0.883, 1.777], atol=5.1e-4)
    found = capability(0.0, 1.0, 50, (None, 3.99))
    assert_close([found.cpk_low, found.cpk_high], [1.050939, 1.609061], atol=6e-7)
    one_sided = capability(0.0, 1.0, 50, (None, 3.99), level=0.90)
    assert_close(one_sided.cpk_low, 1.095805, atol=6e-7)


def test_capability__one_limit__what_can_be_said() -> None:
    found = capability(5.0, 1.0, 10, (None, 8.0), target=4.0)
    assert found.cp is None and found.cp_low is None and found.cpm is None and found.cpl is None
    assert found.cpk == found.cpu == 1.0


def test_capability__limits_of_cp__hold_as_often_as_stated() -> None:
    """2000 samples of 12 with Cp = 1, 95 %: 1900 +- 9.7; fails by chance in 1 of 1000."""
    deviations = np.random.default_rng(51).normal(size=(2000, 12)).std(axis=1, ddof=1)
    held = 0
    for sd in deviations:
        found = capability(0.0, float(sd), 12, (-3.0, 3.0))
        assert found.cp_low is not None and found.cp_high is not None
        held += found.cp_low <= 1.0 <= found.cp_high
    assert 1868 <= held <= 1932


@pytest.mark.parametrize(
    ("sd", "shots", "limits"),
    [(0.0, 5, (0.0, 1.0)), (1.0, 1, (0.0, 1.0)), (1.0, 5, (None, None))],
)
def test_capability__nothing_to_judge__refused(
    sd: float, shots: int, limits: tuple[float | None, float | None]
) -> None:
    with pytest.raises(ValueError, match="capability needs"):
        capability(0.5, sd, shots, limits)
