"""What every room of the page works with: the shelf of jobs, the reader, the workers, the news."""

import threading
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Header, Path, Request

from calibration.errors import OwnblockError
from convert.job import JOB_FILE, Job, PieceJob
from convert.page.jobs import Folder, PieceEntry, Shelf
from convert.page.news import News
from convert.page.problems import PageError
from convert.page.reading import Memory, Reader
from convert.page.work import Workers
from convert.pipeline import Made, PieceRead, make_from


@dataclass(slots=True, eq=False)
class Desk:
    """Shared by all requests of one start."""

    shelf: Shelf
    workers: Workers
    news: News
    reader: Reader
    blocks: Memory
    previews: Memory
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

    def made(self, folder: Folder) -> Made:
        """The job's block, as ``ownblock make`` makes it.

        Raises
        ------
        OwnblockError
            If a piece is not read, or no block can be made.
        """
        job = folder.job(strict=True)
        if not job.maker.measurements:
            raise PageError(
                409, "no-measurements", "Nothing is written on the measurement card yet.", "Write down your bust first."
            )
        reads = self.reader.all_reads(job)
        key = (tuple(id(one) for one in reads), repr(job))
        with self.lock:
            found: tuple[Any, Made] | None = self.blocks.get(key)
            if found is None:
                found = self.blocks.put(key, (reads, make_from(job, reads)))  # reads are kept, so that ids stay theirs
            return found[1]


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
        lock=threading.RLock(),
    )


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


TheDesk = Annotated[Desk, Depends(_desk)]


def _folder(desk: TheDesk, job: Annotated[str, Path(max_length=40)]) -> Folder:
    return desk.shelf.folder(job)


TheFolder = Annotated[Folder, Depends(_folder)]
Seen = Annotated[str | None, Header(alias="If-Match", max_length=100)]
"""The revision that the window which asks for a change has seen."""
