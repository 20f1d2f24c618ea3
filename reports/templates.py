"""The name of a page in this folder and what stands in it -> the page, user text made harmless."""

from importlib.resources import files
from typing import Any


def filled(name: str, **values: Any) -> str:
    r"""Return a template filled in.

    Every value is escaped, so that markup in a user's text is shown and never obeyed; a name that
    is not given is an error.

    Examples
    --------
    >>> from shotwindow.reports.sheet import RunSheet
    >>> from shotwindow.reports.templates import filled
    >>> sheet = RunSheet("<script>", (), (), (), (), (), ())
    >>> "&lt;script&gt;" in filled("sheet.html", sheet=sheet, paper="A4", wide=False)
    True
    """
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    folder = files("shotwindow.reports")
    pages = Environment(
        loader=FunctionLoader(lambda page: folder.joinpath(page).read_text("utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return pages.get_template(name).render(**values)
