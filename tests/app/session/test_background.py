from __future__ import annotations

import threading
import weakref
from typing import TYPE_CHECKING

import pytest

from app.session.background import Job
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from app.session.background import Tick


@pytest.fixture
def job(qapp: QApplication) -> Iterator[Job]:
    assert qapp is not None
    made = Job()
    yield made
    made.close()


def test_the_answer_comes_in_the_windows_thread(job: Job, qtbot: QtBot) -> None:
    threads: list[threading.Thread] = []
    job.done.connect(lambda _: threads.append(threading.current_thread()))
    with qtbot.waitSignal(job.done) as blocker:
        job.submit(lambda _tick: threading.current_thread().name)
    assert blocker.args is not None
    assert blocker.args[0].startswith("seatwright")
    assert threads == [threading.main_thread()]
    assert not job.is_running


def test_cycles_are_collected_in_the_windows_thread_alone(job: Job, qtbot: QtBot) -> None:
    threads: list[threading.Thread] = []

    class Knot:
        itself: Knot

    def work(_tick: Tick) -> list[list[int]]:
        knot = Knot()
        knot.itself = knot
        weakref.finalize(knot, lambda: threads.append(threading.current_thread()))
        del knot
        return [[i] for i in range(100_000)]  # enough for Python to collect many times

    kept: list[object] = []
    job.done.connect(kept.append)
    job.submit(work)
    qtbot.waitUntil(lambda: bool(threads), timeout=20_000)
    assert kept
    assert threads == [threading.main_thread()]


def test_the_newest_request_wins_and_the_older_one_is_called_off(job: Job, qtbot: QtBot) -> None:
    started, release = threading.Event(), threading.Event()
    ended: list[str] = []

    def old(tick: Tick) -> str:
        started.set()
        release.wait(10)
        try:
            tick(0.5)
        finally:
            ended.append("old")
        return "old"

    job.submit(old)
    assert started.wait(10)
    with qtbot.waitSignal(job.done) as blocker:
        job.submit(lambda _tick: "new")
        release.set()
    assert blocker.args == ["new"]
    assert ended == ["old"]


def test_a_refusal_is_told_and_not_raised(job: Job, qtbot: QtBot) -> None:
    def fail(_tick: Tick) -> None:
        raise FileError("there", "is no room")

    with qtbot.waitSignal(job.failed) as blocker:
        job.submit(fail)
    assert blocker.args is not None
    assert str(blocker.args[0]) == "there: is no room"


def test_an_error_of_the_programs_own_is_told_and_raised(job: Job, qtbot: QtBot) -> None:
    def fail(_tick: Tick) -> None:
        raise RuntimeError("of its own")

    with qtbot.captureExceptions() as raised, qtbot.waitSignal(job.failed):
        job.submit(fail)
    assert [str(error) for _, error, _ in raised] == ["of its own"]
    assert not job.is_running


def test_it_is_busy_from_the_first_request_to_the_last_answer(job: Job, qtbot: QtBot) -> None:
    told: list[object] = []
    job.busy_changed.connect(told.append)
    job.done.connect(told.append)
    with qtbot.waitSignal(job.done):
        job.submit(lambda _tick: "old")
        job.submit(lambda _tick: "new")
    assert told == [True, False, "new"]


def test_progress_is_told(job: Job, qtbot: QtBot) -> None:
    told: list[float] = []
    job.progressed.connect(told.append)

    def work(tick: Tick) -> None:
        tick(0.25)
        tick(0.75)

    with qtbot.waitSignal(job.done):
        job.submit(work)
    assert told == [0.0, 0.25, 0.75]


def test_a_cancelled_request_neither_answers_nor_fails(job: Job, qtbot: QtBot) -> None:
    release = threading.Event()

    def work(tick: Tick) -> str:
        release.wait(10)
        tick(0.9)
        return "late"

    with qtbot.assertNotEmitted(job.done), qtbot.assertNotEmitted(job.failed):
        job.submit(work)
        job.cancel()
        release.set()
        job.close()
        qtbot.waitUntil(lambda: not job.is_running)
