"""The formulas of contrast and color difference give what their makers published."""

import numpy as np
import pytest
from seeing import VISION, Lab, contrast, difference, lab

#: Pairs and differences of Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21,
#: table 1, chosen there for the places where programs go wrong; numbers from memory, and that the
#: formula gives them to the fourth decimal says that memory was right.
PUBLISHED = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
    ((50, 2.49, -0.001), (50, -2.49, 0.0011), 7.2195),
    ((50, -0.001, 2.49), (50, 0.0009, -2.49), 4.8045),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("one", "other", "published"), PUBLISHED)
def test_difference__published_pairs__to_the_fourth_decimal(
    one: Lab, other: Lab, published: float
) -> None:
    assert difference(one, other) == pytest.approx(published, abs=5e-5)
    assert difference(other, one) == pytest.approx(published, abs=5e-5)


def test_contrast__published_values() -> None:
    """21 is the end of the scale by WCAG's own note to the definition; the greys are those that
    "Understanding Success Criterion 1.4.3" and common practice name, from memory."""
    assert contrast("#000", "#fff") == contrast("#fff", "#000") == pytest.approx(21.0)
    assert contrast("#123456", "#123456") == 1.0
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_lab__primaries__as_published() -> None:
    """CIELAB of the sRGB primaries under D65, to the first decimal as tables give them; numbers
    from memory."""
    assert lab("#ff0000") == pytest.approx((53.2, 80.1, 67.2), abs=0.06)
    assert lab("#0000ff") == pytest.approx((32.3, 79.2, -107.9), abs=0.06)
    assert lab("#ffffff") == pytest.approx((100, 0, 0), abs=0.02)


@pytest.mark.parametrize("vision", VISION)
def test_vision__white_grey_and_black__stay(vision: str) -> None:
    """What has no color looks the same without one kind of cone: rows of the matrices sum to 1."""
    assert VISION[vision].sum(axis=1) == pytest.approx(np.ones(3), abs=1e-5)
