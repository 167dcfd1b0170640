"""What every room of the page works with: the shelf of jobs, the reader, the workers, the news."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Header, Path, Request

from calibration.ground.errors import InputError, OwnblockError
from convert.block.record import from_record, to_record
from convert.block.toile.fittings import State, states
from convert.body.read_card import require_measured
from convert.job.fittings import read_fittings
from convert.job.job import JOB_FILE, Job, PieceJob
from convert.page.desk.jobs import Folder, PieceEntry, Shelf
from convert.page.desk.news import News
from convert.page.desk.reading import Memory, Reader
from convert.page.desk.work import Workers
from convert.page.server.problems import PageError
from convert.pipeline.pipeline import Made, PieceRead, make_from


class _Same:
    """Values that are the same only if they are the very same objects."""

    def __init__(self, values: tuple[Any, ...]) -> None:
        self._values = values

    def __hash__(self) -> int:
        return hash(tuple(id(one) for one in self._values))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and [*map(id, self._values)] == [*map(id, other._values)]


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
        key = self.reads_key(job, reads)
        with self.lock:
            found: Made | None = self.blocks.get(key)
            return self.blocks.put(key, make_from(job, reads)) if found is None else found

    def reads_key(self, job: Job, reads: tuple[PieceRead, ...]) -> Any:
        """What a value worked out from a job and its pieces depends on; holds the pieces, so that they stay theirs."""
        return _Same(reads), repr(job)

    def newest(self, folder: Folder) -> tuple[Made, State]:
        """The block as made, and as it stands after the fittings of its toile.

        Raises
        ------
        OwnblockError
            As :meth:`made`, or if a fitting can't be followed.
        """
        made = self.made(folder)
        fittings = read_fittings(folder.path)
        key = ("fitted", _Same((made,)), repr(fittings))
        with self.lock:
            found: State | None = self.blocks.get(key)
            if found is None:
                as_written = from_record(to_record(made.block))  # as the command line prints it, from block.json
                found = self.blocks.put(key, states(as_written, fittings)[-1])
            return made, found

    def same(self, value: Any) -> Any:
        """A key for a value that stands for itself."""
        return _Same((value,))

    def shown(self, what: str, of: Any, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """A view of a value that was worked out, kept as long as that value is the same."""
        key = (what, of)
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


def _folder(desk: TheDesk, job: Annotated[str, Path(max_length=40)]) -> Folder:
    return desk.shelf.folder(job)


TheFolder = Annotated[Folder, Depends(_folder)]
Seen = Annotated[str | None, Header(alias="If-Match", max_length=100)]
"""The revision that the window which asks for a change has seen."""
