"""A figure whose axes are drawn quickly: each keeps one tick and stamps it wherever one belongs.

matplotlib makes a tick of five parts for each mark and asks each of them again and again how much
room it takes, which is half of the time of a page with many small panels. What is drawn is the
same.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.axis import Axis, Tick, XAxis, YAxis
from matplotlib.backend_bases import RendererBase
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

Array = NDArray[np.float64]
Stamp = tuple[Tick, Array, list[str]]  # a tick, where it stands, and what is written there

_NEAR = 1e-10  # of an axis: a tick that lies so little beyond its end still is on it


class _Stamped(Axis):
    """An axis with ticks and numbers below it or to its left; others are left to matplotlib."""

    along: int  # 0 across, 1 upward

    def reset_ticks(self) -> None:
        """Forget all ticks; the first of each size is made when it is needed."""
        self.majorTicks: list[Tick] = []
        self.minorTicks: list[Tick] = []
        self._rooms: dict[tuple[str, float], Array] = {}

    def draw(self, renderer: RendererBase) -> None:
        """Draw all ticks of a size in one go, then their numbers."""
        if not self.get_visible():
            return
        stamps = self._stamps()
        if self._is_unusual():
            super().draw(renderer)
            return
        renderer.open_group("axis", gid=self.get_gid())
        for tick, places, words in stamps:
            line = tick.tick1line
            before = line.get_data()
            line.set_data(*self._placed(places, np.zeros(len(places))))
            line.draw(renderer)
            line.set_data(*before)
            if tick.label1.get_visible():
                for place, word in zip(places, words, strict=True):
                    if word:
                        self._write(tick.label1, place, word)
                        tick.label1.draw(renderer)
        self._place_label(stamps, renderer)
        self.label.draw(renderer)
        renderer.close_group("axis")
        self.stale = False

    def get_tightbbox(
        self, renderer: RendererBase | None = None, *, for_layout_only: bool = False
    ) -> Bbox | None:
        """Return the room that numbers and label take, in pixels; ticks lie within it."""
        stamps = self._stamps()
        if renderer is None or self._is_unusual():
            return super().get_tightbbox(renderer, for_layout_only=for_layout_only)
        rooms = self._place_label(stamps, renderer)
        if self.label.get_text():
            room = np.array(self.label.get_window_extent(renderer).extents)
            if for_layout_only:  # how long a label is moves no panel
                middle = float(room[self.along :: 2].mean())
                room[self.along :: 2] = middle - 0.5, middle + 0.5
            rooms = np.vstack([rooms, room])
        return Bbox([rooms[:, :2].min(axis=0), rooms[:, 2:].max(axis=0)])

    def _stamps(self) -> list[Stamp]:
        """Return the tick of each size with the places within the axis where it stands."""
        stamps = []
        low, high = sorted(self.get_view_interval())
        spare = _NEAR * (high - low)
        self.get_major_ticks(1)  # the first tick of all puts the frame in its place
        for is_major in (True, False):
            places = self.get_majorticklocs() if is_major else self.get_minorticklocs()
            formatter = self.get_major_formatter() if is_major else self.get_minor_formatter()
            if not len(places):
                continue
            words = formatter.format_ticks(places.tolist())
            tick = (self.get_major_ticks(1) if is_major else self.get_minor_ticks(1))[0]
            shown = (places >= low - spare) & (places <= high + spare)
            some = [word for word, is_shown in zip(words, shown, strict=True) if is_shown]
            stamps.append((tick, places[shown], some))
        return stamps

    def _is_unusual(self) -> bool:
        """Tell whether there is more than ticks and numbers, such as a common power of ten."""
        return bool(self.get_major_formatter().get_offset()) or self.get_label_position() not in (
            "bottom",
            "left",
        )

    def _placed(self, along: Any, across: Any) -> tuple[Any, Any]:
        return (across, along) if self.along else (along, across)

    def _write(self, label: Text, place: float, word: str) -> None:
        label.set_text(word)
        label.set_position(self._placed(place, 0.0))

    def _place_label(self, stamps: list[Stamp], renderer: RendererBase) -> Array:
        """Put the label beyond all numbers; return the panel with room for ticks and numbers."""
        pixels = self.axes.figure.dpi / 72
        panel = np.array(self.axes.bbox.extents)
        rooms = [panel]
        for tick, places, words in stamps:
            if tick.tick1line.get_visible() and len(places):
                reach = panel.copy()
                reach[1 - self.along] -= tick.get_tick_padding() * pixels
                rooms.append(reach)
            if tick.label1.get_visible():
                rooms.extend(self._numbers(tick.label1, places, words, renderer))
        together = np.vstack(rooms)
        end = together[:, 1 - self.along].min() - self.labelpad * pixels
        self.label.set_position(self._placed(self.label.get_position()[self.along], end))
        return together

    def _numbers(
        self, label: Text, places: Array, words: list[str], renderer: RendererBase
    ) -> Iterator[Array]:
        """Give the rooms of all numbers; a number takes as much room wherever it stands."""
        if not len(places):
            return
        anchors = label.get_transform().transform(
            np.column_stack(self._placed(places, np.zeros(len(places))))
        )
        for place, word, anchor in zip(places, words, anchors, strict=True):
            if not word:
                continue
            here, key = (
                np.tile(anchor, 2),
                (word, float(label.get_fontsize()) * self.axes.figure.dpi),
            )
            if key not in self._rooms:
                self._write(label, place, word)
                self._rooms[key] = np.array(label.get_window_extent(renderer).extents) - here
            yield self._rooms[key] + here


class _Across(_Stamped, XAxis):
    along = 0

    def get_ticks_position(self) -> Any:
        """Return where ticks stand, which the first of each size tells."""
        self.get_major_ticks(1)
        self.get_minor_ticks(1)
        return super().get_ticks_position()


class _Upward(_Stamped, YAxis):
    along = 1


class Panel(Axes):
    """Axes of a figure; how much room they take does not depend on how thick their frame is."""

    def _init_axis(self) -> None:
        self.xaxis, self.yaxis = _Across(self, clear=False), _Upward(self, clear=False)
        for name, axis in (("bottom", self.xaxis), ("top", self.xaxis)):
            self.spines[name].register_axis(axis)
        for name in ("left", "right"):
            self.spines[name].register_axis(self.yaxis)

    def get_default_bbox_extra_artists(self) -> list[Any]:
        """Return what may reach beyond the panel: all that is not cut off there, but the frame."""
        drawn = (*self.texts, *self.lines, *self.patches, *self.collections)
        reaching = (*self.child_axes, *(each for each in drawn if not _is_cut_off(each)))
        return [each for each in reaching if each.get_visible() and each.get_in_layout()]


def _is_cut_off(each: Artist) -> bool:
    """Tell whether what is drawn ends at the panel's frame; words have nothing to end at."""
    ends = each.get_clip_box() is not None or each.get_clip_path() is not None
    return ends and each.get_clip_on()


class Sheet(Figure):
    """A figure whose panels are quick."""

    def add_subplot(self, *args: Any, **look: Any) -> Any:
        """Add a panel, as ``subplots`` does for each of its own."""
        return super().add_subplot(*args, **{"axes_class": Panel, **look})
