"""Job folders on the shelf: listed, begun, changed one change at a time. The folder on the disk is the truth.

Everything that a request can name has an id that was handed out here; no path and no file name comes from a request.
"""

import hashlib
import json
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError
from calibration.ground.files import write_atomically
from convert.body.card import Card, LengthUnit
from convert.body.read_card import read_card, write_card
from convert.body.typed import read_toml
from convert.job.file import JOB_FILE, JobFile, PieceTable, check_job_file
from convert.job.fittings import TOILE_FILE
from convert.job.job import PIECE_KINDS, Job, pattern_told, read_job
from convert.job.write import changed_job, set_job
from convert.page.desk.trial import trial_job
from convert.page.server.problems import PageError, missing
from convert.paper.draw.svg import slug

PAGE_FILE = "page.json"  # where the maker is and what she called right; nothing that a block depends on
PICTURES = "pictures"
_DEMO_FILES = (JOB_FILE, "maker.toml", "*/photo.jpg")
_NOT_THE_BLOCKS = ("title", "paper")  # of job.toml
_MOST_JOBS = 200
_TITLE = 120


def digest_of(text: str) -> str:
    """A short stable id."""
    return hashlib.blake2s(text.encode(), digest_size=5).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFile:
    """A picture of a job: its id, its name as the job writes it, and where it lies."""

    id: str
    name: str
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceEntry:
    """A piece as the job's file has it: its id, its number counted from 1, and its table."""

    id: str
    number: int
    kind: str
    table: PieceTable

    @property
    def names(self) -> list[str]:
        """Its pictures as written."""
        listed = self.table.pictures or self.table.picture or []
        return [listed] if isinstance(listed, str) else list(listed)


