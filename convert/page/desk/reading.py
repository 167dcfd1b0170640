"""Pieces read off their pictures: begun, followed, stopped, and kept by what they were read from.

What is kept, in memory and beside the job, is keyed by the pictures' contents, everything told that bears on it and the
program's version, so it is never stale; it is small (no full picture), and there is a limit to how much of it there is.
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
from convert.page.desk.looked import Looked, Sizes
from convert.page.desk.news import News
from convert.page.desk.store import name_of, recalled, remember
from convert.page.desk.work import Stopped, Task, Workers
from convert.page.server import words
from convert.page.server.problems import PageError, missing, problem_of
from convert.pipeline.look import outline_told, pictures_of
from convert.pipeline.name import PieceNamed, PieceRead, name_piece
from convert.pipeline.together import agreed

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
        pictures = pictures_of(piece)
        contents = tuple(Path(self.digest(path)) for path in pictures.paths)
        return replace(pictures, paths=contents), piece.size

    # -- reading

    def begin(self, folder: Folder, entry: PieceEntry, piece: PieceJob) -> str | None:
        """Begin to read a piece's pictures; the work's id, or None if they are read already."""
        key = self.key(piece)
        self._recall(folder.path, key)
        with self._lock:
            self._problems.drop(key)
            if self._looked.get(key) is not None:
                self._news.tell(folder.id, {"work": "w0", "piece": entry.id, "done": True})
                return None
            working = self._working.get(key)
            if working is not None and not working.task.stopped:
                working.whom = [*dict.fromkeys([*working.whom, (folder.id, entry.id)])]
                return working.task.id
            pictures = pictures_of(piece)
            count = len(pictures.paths)
            wanted = (pictures, piece.size, outline_told(piece))
            task = self._workers.submit("look", *wanted, stage=lambda words: self._stage(key, words))
            scanned = pictures.pitch_mm is None
            of = count * (1 if scanned else 2) + (count > 1) + 2
            self._working[key] = _Working(task=task, whom=[(folder.id, entry.id)], of=of)
        task.result.add_done_callback(lambda _result: self._done(key, task, folder.path))
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

    def _done(self, key: Key, task: Task, job: Path) -> None:
        err = task.result.exception()
        if err is None:
            remember(job, name_of("look", key), task.result.result())
        with self._lock:
            current = self._working.get(key)
            whom = current.whom if current is not None and current.task is task else []
            if current is not None and current.task is task:
                del self._working[key]
            if err is None:
                self._put(key, task.result.result())
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
            self._recall(folder.path, key)
            if self._looked.get(key) is None and self._problems.get(key) is None and key not in self._working:
                self.begin(folder, entry, piece)

    # -- what was read

    def _recall(self, job: Path, key: Key) -> None:
        """Have what an earlier start has read of some pictures."""
        if self._looked.get(key) is None:
            kept = recalled(job, name_of("look", key))
            if isinstance(kept, Looked | Sizes):
                self._put(key, kept)

    def _put(self, key: Key, found: Looked | Sizes) -> None:
        """Have what was read; each of several sizes under its own number too."""
        self._looked.put(key, found)
        for number, look in enumerate(found.looks if isinstance(found, Sizes) else (), 1):
            self._looked.put((key[0], number), look)

    def choices(self, piece: PieceJob, job: Path) -> Looked | Sizes | None:
        """What the picture lets choose among: its several pieces, or its several sizes if these were read."""
        key = self.key(piece)
        for one in dict.fromkeys([(key[0], None), key]):
            self._recall(job, one)
            found: Looked | Sizes | None = self._looked.get(one)
            if found is not None:
                return found
        return None

    def looked(self, piece: PieceJob, job: Path) -> Looked:
        """What was read of a piece's pictures, which lie in the folder ``job``.

        Raises
        ------
        OwnblockError
            If they are not read, or can't be; it says why.
        """
        key = self.key(piece)
        self._recall(job, key)
        found: Looked | Sizes | None = self._looked.get(key)
        if isinstance(found, Looked):
            return found
        if found is not None:
            raise PageError(409, "which-size", *words.which_size(piece.kind, len(found.looks)))
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
            looks = [self._look(piece, job) for piece in job.pieces]
            keys = [
                None if isinstance(look, OwnblockError) else self._piece_key(piece, job)
                for piece, look in zip(job.pieces, looks, strict=True)
            ]
            name = name_of("pieces", keys)
            if None not in keys and (kept := self._reads.get(name) or _with_looks(recalled(job.folder, name), looks)):
                out: tuple[PieceRead | OwnblockError, ...] = self._reads.put(name, kept)
                return out
            out = self._together(job, looks, keys)
            if all(isinstance(one, PieceRead) for one in out):
                remember(job.folder, name, [(one.piece, one.tracing) for one in out if isinstance(one, PieceRead)])
                self._reads.put(name, out)
            return out

    def pieces_key(self, job: Job) -> str:
        """What a job's pieces hang on."""
        return name_of("pieces", [self._piece_key(piece, job) for piece in job.pieces])

    def _look(self, piece: PieceJob, job: Job) -> Looked | OwnblockError:
        try:
            return self.looked(piece, job.folder)
        except OwnblockError as err:
            return err

    def _piece_key(self, piece: PieceJob, job: Job) -> str:
        """What a piece depends on; where its pictures lie is none of it."""
        return name_of("piece", [self.key(piece), replace(piece, pictures=()), job.maker.unit])

    def _together(
        self, job: Job, looks: list[Looked | OwnblockError], keys: list[str | None]
    ) -> tuple[PieceRead | OwnblockError, ...]:
        """The pieces as each was read, with what they tell of one another."""
        named = [
            look if isinstance(look, OwnblockError) else self._named(piece, job, look, key)
            for piece, look, key in zip(job.pieces, looks, keys, strict=True)
        ]
        good = {k: one for k, one in enumerate(named) if isinstance(one, PieceNamed)}
        name = ("together", *(keys[k] for k in good))
        found = (self._reads.get(name) or self._reads.put(name, agreed([*good.values()]))) if good else ()
        read: dict[int, PieceRead] = dict(zip(good, found, strict=True))
        return tuple(read[k] if isinstance(one, PieceNamed) else one for k, one in enumerate(named))

    def _named(self, piece: PieceJob, job: Job, looked: Looked, key: str | None) -> PieceNamed | OwnblockError:
        """A piece by itself."""
        found: PieceNamed | OwnblockError | None = self._reads.get(key)
        if found is None:
            try:
                whole = name_piece(piece, looked.look(pixels=outline_told(piece)), job.maker.unit)
                found = replace(whole, alone=replace(whole.alone, read=looked.read))
            except InputError as err:
                found = err
                if piece.at is None and len(looked.tracings) > 1:
                    found = PageError(409, "which-piece", *words.which_piece(piece.kind, len(looked.tracings)))
            self._reads.put(key, found)
        return found

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


def _with_looks(kept: Any, looks: list[Looked | OwnblockError]) -> tuple[PieceRead, ...] | None:
    """Pieces that were kept, each with the sheet that it was read from."""
    if not isinstance(kept, list) or len(kept) != len(looks):
        return None
    return tuple(
        PieceRead(piece=piece, tracing=tracing, read=look.read)
        for (piece, tracing), look in zip(kept, looks, strict=True)
        if isinstance(look, Looked)
    )
