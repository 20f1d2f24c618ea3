"""Entries from several devices -> one after the other into the session, each of them once.

The press is one, so what it is set for and how long it soaks is kept here, for all devices.
"""

import time
from collections import OrderedDict
from collections.abc import Callable
from math import ceil
from threading import Lock
from typing import Any

from shotwindow.cli.later import next_to_make
from shotwindow.cli.so_far import SoFar
from shotwindow.cli.web_acts import act
from shotwindow.cli.web_bench import Bench, stood_now
from shotwindow.cli.web_entries import Conflict, Doubted, Posted, Reply
from shotwindow.cli.web_state import state_fields
from shotwindow.cli.wording import soak_whole_minutes
from shotwindow.doe.cards import Card
from shotwindow.doe.errors import StudyError
from shotwindow.doe.rows import Row
from shotwindow.doe.saving import printable
from shotwindow.doe.session import Session

_REMEMBERED = 2000  # replies; an older entry that comes again is told by the shot it is for


class Desk:
    """What the devices share: the session, the press, and which entries were taken already.

    Parameters
    ----------
    session : Session
    actual : bool, optional
        Ask for actual settings.
    card : Card, optional
        Of the material.
    so_far : SoFar, optional
        Finds what is known after each group.
    clock : function, optional
        Gives seconds that only go forward.
    """

    def __init__(
        self,
        session: Session,
        *,
        actual: bool = False,
        card: Card | None = None,
        so_far: SoFar | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._bench = Bench(session, actual=actual, card=card)
        self._so_far, self._clock = so_far, clock
        self._lock = Lock()
        self._replies: OrderedDict[str, Reply] = OrderedDict()
        self._revision = 0
        self._follow()

    @property
    def title(self) -> str:
        """What the study is called."""
        return self._bench.session.study.title

    def take(self, posted: Posted) -> Reply:
        """Do what a device asks for, once; the reply to an entry that comes again is the same."""
        with self._lock:
            known = self._replies.get(posted.id)
            if known is not None:
                return known
            reply = self._taken(posted)
            self._replies[posted.id] = reply
            if len(self._replies) > _REMEMBERED:
                self._replies.popitem(last=False)
            self._revision += 1
            return reply

    def state(self, *, focus: int | None = None, known: str = "") -> dict[str, Any]:
        """Return what a page shows, or only that nothing is new.

        Parameters
        ----------
        focus : int, optional
            An earlier shot that the page has open, to weigh or to correct.
        known : str, optional
            The revision that the page shows.
        """
        with self._lock:
            if self._so_far is not None and (news := self._so_far.news()):
                self._bench.news = news
                self._revision += 1
            # the clock alone changes this: a page that nobody touches has to hear of it, too
            if (stood := stood_now(self._bench)) != self._bench.stood:
                self._bench.stood = stood
                self._revision += 1
            revision = f"{len(self._bench.session.entries)}.{self._revision}"
            if known == revision:
                return {"revision": revision, "same": True}
            left = max(0, ceil(self._bench.soak_ends - self._clock()))
            return {"revision": revision, **state_fields(self._bench, focus, left)}

    def _taken(self, posted: Posted) -> Reply:
        bench = self._bench
        session = bench.session
        session.who = printable(" ".join(posted.who.split()))
        before = next_to_make(session)
        try:
            reply = act(bench, posted)
        except (Conflict, Doubted) as stop:
            reply = stop.reply
        except StudyError as error:
            reply = Reply(False, problems=tuple(map(str, error.problems)))
        if reply.taken and posted.act == "set" and not bench.soaks:
            bench.soaks, bench.soak_ends = True, self._clock() + 60 * bench.soak_min
        self._follow()
        if before is not None and posted.act in ("accept", "later"):
            self._end_group(before)
        return reply

    def _follow(self) -> None:
        """Turn to the shot that is to be made next; the press then is to be set for it."""
        bench = self._bench
        row = next_to_make(bench.session)
        if row is None or (bench.at_press is not None and row.shot == bench.at_press.shot):
            return
        bench.before, bench.at_press = bench.at_press, row
        was = bench.before
        bench.soak_min = 0 if was is None else soak_whole_minutes(bench.session.study, row, was)
        bench.soaks, bench.soak_ends = False, 0.0

    def _end_group(self, made: Row) -> None:
        """Begin to find what is known so far, if the group of a shot is complete."""
        following = next_to_make(self._bench.session)
        ended = following is None or following.group != made.group
        if self._so_far is not None and ended:
            self._so_far.start()