@dataclass(slots=True)
class Folder:
    """One job's folder. ``lock`` is held while it is changed."""

    id: str
    path: Path
    lock: Any = field(default_factory=threading.RLock)

    # -- what stands in it

    def file(self) -> JobFile:
        """The job's file, checked, whether or not it is complete."""
        return check_job_file(read_toml(self.path / JOB_FILE), where=JOB_FILE)[0]

    def pieces(self) -> tuple[PieceEntry, ...]:
        """The pieces as written, each with an id that stays while its kind does."""
        entries, taken = [], set()
        for number, table in enumerate(self.file().pieces, 1):
            kind = " ".join((table.piece or "").lower().split())
            own = slug(kind) if kind in PIECE_KINDS else f"piece-{number}"
            own = own if own not in taken else f"piece-{number}"
            taken.add(own)
            entries.append(PieceEntry(id=own, number=number, kind=kind, table=table))
        return tuple(entries)

    def piece(self, piece_id: str) -> PieceEntry:
        """A piece by its id.

        Raises
        ------
        PageError
            If there is none.
        """
        for piece in self.pieces():
            if piece.id == piece_id:
                return piece
        raise missing("piece")

    def pictures(self) -> tuple[PictureFile, ...]:
        """Every picture: those that pieces name, and those brought in that no piece names yet."""
        names = [name for piece in self.pieces() for name in piece.names]
        own = self.path / PICTURES
        if own.is_dir():
            names += sorted(f"{PICTURES}/{one.name}" for one in own.iterdir() if one.is_file() and one.name[0] != ".")
        return tuple(
            PictureFile(id=f"p{digest_of(name)}", name=name, path=self.path / name) for name in dict.fromkeys(names)
        )

    def picture(self, picture_id: str) -> PictureFile:
        """A picture by its id; it must be there.

        Raises
        ------
        PageError
            If there is none.
        """
        for picture in self.pictures():
            if picture.id == picture_id and picture.path.is_file():
                return picture
        raise missing("picture")

    @property
    def card_path(self) -> Path:
        """Where the measurement card lies."""
        return self.path / self.file().maker

    def card(self, *, limits: bool = False) -> Card:
        """The maker's card, an empty one if there is none; impossible values are let in unless ``limits``."""
        path = self.card_path
        return read_card(path, limits=limits) if path.is_file() else Card(name="maker")

    def job(self, *, strict: bool = False) -> Job:
        """The job, read and checked; with ``strict`` the card's values must be possible.

        Raises
        ------
        InputError
            As :func:`convert.job.read_job`.
        """
        return read_job(self.path, card=self.card(limits=strict))

    def check_pattern(self) -> None:
        """Look at what is told of the pattern's size, whether or not the job has pieces yet.

        Raises
        ------
        InputError
            If a chart, a size or a measurement is not known.
        """
        pattern_told(self.file().pattern, unit=self.card().unit, folder=self.path)

    # -- its revision, and changing it

    def revision(self) -> str:
        """A short hash of everything in the folder that the maker tells."""
        told = hashlib.blake2s(digest_size=8)
        for path in (self.path / JOB_FILE, self.card_path, self.path / TOILE_FILE):
            told.update(path.read_bytes() if path.is_file() else b"-")
            told.update(b"\0")
        for picture in self.pictures():
            size = picture.path.stat().st_size if picture.path.is_file() else -1
            told.update(f"{picture.name}\0{size}\0".encode())
        return told.hexdigest()

    def block_sign(self) -> str:
        """A short hash of everything that the block depends on; title, paper and remarks are none of it."""
        told = hashlib.blake2s(digest_size=8)
        for path in (self.path / JOB_FILE, self.card_path, self.path / TOILE_FILE):
            data = read_toml(path) if path.is_file() else {}
            plain = {key: value for key, value in data.items() if key not in _NOT_THE_BLOCKS}
            told.update(json.dumps(plain, sort_keys=True, default=str).encode() + b"\0")
        for picture in self.pictures():
            told.update(f"{picture.name}\0{picture.path.stat().st_size if picture.path.is_file() else -1}\0".encode())
        return told.hexdigest()

    @contextmanager
    def changing(self, expected: str | None) -> Iterator[None]:
        """The folder for one change, if it still is as the window that changes it has seen it.

        Raises
        ------
        PageError
            409 if it was changed since; 428 if the window does not say what it has seen.
        """
        if expected is None:
            raise PageError(
                428, "revision", "This change does not say what it is a change of.", "Load the page and try again."
            )
        with self.lock:
            if expected.strip().removeprefix("W/").strip('"') != self.revision():
                raise PageError(
                    409,
                    "stale",
                    "This job was changed in another window or by hand since it was loaded here.",
                    "Look at it as it is now, and repeat your change if it is still wanted.",
                )
            yield

    def put_back(self, before: bytes) -> None:
        """``job.toml`` as it was before a change that turned out to be none."""
        write_atomically(self.path / JOB_FILE, before)

    # -- where the maker is

    def place(self) -> dict[str, Any]:
        """What the page keeps of its own: where she is, what she called right."""
        try:
            read = json.loads((self.path / PAGE_FILE).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return read if isinstance(read, dict) else {}

    def keep_place(self, change: dict[str, Any]) -> dict[str, Any]:
        """Some of it changed; all of it."""
        with self.lock:
            kept = {key: value for key, value in {**self.place(), **change}.items() if value is not None}
            write_atomically(self.path / PAGE_FILE, json.dumps(kept, ensure_ascii=False, indent=1))
            return kept

    def title(self) -> str:
        """The job's title, or its folder's name."""
        try:
            return self.file().title.strip() or self.path.name
        except InputError:
            return self.path.name


class Shelf:
    """All job folders: those below ``home``, or ``home`` itself if it is one; new ones are begun in ``new_in``."""

    def __init__(self, home: Path, *, new_in: Path | None = None) -> None:
        self._home = home.resolve()
        self._new_in = (new_in or self._home).resolve()
        self._known: dict[str, Folder] = {}
        self._lock = threading.Lock()

    def folders(self) -> list[Folder]:
        """The jobs, the one changed last first."""
        places = [self._home] if (self._home / JOB_FILE).is_file() else []
        for above in dict.fromkeys((self._home, self._new_in)):
            if above.is_dir():
                places += [one.parent for one in sorted(above.glob(f"*/{JOB_FILE}")) if one.is_file()]
        places = sorted(dict.fromkeys(places), key=lambda one: -(one / JOB_FILE).stat().st_mtime)[:_MOST_JOBS]
        with self._lock:
            for place in places:
                own = digest_of(str(place))
                self._known.setdefault(own, Folder(id=own, path=place))
            return [self._known[digest_of(str(place))] for place in places]

    def folder(self, job_id: str) -> Folder:
        """A job by its id.

        Raises
        ------
        PageError
            If there is none.
        """
        found = self._known.get(job_id) or next((one for one in self.folders() if one.id == job_id), None)
        if found is None or not (found.path / JOB_FILE).is_file():
            raise missing("job")
        return found

    @property
    def has_demo(self) -> bool:
        """Whether the demo job's pictures are there."""
        return trial_job() is not None

    def begin(self, title: str, *, unit: LengthUnit = "cm") -> Folder:
        """A new job with nothing in it but its title and an empty card."""
        title = " ".join("".join(char if char.isprintable() else " " for char in title).split())[:_TITLE]
        place = self._new_place(slug(title)[:40] or "job")
        with changed_job(place) as document:
            set_job(document, {"title": title or "A new block"})
        write_card(place / "maker.toml", unit=unit)
        return self._shelved(place)

    def begin_demo(self) -> Folder:
        """A copy of the demo job, to try everything on.

        Raises
        ------
        PageError
            If its pictures did not come with this installation.
        """
        trial = trial_job()
        if trial is None:
            raise PageError(404, "missing", "The demo's pictures are not here.", "Begin a job with your own pictures.")
        place = self._new_place("demo")
        for pattern in _DEMO_FILES:
            for file in trial.glob(pattern):
                target = place / file.relative_to(trial)
                target.parent.mkdir(exist_ok=True)
                shutil.copyfile(file, target)
        return self._shelved(place)

    def _new_place(self, name: str) -> Path:
        try:
            self._new_in.mkdir(parents=True, exist_ok=True)
            for number in range(1, 1000):
                place = self._new_in / (name if number == 1 else f"{name}-{number}")
                try:
                    place.mkdir()
                except FileExistsError:
                    continue
                return place
        except OSError as err:
            raise PageError(
                409,
                "output",
                f"No folder can be made in {self._new_in}: {err.strerror or err}.",
                "Start ownblock with another folder: ownblock open FOLDER",
            ) from err
        raise PageError(409, "output", f"There are too many jobs called {name}.", "Choose another title.")

    def _shelved(self, place: Path) -> Folder:
        own = digest_of(str(place))
        with self._lock:
            return self._known.setdefault(own, Folder(id=own, path=place))
