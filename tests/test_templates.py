"""Templates: every value is escaped, and a missing one is a fault."""

import pytest
from jinja2 import UndefinedError

from shotwindow.reports.templates import filled


def test_filled__value_missing__is_an_error() -> None:
    with pytest.raises(UndefinedError):
        filled("sheet.html", paper="A4", wide=False)
