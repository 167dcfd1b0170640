"""Pieces read off their pictures: begun, followed, stopped, and kept by what they were read from.

What is kept in memory is keyed by the pictures' contents and everything told that bears on it, so it is never stale; it
is small (no full picture), and there is a limit to how much of it there is.
"""

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError, OwnblockError
from convert.job.job import Job, PieceJob
from convert.page.desk.jobs import Folder, PieceEntry
from convert.page.desk.looked import Looked
from convert.page.desk.news import News
from convert.page.desk.work import Stopped, Task, Workers
from convert.page.server.problems import PageError, missing, problem_of
from convert.pipeline.pipeline import (
    PieceRead,
    corrections_of,
    looked_at_together,
    pictures_of,
    read_piece,
    told_of,
    tracing_of,
)

_KEPT = 32  # sheets, each 2 to 6 MB; a job has about five
_KEPT_READS = 64
_READ_BYTES = 1 << 20

Key = Any


@dataclass(slots=True, eq=False)
class _Working:
    task: Task
    whom: list[tuple[str, str]]  # jobs and pieces that wait for it
    of: int
    number: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceState:
    """How far a piece is: waiting, working, read or stuck, and then why."""

    state: str
    problem: OwnblockError | None = None


@dataclass(slots=True)
class Memory:
    """Values by key, those used longest ago dropped first."""

    limit: int
    _values: "OrderedDict[Key, Any]" = field(default_factory=OrderedDict)
    _lock: Any = field(default_factory=threading.Lock)

    def get(self, key: Key) -> Any:
        """The value kept, or None."""
        with self._lock:
            if key not in self._values:
                return None
            self._values.move_to_end(key)
            return self._values[key]

    def put(self, key: Key, value: Any) -> Any:
        """Keep a value; the value."""
        with self._lock:
            self._values[key] = value
            self._values.move_to_end(key)
            while len(self._values) > self.limit:
                self._values.popitem(last=False)
        return value

    def drop(self, key: Key) -> None:
        """Forget one."""
        with self._lock:
            self._values.pop(key, None)


