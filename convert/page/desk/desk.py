"""What every room of the page works with: the shelf of jobs, the reader, the workers, the news."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any

import fastapi
from fastapi import Depends, Header, Request

from calibration.ground.errors import InputError, OwnblockError
from convert.block.record import from_record, to_record
from convert.block.toile.fittings import State, states
from convert.body.read_card import require_measured
from convert.job.file import JOB_FILE
from convert.job.fittings import read_fittings
from convert.job.job import Job, PaperTold, PieceJob
from convert.page.desk.jobs import Folder, PieceEntry, Shelf
from convert.page.desk.news import News
from convert.page.desk.reading import Memory, Reader
from convert.page.desk.store import name_of
from convert.page.desk.work import Workers
from convert.page.server.problems import PageError
from convert.pipeline.make import Made, make_from
from convert.pipeline.name import PieceRead


@dataclass(slots=True, eq=False)
class Desk:
    """Shared by all requests of one start."""

    shelf: Shelf
    workers: Workers
    news: News
    reader: Reader
    blocks: Memory
    previews: Memory
    views: Memory
    lock: Any

    def changed(self, folder: Folder) -> str:
        """The revision after a change, told to every window of the job."""
        revision = folder.revision()
        self.news.tell(folder.id, {"revision": revision})
        return revision

    def piece(self, folder: Folder, piece_id: str) -> tuple[Job, PieceEntry, PieceJob]:
        """A piece of a job, checked.

        Raises
        ------
        OwnblockError
            If there is none, or the job can't be read.
        """
        entry = folder.piece(piece_id)
        job = folder.job()
        return job, entry, job.pieces[entry.number - 1]

    def piece_read(self, folder: Folder, piece_id: str) -> tuple[Job, PieceEntry, PieceRead]:
        """A piece as it was read.

        Raises
        ------
        OwnblockError
            If it was not.
        """
        job, entry, _ = self.piece(folder, piece_id)
        read = self.reader.reads(job)[entry.number - 1]
        if not isinstance(read, PieceRead):
            raise read
        return job, entry, read

    def piece_was_read(self, folder: Folder, piece_id: str, before: bytes) -> bool:
        """Whether the piece could be read with what ``job.toml`` held ``before``."""
        now = (folder.path / JOB_FILE).read_bytes()
        folder.put_back(before)
        try:
            self.piece_read(folder, piece_id)
        except OwnblockError:
            return False
        finally:
            folder.put_back(now)
        return True

    def measured_job(self, folder: Folder) -> Job:
        """The job, if anything stands on its card.

        Raises
        ------
        OwnblockError
            If the job can't be read, or nothing was measured yet.
        """
        job = folder.job(strict=True)
        try:
            require_measured(job.maker)
        except InputError as err:
            raise PageError(409, "no-measurements", err.problem, err.remedy) from err
        return job

    def made(self, folder: Folder) -> Made:
        """The job's block, as ``ownblock make`` makes it.

        Raises
        ------
        OwnblockError
            If a piece is not read, or no block can be made.
        """
        job = self.measured_job(folder)
        reads = self.reader.all_reads(job)
        key = ("made", self.key(job))
        with self.lock:
            found: Made | None = self.blocks.get(key)
            made = self.blocks.put(key, make_from(job, reads)) if found is None else found
            return made if made.job is job else replace(made, job=job)

    def key(self, job: Job) -> str:
        """What a value worked out from a job hangs on: the contents it comes from."""
        told = replace(job, folder=Path(), title="", paper=PaperTold(), pieces=(), drawn=())  # paper changes no block
        return name_of("job", [self.reader.pieces_key(job), told, [self.reader.digest(path) for path in job.drawn]])

    def newest(self, folder: Folder) -> tuple[Made, State]:
        """The block as made, and as it stands after the fittings of its toile.

        Raises
        ------
        OwnblockError
            As :meth:`made`, or if a fitting can't be followed.
        """
        made = self.made(folder)
        fittings = read_fittings(folder.path)
        key = ("fitted", self.key(made.job), fittings)
        with self.lock:
            found: State | None = self.blocks.get(key)
            if found is None:
                as_written = from_record(to_record(made.block))  # as the command line prints it, from block.json
                found = self.blocks.put(key, states(as_written, fittings)[-1])
            return made, found

    def shown(self, what: str, job: Job, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """A view of what was worked out from a job, kept as long as that would be the same."""
        key = (what, self.key(job))
        found: dict[str, Any] | None = self.views.get(key)
        return self.views.put(key, make()) if found is None else found


def new_desk(shelf: Shelf, workers: Workers) -> Desk:
    """A desk with nothing on it."""
    news = News()
    return Desk(
        shelf=shelf,
        workers=workers,
        news=news,
        reader=Reader(workers, news),
        blocks=Memory(6),
        previews=Memory(24),
        views=Memory(12),
        lock=threading.RLock(),
    )


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


TheDesk = Annotated[Desk, Depends(_desk)]


def _folder(desk: TheDesk, job: Annotated[str, fastapi.Path(max_length=40)]) -> Folder:
    return desk.shelf.folder(job)


TheFolder = Annotated[Folder, Depends(_folder)]
Seen = Annotated[str | None, Header(alias="If-Match", max_length=100)]
"""The revision that the window which asks for a change has seen."""
