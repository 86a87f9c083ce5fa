"""Signals that wait: an interrupt, a request to end and a closed terminal are acted on when a step is over."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from types import FrameType, TracebackType
from typing import Any

Handler = Callable[[int, FrameType | None], Any] | int | signal.Handlers | None

WAITING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name))
"""What can be made to wait. SIGKILL cannot, nor a loss of power."""


class deferred:  # noqa: N801 - used as a context, like contextlib's own
    """A step that no signal interrupts: what comes meanwhile is acted on at its end, as it would have been before.

    Only the main thread of a process is interrupted by signals; in any other this does nothing. Signals that are
    ignored stay ignored.
    """

    def __init__(self) -> None:
        self._before: dict[int, Handler] = {}
        self._came: list[int] = []

    def __enter__(self) -> deferred:
        if threading.current_thread() is not threading.main_thread():
            return self
        try:
            for number in WAITING:
                handler = signal.getsignal(number)
                if handler not in (signal.SIG_IGN, None):
                    self._before[number] = handler
                    signal.signal(number, self._note)
        except BaseException:  # a signal that came before it could be made to wait
            self._restore()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._restore()
        for number in self._came:
            signal.raise_signal(number)

    def _note(self, number: int, _frame: FrameType | None) -> None:
        self._came.append(number)

    def _restore(self) -> None:
        interrupted: BaseException | None = None
        for number, handler in self._before.items():
            try:
                signal.signal(number, handler)
            except BaseException as error:  # a signal whose handler is back already; the others' come back first
                interrupted = error
                signal.signal(number, handler)
        if interrupted is not None:
            raise interrupted
