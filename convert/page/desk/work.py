"""Work that takes longer than a breath: done by worker processes, with progress, and stopped when asked."""

import itertools
import multiprocessing
import queue
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from calibration.ground.errors import InputError
from convert.page.desk.worker import serve
from convert.page.server.problems import PageError

_POLL_S = 0.1
_TOO_LONG_S = 180.0  # a picture takes 2 to 10 s; on a very slow machine ten times that
_numbers = itertools.count(1)


class Stopped(PageError):
    """The maker stopped it."""

    def __init__(self) -> None:
        super().__init__(409, "stopped", "This was stopped.", "Start it again when you like.")


@dataclass(slots=True, eq=False)
class Task:
    """One piece of work: what it is, whom to tell of its stages, and what becomes of it."""

    name: str
    arguments: tuple[Any, ...]
    stage: Callable[[str], None]
    id: str = field(default_factory=lambda: f"w{next(_numbers)}")
    result: "Future[Any]" = field(default_factory=Future)
    stopped: bool = False


class Workers:
    """A few worker processes, begun beforehand so that their imports are done when the first picture comes."""

    def __init__(self, count: int = 2) -> None:
        self._tasks: queue.Queue[Task | None] = queue.Queue()
        self._count = count
        self._threads: list[threading.Thread] = []
        self._lock = threading.Lock()
        self._closed = False

    def start(self) -> None:
        """Begin the processes; harmless if they run already."""
        with self._lock:
            if self._threads or self._closed:
                return
            self._threads = [threading.Thread(target=self._attend, daemon=True) for _ in range(self._count)]
            for thread in self._threads:
                thread.start()

    def submit(self, name: str, *arguments: Any, stage: Callable[[str], None] = lambda words: None) -> Task:
        """Give work to whichever process is free first."""
        self.start()
        task = Task(name=name, arguments=arguments, stage=stage)
        self._tasks.put(task)
        return task

    def close(self) -> None:
        """End every process."""
        self._closed = True
        for _ in self._threads:
            self._tasks.put(None)
        for thread in self._threads:
            thread.join(timeout=5)

    def _attend(self) -> None:
        """One thread for one process: hands it work, passes on its stages, replaces it when it dies."""
        process, line = _begun()
        while (task := self._tasks.get()) is not None:
            if task.stopped:
                task.result.set_exception(Stopped())
                continue
            if not process.is_alive():
                process, line = _begun()
            try:
                value = _done(task, line)
            except Exception as err:
                if not isinstance(err, InputError):  # it was killed, died, or may be in any state
                    process.kill()
                    process.join()
                    line.close()
                    process, line = _begun()
                task.result.set_exception(err)
            else:
                task.result.set_result(value)
        line.close()
        process.join(timeout=1)
        process.kill()


def _begun() -> tuple[Any, Any]:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=serve, args=(theirs,), daemon=True)
    process.start()
    theirs.close()
    return process, ours


def _done(task: Task, line: Any) -> Any:
    """What a process makes of a task."""
    until = time.monotonic() + _TOO_LONG_S
    try:
        line.send((task.name, task.arguments))
        while True:
            if task.stopped:
                raise Stopped()
            if time.monotonic() > until:
                raise PageError(
                    422, "too-long", "Reading this picture took too long.", "Photograph it again, or save it smaller."
                )
            if not line.poll(_POLL_S):
                continue
            kind, *said = line.recv()
            if kind == "stage":
                task.stage(said[0])
            elif kind == "done":
                return said[0]
            elif kind == "problem":
                raise InputError(said[0], said[1])
            else:
                print(said[0], file=sys.stderr)
                raise PageError(
                    422,
                    "fault",
                    "This is a fault of ownblock, not yours: the picture could not be read.",
                    "Try another photograph of it. The window where ownblock was started says more.",
                )
    except (EOFError, OSError) as err:
        raise PageError(
            422, "broke", "Reading this picture broke off.", "Save the picture again as a JPEG and bring it in anew."
        ) from err
