"""Long work beside the window: the newest request wins, and nothing outlives its owner."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, TypeAlias

from PySide6.QtCore import QObject, Qt, Signal

from app.session.collecting import Collector
from core.words.errors import Cancelled, UserError

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.words.errors import Show

    Tick: TypeAlias = Callable[[float], None]


class Job(QObject):
    """Runs the newest request in a thread; a newer one cancels it, late answers are dropped.

    Attributes:
        done: what the newest request answered.
        failed: the exception that it ended with; one that is no refusal is raised once all have heard of it.
        progressed: the part of it that is done, 0 to 1.
        busy_changed: whether an answer is still to come; told before ``done`` and ``failed``.
    """

    done = Signal(object)
    failed = Signal(object)
    progressed = Signal(float)
    busy_changed = Signal(bool)
    _answered = Signal(int, object, object)  # crosses from the worker's thread to ours, queued
    _ticked = Signal(int, float)

    def __init__(
        self,
        parent: QObject | None = None,
        done: Callable[[Any], None] | None = None,
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Nothing to do yet; ``done`` and ``failed`` are told what the signals tell."""
        super().__init__(parent)
        if done is not None:
            self.done.connect(done)
        if failed is not None:
            self.failed.connect(failed)
        self._pool: ThreadPoolExecutor | None = None
        self._collector = Collector(self)
        self._newest = 0
        self._is_running = False
        # Queued, so that an answer is delivered by the event loop even when it comes from our own thread in a test.
        self._answered.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self._ticked.connect(self._pass_on, Qt.ConnectionType.QueuedConnection)

    @property
    def is_running(self) -> bool:
        """Whether an answer is still to come."""
        return self._is_running

    def submit(self, work: Callable[[Tick], object]) -> None:
        """Ask for an answer; whatever was asked for before is called off at its next tick."""
        self._newest += 1
        if self._pool is None:  # a thread is only started once there is something slow
            self._collector.begin()
            self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="seatwright")
        self._pool.submit(self._run, self._newest, work)
        self._be_busy(True)

    def cancel(self) -> None:
        """Call off what is running; neither ``done`` nor ``failed`` follows."""
        self._newest += 1
        self._be_busy(False)

    def _be_busy(self, is_busy: bool) -> None:  # noqa: FBT001 - as the signal
        if is_busy != self._is_running:
            self._is_running = is_busy
            self.busy_changed.emit(is_busy)

    def close(self) -> None:
        """Call off everything and wait for the thread: for the owner's end."""
        self.cancel()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None
            self._collector.end()

    def _run(self, number: int, work: Callable[[Tick], object]) -> None:
        def tick(fraction: float) -> None:
            if number != self._newest:
                raise Cancelled
            self._ticked.emit(number, fraction)

        try:
            tick(0.0)  # a request that waited behind a slow one may be stale already
            self._answered.emit(number, work(tick), None)
        except Cancelled:
            pass
        except Exception as error:  # noqa: BLE001 - the thread's edge: the owner says it to the user
            self._answered.emit(number, None, error)

    def _deliver(self, number: int, answer: object, error: Exception | None) -> None:
        if number != self._newest:  # it was on its way when a newer request was made
            return
        self._be_busy(False)
        if error is None:
            self.done.emit(answer)
            return
        self.failed.emit(error)
        if not isinstance(error, UserError):
            raise error

    def _pass_on(self, number: int, fraction: float) -> None:
        if number == self._newest:
            self.progressed.emit(fraction)


def failure_text(error: Exception, show: Show) -> str:
    """Why work came to nothing, as a sentence; an error that is no refusal is the program's own."""
    if isinstance(error, UserError):
        return error.message(show)
    return f"The program met an error of its own ({error})."
