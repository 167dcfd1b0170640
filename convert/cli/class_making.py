"""``ownblock make`` for many makers: the pictures read once, one block each, on all cores.

One bad card never stops the rest: it is named on the sheet and at the end, with what to do.
"""

import datetime
import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path

from calibration.ground.errors import InputError, Note, OwnblockError
from convert.block.block import Block
from convert.body.read_card import read_card
from convert.body.wording import date_in_words
from convert.cli.options import Voice
from convert.job.job import Job, read_job
from convert.paper.cautions import TOILE_FIRST
from convert.paper.draw.svg import slug
from convert.paper.output import write_files
from convert.paper.report.check_words import check_sentence
from convert.paper.report.class_sheet import MakerLine, write_class_sheet
from convert.piece.piece import Piece
from convert.pipeline.files import files_for, photographs
from convert.pipeline.make import fitted_block
from convert.pipeline.name import PieceRead
from convert.pipeline.together import laid_together, read_job_pieces

SHEET = "class.html"
TAKEN = ("fitted", "fittings", "part")  # folder names in out/ that mean something else, or nothing

BUG = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class MakerCard:
    """A card to make a block from: its file, the maker's name, the folder in ``out`` that the block goes into."""

    file: Path
    name: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MakerDone:
    """What became of one card: ``problem`` and ``code`` if there is no block; ``seconds`` of a core for the solving."""

    card: MakerCard
    sound: bool = False
    look_at: tuple[str, ...] = ()
    problem: str = ""
    remedy: str = ""
    code: int = 0
    seconds: float = 0.0

    @property
    def line(self) -> MakerLine:
        """As it stands on the sheet."""
        if self.code:
            return MakerLine(name=self.card.name, made=False, look_at=(self.problem, self.remedy))
        report = f"{self.card.place}/report.html"
        return MakerLine(name=self.card.name, made=True, sound=self.sound, report=report, look_at=self.look_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """What every worker needs: the job's folder, its pieces, whether files are written."""

    folder: Path
    pieces: tuple[Piece, ...]
    write: bool
    overwrite: bool
    date: str


_given: list[_Given] = []  # of a worker process: set once when it starts


def cards_in(places: Sequence[Path]) -> list[Path]:
    """Card files from files and folders of cards, in order, each once.

    Raises
    ------
    InputError
        If a place is not there, or a folder holds no card.
    """
    found: list[Path] = []
    for place in places:
        if place.is_dir():
            inside = sorted(file for file in place.glob("*.toml") if file.name not in ("job.toml", "toile.toml"))
            if not inside:
                raise InputError(f"The folder {place} holds no card.", "Write one with: ownblock card FOLDER/name.toml")
            found += inside
        elif place.is_file():
            found.append(place)
        else:
            raise InputError(f"There is no card {place}.", "Check the name, or give the folder that holds the cards.")
    return list(dict.fromkeys(file.resolve() for file in found))


def sorted_cards(files: Iterable[Path]) -> tuple[list[MakerCard], list[MakerDone]]:
    """Cards that can be read, each with a folder name of its own; and those that can't."""
    good: list[MakerCard] = []
    bad: list[MakerDone] = []
    for file in files:
        try:
            name = read_card(file).name.strip() or file.stem
        except OwnblockError as err:
            card = MakerCard(file=file, name=file.stem, place="")
            bad.append(MakerDone(card=card, problem=err.problem, remedy=err.remedy, code=err.exit_code))
            continue
        good.append(MakerCard(file=file, name=name, place=_place(name, file, {card.place for card in good})))
    return good, bad


def _place(name: str, file: Path, taken: set[str]) -> str:
    wanted = slug(name)
    if wanted in taken or wanted in TAKEN:
        wanted = f"{wanted}-{slug(file.stem)}" if wanted != "part" else slug(file.stem)
    number, place = 1, wanted
    while place in taken or place in TAKEN:
        number += 1
        place = f"{wanted}-{number}"
    return place


def make_blocks(
    folder: Path,
    pieces: tuple[Piece, ...],
    cards: Sequence[MakerCard],
    *,
    workers: int | None = None,
    write: bool = True,
    overwrite: bool = False,
    done: Callable[[MakerDone], None] = lambda _one: None,
) -> list[MakerDone]:
    """A block for each card from pieces that were read, on all cores; results in the order of the cards.

    ``done`` is called as each is finished. With ``write`` each block's files go into ``out/<maker>/``.
    """
    given = _Given(
        folder=folder, pieces=pieces, write=write, overwrite=overwrite, date=date_in_words(datetime.date.today())
    )
    count = min(workers or os.cpu_count() or 1, max(len(cards), 1))
    results = _pooled(given, cards, count, done)
    for card in cards:  # a worker that was killed takes the others' work with it: these get one of their own
        if card not in results:
            results |= _pooled(given, [card], 1, done) or {card: _fault(card, "its worker was stopped")}
    return [results[card] for card in cards]


def _pooled(
    given: _Given, cards: Sequence[MakerCard], workers: int, done: Callable[[MakerDone], None]
) -> dict[MakerCard, MakerDone]:
    """What became of each card; none for those whose worker process was killed."""
    pool = ProcessPoolExecutor(
        max_workers=workers, mp_context=multiprocessing.get_context("spawn"), initializer=_begin, initargs=(given,)
    )
    results: dict[MakerCard, MakerDone] = {}
    try:
        left: dict[Future[MakerDone], MakerCard] = {pool.submit(_one, card): card for card in cards}
        while left:
            finished, _ = wait(left, return_when=FIRST_COMPLETED)
            for future in finished:
                card, err = left.pop(future), future.exception()
                if isinstance(err, BrokenProcessPool):
                    continue
                results[card] = future.result() if err is None else _fault(card, f"{type(err).__name__}: {err}")
                done(results[card])
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return results


def _fault(card: MakerCard, what: str) -> MakerDone:
    return MakerDone(
        card=card,
        problem=f"This is a fault of ownblock, not of the card: {what}",
        remedy="Make this block by itself with OWNBLOCK_TRACEBACK=1 set, and send us what it prints.",
        code=BUG,
    )


def _begin(given: _Given) -> None:
    import cv2

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the command is interrupted, and ends its workers in order
    cv2.setNumThreads(1)  # the cores are busy with other makers
    _given[:] = [given]


def _one(card: MakerCard) -> MakerDone:
    """One block, in a worker process."""
    (given,) = _given
    try:
        job = read_job(given.folder, card=read_card(card.file))
        start = time.process_time()
        block, asked = fitted_block(job, given.pieces)
        seconds = time.process_time() - start
        notes = tuple(dict.fromkeys([*asked, *block.notes]))
        if given.write:
            _write(given, card, job, notes, block)
    except OwnblockError as err:
        return MakerDone(card=card, problem=err.problem, remedy=err.remedy, code=err.exit_code)
    unsound = [f"Does not hold: {check_sentence(check, job.maker.unit)}" for check in block.checks if not check.sound]
    look_at = tuple(dict.fromkeys([*unsound, *(note.text for note in notes)]))
    return MakerDone(card=card, sound=block.sound, look_at=look_at, seconds=seconds)


def _write(given: _Given, card: MakerCard, job: Job, notes: tuple[Note, ...], block: Block) -> None:
    files = files_for(
        job,
        block,
        given.pieces,
        notes=(*notes, *(note for piece in given.pieces for note in piece.notes)),
        date=given.date,
    )
    write_files(given.folder / "out" / card.place, files, overwrite=given.overwrite)


def make_class(
    folder: Path, places: Sequence[Path], *, voice: Voice, overwrite: bool = False
) -> tuple[int, tuple[Note, ...]]:
    """Every maker's block and the sheet of them all; the exit code (0 if every card gave a block) and the doubts."""
    files = cards_in(places)
    good, results = sorted_cards(files)
    reads: tuple[PieceRead, ...] = ()
    job: Job | None = None
    if good:
        job = read_job(folder, card=read_card(good[0].file))
        reads = read_job_pieces(job, progress=voice.progress)
    count = 0

    def tell(one: MakerDone) -> None:
        nonlocal count
        count += 1
        state = "no block" if one.code else "done" if one.sound else "done, a check does not hold"
        voice.progress(f"{count} of {len(good)} {_bar(count, len(good))} {one.card.name}: {state}")

    pieces = tuple(one.piece for one in laid_together(job, reads)) if job is not None else ()
    results += make_blocks(folder, pieces, good, overwrite=overwrite, done=tell) if good else []
    doubts = tuple(dict.fromkeys(note for one in reads for note in (*one.piece.notes, *one.read.notes)))
    _write_sheet(folder, job, reads, results, doubts, overwrite=overwrite)
    for one in results:
        if one.code:
            where = "" if one.problem.startswith(one.card.file.name) else f"{one.card.file.name}: "
            voice.done(f"{where}{one.problem} {one.remedy}")
    made = sum(not one.code for one in results)
    voice.done(f"{made} of {len(results)} cards gave a block: open {folder / 'out' / SHEET}. {TOILE_FIRST}")
    codes = {one.code for one in results if one.code}
    asked = tuple(Note("maker", text) for one in results if not one.code for text in one.look_at)
    return (min(codes) if codes else 0), (*doubts, *asked)


def _bar(done: int, of: int, long: int = 20) -> str:
    filled = round(long * done / max(of, 1))
    return f"[{'#' * filled}{'.' * (long - filled)}]"


def _common(results: Sequence[MakerDone]) -> tuple[str, ...]:
    """What is to be looked at for every maker alike belongs to the pattern."""
    made = [one.look_at for one in results if not one.code]
    return tuple(text for text in made[0] if all(text in one for one in made)) if len(made) > 1 else ()


def _write_sheet(
    folder: Path,
    job: Job | None,
    reads: tuple[PieceRead, ...],
    results: Sequence[MakerDone],
    doubts: Sequence[Note],
    *,
    overwrite: bool,
) -> None:
    common = _common(results)
    sheet = write_class_sheet(
        [replace(one, look_at=tuple(text for text in one.look_at if text not in common)).line for one in results],
        title=job.title if job is not None else folder.resolve().name,
        date=date_in_words(datetime.date.today()),
        doubts=[*(note.text for note in doubts), *common],
        photographs=photographs(job, reads) if job is not None else (),
    )
    write_files(folder / "out", {SHEET: sheet}, overwrite=overwrite)
