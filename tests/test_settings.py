import numpy as np

from shotwindow.doe.settings import column_in
from shotwindow.doe.study import parse_study

STUDY = parse_study("""
[factors.pressure]
unit = "psi"
low = 40
high = 70
step = 5
[factors.melt_temperature]
unit = "degF"
low = 392
high = 446
step = 18
[held.mold_temperature]
value = 104
unit = "degF"
[held.injection_time]
value = 4
unit = "strokes"
[held.nozzle]
value = "open"
""")
SETTINGS = np.array([[40.0, 392.0], [70.0, 446.0]])


def test_column_in__factor__converted() -> None:
    melt = column_in(STUDY, "melt_temperature", SETTINGS, "degC")
    assert melt is not None and melt.tolist() == [200, 230]


def test_column_in__held__repeated_and_converted() -> None:
    mold = column_in(STUDY, "mold_temperature", SETTINGS, "degC")
    assert mold is not None and mold.tolist() == [40, 40]


def test_column_in__nothing_that_fits__none() -> None:
    assert column_in(STUDY, "charge", SETTINGS, "g") is None
    assert column_in(STUDY, "nozzle_temperature", SETTINGS, "degC") is None
    assert column_in(STUDY, "nozzle", SETTINGS, "mm") is None
    assert column_in(STUDY, "injection_time", SETTINGS, "s") is None
    assert column_in(STUDY, "pressure", SETTINGS, "degC") is None
