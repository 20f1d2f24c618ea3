"""What a picture of the page is: what is drawn, the same in words, and its numbers."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shotwindow.reports.theme import picture

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Table:
    """A table of the page: what it holds, its heads, and its rows of text."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A picture of the page: what is drawn, and the same in words."""

    svg: Any
    alt: str


@dataclass(frozen=True)
class Exhibit:
    """A figure with all that stands around it, for a page or for files of its own.

    Attributes
    ----------
    name : str
        Of its files, and of its parts in a page.
    title : str
        Its head.
    figure : Figure
    alt : str
        What it shows, for those who do not see it.
    said : str
        How to read it.
    table : Table
        Its numbers.
    """

    name: str
    title: str
    figure: "Figure"
    alt: str
    said: str
    table: Table

    def _repr_html_(self) -> str:
        """Return what a notebook shows."""
        from shotwindow.reports.notebook import exhibit_html  # which imports this module

        return exhibit_html(self)


@dataclass(frozen=True)
class Shown:
    """An exhibit as it stands in a page."""

    title: str
    picture: Picture
    said: str
    table: Table


def shown(exhibit: Exhibit) -> Shown:
    """Return an exhibit as it stands in a page."""
    svg = drawn(exhibit.figure, exhibit.name, exhibit.alt)
    return Shown(exhibit.title, svg, exhibit.said, exhibit.table)


def all_shown(exhibits: Iterable[Exhibit]) -> list[Shown]:
    """Return exhibits as they stand in a page."""
    return [shown(exhibit) for exhibit in exhibits]


def drawn(figure: "Figure", name: str, alt: str) -> Picture:
    """Return a figure as it stands in a page: as wide as there is room, with names of its own.

    Several pictures in one page would otherwise share the names of their parts.
    """
    from markupsafe import Markup

    svg = picture(figure, "svg").decode()
    bare = svg[svg.index("<svg") :]
    bare = re.sub(r'<svg [^>]*?viewBox="([^"]*)"[^>]*>', _OPENING, bare, count=1)
    bare = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", bare)
    return Picture(Markup(bare), alt)  # drawn by us: words in it are shapes, not markup


_OPENING = r'<svg viewBox="\1" xmlns:xlink="http://www.w3.org/1999/xlink" aria-hidden="true">'