class Reader:
    """Reads the pieces of all jobs."""

    def __init__(self, workers: Workers, news: News) -> None:
        self._workers = workers
        self._news = news
        self._looked = Memory(_KEPT)
        self._problems = Memory(_KEPT_READS)
        self._reads = Memory(_KEPT_READS)
        self._digests = Memory(512)
        self._working: dict[Key, _Working] = {}
        self._lock = threading.RLock()
        self._deep = threading.RLock()  # held while pieces are named, which several windows may ask for at once

    # -- contents

    def digest(self, path: Path) -> str:
        """A hash of a picture's contents; read again only when the file was touched.

        Raises
        ------
        PageError
            If it is not there.
        """
        try:
            stat = path.stat()
            seen = (str(path), stat.st_mtime_ns, stat.st_size)
            known: str | None = self._digests.get(seen)
            if known is not None:
                return known
            told = hashlib.blake2s(digest_size=12)
            with path.open("rb") as stream:
                while chunk := stream.read(_READ_BYTES):
                    told.update(chunk)
        except OSError as err:
            raise missing("picture") from err
        return str(self._digests.put(seen, told.hexdigest()))

    def key(self, piece: PieceJob) -> Key:
        """What a reading of the piece's pictures depends on."""
        pictures, size = pictures_of(piece)
        contents = tuple(Path(self.digest(path)) for path in pictures.paths)
        return replace(pictures, paths=contents, outline_told=False), size  # an outline told reads nothing anew

    # -- reading

    def begin(self, folder: Folder, entry: PieceEntry, piece: PieceJob) -> str | None:
        """Begin to read a piece's pictures; the work's id, or None if they are read already."""
        key = self.key(piece)
        with self._lock:
            self._problems.drop(key)
            if self._looked.get(key) is not None:
                self._news.tell(folder.id, {"work": "w0", "piece": entry.id, "done": True})
                return None
            working = self._working.get(key)
            if working is not None and not working.task.stopped:
                working.whom = [*dict.fromkeys([*working.whom, (folder.id, entry.id)])]
                return working.task.id
            pictures, size = pictures_of(piece)
            count = len(pictures.paths)
            task = self._workers.submit("look", pictures, size, stage=lambda words: self._stage(key, words))
            scanned = pictures.pitch_mm is None
            of = count * (1 if scanned else 2) + (count > 1) + 2
            self._working[key] = _Working(task=task, whom=[(folder.id, entry.id)], of=of)
        task.result.add_done_callback(lambda result: self._done(key, task))
        return task.id

    def stop(self, work_id: str) -> None:
        """Stop a work.

        Raises
        ------
        PageError
            If it is not under way.
        """
        with self._lock:
            working = next((one for one in self._working.values() if one.task.id == work_id), None)
            if working is None:
                raise missing("work")
            working.task.stopped = True

    def _stage(self, key: Key, words: str) -> None:
        with self._lock:
            working = self._working.get(key)
            if working is None:
                return
            working.number = min(working.number + 1, working.of)
            news = {"work": working.task.id, "stage": words, "number": working.number, "of": working.of}
            whom = list(working.whom)
        for job_id, piece in whom:
            self._news.tell(job_id, {**news, "piece": piece})

    def _done(self, key: Key, task: Task) -> None:
        err = task.result.exception()
        with self._lock:
            current = self._working.get(key)
            whom = current.whom if current is not None and current.task is task else []
            if current is not None and current.task is task:
                del self._working[key]
            if err is None:
                self._looked.put(key, task.result.result())
            else:
                self._problems.put(key, err)
        news: dict[str, Any] = {"work": task.id, "done": True}
        if isinstance(err, Stopped):
            news = {"work": task.id, "stopped": True}
        elif isinstance(err, OwnblockError):
            news = {"work": task.id, **problem_of(err)[1].model_dump()}
        elif err is not None:
            news = {"work": task.id, "problem": "Reading broke off.", "remedy": "Try it again.", "code": "fault"}
        for job_id, piece in whom:
            self._news.tell(job_id, {**news, "piece": piece})

    def resume(self, folder: Folder, pieces: list[tuple[PieceEntry, PieceJob]]) -> None:
        """Begin whatever has not been read, has not failed and was not stopped: a restart goes on where it was."""
        for entry, piece in pieces:
            try:
                key = self.key(piece)
            except PageError:
                continue
            if self._looked.get(key) is None and self._problems.get(key) is None and key not in self._working:
                self.begin(folder, entry, piece)

    # -- what was read

    def looked(self, piece: PieceJob) -> Looked:
        """What was read of a piece's pictures.

        Raises
        ------
        OwnblockError
            If they are not read, or can't be; it says why.
        """
        key = self.key(piece)
        found: Looked | None = self._looked.get(key)
        if found is not None:
            return found
        raise self._unread(key, piece)

    def _unread(self, key: Key, piece: PieceJob) -> OwnblockError:
        err: OwnblockError | None = self._problems.get(key)
        if err is not None and not isinstance(err, Stopped):
            return err
        return PageError(
            409, "unread", f"The {piece.kind} has not been read yet.", "Wait until its pictures are read, or read them."
        )

    def reads(self, job: Job) -> tuple[PieceRead | OwnblockError, ...]:
        """Each of a job's pieces as it was read, or why it was not; the same values as the command line's."""
        with self._deep:
            first = [self._read(piece, job) for piece in job.pieces]
            good = [(i, key, read) for i, (key, read) in enumerate(first) if isinstance(read, PieceRead)]
            out = [read for _, read in first]
            if good:
                together = tuple(key for _, key, _ in good)
                found = self._reads.get(together)
                if found is None:
                    told = [replace(told_of(job.pieces[i], read.read), unit=job.maker.unit) for i, _, read in good]
                    found = self._reads.put(together, looked_at_together(tuple(read for *_, read in good), told))
                for (i, _, _), read in zip(good, found, strict=True):
                    out[i] = read
            return tuple(out)

    def _read(self, piece: PieceJob, job: Job) -> tuple[Key, PieceRead | OwnblockError]:
        """A piece by itself, and the key it is kept under."""
        try:
            looked = self.looked(piece)
        except OwnblockError as err:
            return None, err
        key = (self.key(piece), repr(piece), job.maker.unit)
        found: PieceRead | OwnblockError | None = self._reads.get(key)
        if found is None:
            try:
                alone = corrections_of(piece, looked.read).outline is not None
                source = looked.whole() if alone else looked.read
                told = replace(told_of(piece, looked.read), unit=job.maker.unit)
                tracing = tracing_of(piece, source, looked.tracings)
                found = read_piece(tracing, looked.read, piece.kind, told)
            except InputError as err:
                found = err
            self._reads.put(key, found)
        return key, found

    def all_reads(self, job: Job) -> tuple[PieceRead, ...]:
        """Every piece of a job.

        Raises
        ------
        OwnblockError
            If one is not read, or can't be: the first that is not.
        """
        reads = self.reads(job)
        for one in reads:
            if isinstance(one, OwnblockError):
                raise one
        return tuple(one for one in reads if isinstance(one, PieceRead))

    def state(self, piece: PieceJob, read: PieceRead | OwnblockError) -> PieceState:
        """How far a piece is."""
        if isinstance(read, PieceRead):
            return PieceState(state="read")
        try:
            key = self.key(piece)
        except OwnblockError as err:
            return PieceState(state="stuck", problem=err)
        if key in self._working:
            return PieceState(state="working")
        if isinstance(read, PageError) and read.code in ("unread", "stopped"):
            return PieceState(state="waiting")
        return PieceState(state="stuck", problem=read)
