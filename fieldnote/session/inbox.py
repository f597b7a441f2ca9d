"""Several sources at once (typed lines, an ear), taken one item at a time as they come."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterable
from typing import Generic, TypeVar

from fieldnote.errors import FieldnoteError
from fieldnote.session.notices import Notice

Item = TypeVar("Item")


class Inbox(Generic[Item]):
    """Each source is read in a thread of its own. What goes wrong with one comes as a notice, and
    the others go on."""

    def __init__(self, *sources: Iterable[Item]) -> None:
        self._queue: queue.SimpleQueue[Item | Notice | None] = queue.SimpleQueue()
        self._running = len(sources)
        for source in sources:
            threading.Thread(target=self._feed, args=(source,), daemon=True).start()

    @property
    def open(self) -> bool:
        """Whether anything may still come."""
        return self._running > 0

    def next(self, timeout: float | None = None) -> Item | Notice | None:
        """What came first; None after so many s without anything, or when a source has ended."""
        try:
            item = self._queue.get(timeout=timeout)
        except queue.Empty:
            return None
        if item is None:
            self._running -= 1
        return item

    def _feed(self, source: Iterable[Item]) -> None:
        try:
            for item in source:
                self._queue.put(item)
        except FieldnoteError as error:
            self._queue.put(Notice(str(error)))
        finally:
            self._queue.put(None)
