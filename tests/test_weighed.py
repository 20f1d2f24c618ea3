"""Part masses: tolerance limits and capability of published readings."""

import numpy as np
import pytest

from shotwindow.models.weighed import weigh


def test_weigh__ten_parts__exact_factor() -> None:
    grams = 2.1 + 0.01 * np.array([-1.3, -0.9, -0.5, -0.2, 0.0, 0.1, 0.3, 0.6, 0.9, 1.0])
    found = weigh(1, grams, 2.05, 0.95, 0.95)
    assert found is not None
    # k2 = 3.39343 for 10 readings, 95/95 (ISO 16269-6:2014; recomputed with two programs)
    assert (found.high - found.mean) / grams.std(ddof=1) == pytest.approx(3.39343, abs=1e-5)
    assert found.mean - found.low == pytest.approx(found.high - found.mean)
    assert found.cpk == pytest.approx((grams.mean() - 2.05) / (3 * grams.std(ddof=1)))
    assert found.cpk_low < found.cpk < found.cpk_high


def test_weigh__all_alike_or_too_few__none() -> None:
    assert weigh(1, np.full(9, 2.1), 2.0, 0.9, 0.9) is None
    assert weigh(1, np.array([2.1]), 2.0, 0.9, 0.9) is None
