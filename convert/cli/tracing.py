"""What ``ownblock trace`` does once its words are understood; imported only then, for it brings OpenCV and SciPy."""

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast, get_args

from calibration.ground.errors import InputError, Note, WordsError
from calibration.ground.files import write_atomically
from calibration.ground.units import parse_length_mm
from calibration.sheet.on_sheet import pictures_on
from convert.body.wording import accuracy_words
from convert.cli.options import Voice, known
from convert.job.mat import MatCheck, mat_check
from convert.job.told import edge_name
from convert.paper.report.tracing_svg import tracing_svg
from convert.piece.accuracy import accuracy_mm
from convert.piece.names.told import Told
from convert.piece.piece import PieceKind
from convert.piece.record import outline_record, to_record
from convert.pipeline.look import Pictures, SheetRead, choose, look, pitch_notes
from convert.pipeline.name import PieceRead, read_piece
from convert.pipeline.readings import hole_meanings, measured, readings, readings_record, seam_on_mat
from convert.pipeline.titles import printed_title
from convert.trace.tracing import Tracing

PRINTED = "printed"  # said in place of a kind: what the paper's own print calls it
_PLACES = ("left", "right", "top", "bottom")


def trace_to_files(
    pictures: tuple[Path, ...], *, out: Path, svg: Path | None, said: Mapping[str, Any], voice: Voice
) -> tuple[Note, ...]:
    """Trace, write, and say in one line what was made; the doubts there are."""
    as_printed = said["kind"].strip().lower() == PRINTED
    kind = None if as_printed else cast(PieceKind, known(said["kind"], get_args(PieceKind), "piece"))
    if said["grid"] is None and not said["scan"]:
        raise WordsError(
            "Nothing says how far apart the mat's lines are.",
            "Add --grid 1cm (or 1in, 1/2in, 5mm), or --scan for scans.",
        )
    (found,) = look(
        Pictures(
            paths=pictures,
            pitch_mm=None if said["scan"] else said["grid"],
            dpi=said["dpi"],
            rotate_deg=int(said["rotate"]),
            mat=_mat(said["mat_check"]),
        ),
        _size(said["size"]),
        progress=voice.progress,
    )
    read, tracings = found.read, found.tracings
    if said["at"] is not None:
        tracings = (choose(tracings, _place(said["at"]), pictures[0].name),)
    if kind is None:
        voice.progress("reading the title")
        kind = _kind_printed(tracings, read)
    told = replace(told_on_command_line(kind, said), **lines_told(said, read))
    voice.progress("naming the edges, finding the seam line")
    if not all(tracing.complete for tracing in tracings):
        return _write_incomplete(read, tracings, kind, out, voice)
    pieces = [read_piece(tracing, read, kind, told) for tracing in tracings]
    notes = _all_notes(read, pieces, said["check"])
    write_atomically(out, json.dumps(_record(pieces, notes), ensure_ascii=False))
    if svg is not None:
        write_atomically(svg, _drawing(read, pieces))
    voice.notes(notes)
    voice.done(_last_line(out, pieces))
    return notes


def _kind_printed(tracings: tuple[Tracing, ...], read: SheetRead) -> PieceKind:
    """The kind that the one piece's own print names."""
    if len(tracings) > 1:
        raise WordsError(f"{len(tracings)} pieces lie in the picture.", "Say which one, with --at left.")
    title = printed_title(tracings[0], read)
    if title is None:
        raise InputError("No title could be read on the piece.", 'Say what it is, such as --piece "bodice front".')
    return title.kind


def _write_incomplete(
    read: SheetRead, tracings: tuple[Tracing, ...], kind: PieceKind, out: Path, voice: Voice
) -> tuple[Note, ...]:
    """What was read of a piece that can't be read whole: outline and marks on the mat, never passed off as whole."""
    notes = tuple(dict.fromkeys([*read.notes, *(note for one in tracings for note in one.notes)]))
    records = [outline_record(one, kind, notes) for one in tracings]
    write_atomically(out, json.dumps(records[0] if len(records) == 1 else {"pieces": records}, ensure_ascii=False))
    voice.notes(notes)
    voice.done(f"{kind}, not whole: {out} holds what can be seen of it. No block is made from it.")
    return notes


def told_on_command_line(kind: PieceKind, said: Mapping[str, Any]) -> Told:
    """What the options say of the piece.

    Raises
    ------
    WordsError
        If an edge or a width can't be understood, or widths and ``--no-allowance`` are both given.
    """
    if said["no_allowance"] and said["allowance"]:
        raise WordsError("--allowance and --no-allowance are both there.", "Keep the one that is true.")
    whole: float | None = None
    edges: dict[str, float] = {}
    try:
        for text in said["allowance"]:
            name, equals, width = text.rpartition("=")
            mm = parse_length_mm(width)
            if mm < 0:
                raise WordsError(
                    f"“{text}” is less than nothing.", "Give the width of the seam allowance, such as 15mm."
                )
            if equals:
                edges[edge_name(name, kind=kind, where="--allowance")] = mm
            else:
                whole = mm
        fold = said["fold"]
        if fold is not None and fold.lower() != "none":
            fold = edge_name(fold, kind=kind, where="--fold")
    except InputError as err:
        raise WordsError(err.problem, err.remedy) from err
    return Told(
        fold=fold,
        allowance_mm=whole,
        allowances=edges,
        no_allowance=said["no_allowance"],
        face_down=said["face_down"],
    )


def lines_told(said: Mapping[str, Any], read: SheetRead) -> dict[str, Any]:
    """Centre line, neckline and tucks told in pixels of the first picture, in mm on the mat.

    Raises
    ------
    WordsError
        If places are not two numbers each, or too few.
    """
    picture = pictures_on(read.sheet)[0]
    centre, neck = said["centre_line"], said["neck_line"]
    return {
        "centre_line": None if centre is None else picture.to_mm(_pixels(centre, "--centre-line", exactly=2)),
        "neck_line": None if neck is None else picture.to_mm(_pixels(neck, "--neck-line")),
        "tucks": tuple(picture.to_mm(_pixels(tuck, "--tuck", exactly=2)) for tuck in said["tuck"]),
    }


def _pixels(text: str, option: str, *, exactly: int | None = None) -> list[tuple[float, float]]:
    try:
        pairs = [tuple(float(number) for number in pair.split(",")) for pair in text.split()]
    except ValueError:
        pairs = []
    if any(len(pair) != 2 for pair in pairs) or len(pairs) < 2 or exactly not in (None, len(pairs)):
        wanted = "two places" if exactly else "two places or more"
        raise WordsError(
            f"{option}: “{text}” is not {wanted}.", f'Write pixels of the picture, such as {option} "812,1400 840,233".'
        )
    return [(pair[0], pair[1]) for pair in pairs]


def _mat(text: str | None) -> MatCheck | None:
    if text is None:
        return None
    try:
        return mat_check(text, where="--mat-check")
    except InputError as err:
        raise WordsError(err.problem, 'Write --mat-check "50 cm reads 49.9 cm".') from err


def _size(text: str | None) -> int | str | None:
    """A bare whole number counts the lines from the innermost, as far as there are so many; all else is printed."""
    if text is None:
        return None
    return int(text) if text.isdigit() and not text.startswith("0") else text


def _place(text: str) -> str | int:
    return int(text) if text.isdigit() else known(text, _PLACES, "place")


def _all_notes(read: SheetRead, pieces: list[PieceRead], check: str | None) -> tuple[Note, ...]:
    """Doubts from the pictures, the pieces, and the known object on the mat."""
    evidence = pitch_notes(read) if check is not None else ()
    if check is not None and not evidence:
        evidence = (
            Note("no-known-object", f"No {check} lies by itself on the mat: the grid's pitch stays unchecked."),
        )
    return tuple(dict.fromkeys([*read.notes, *evidence, *(note for one in pieces for note in one.piece.notes)]))


def _record(pieces: list[PieceRead], notes: tuple[Note, ...]) -> dict[str, Any]:
    records = []
    for one in pieces:
        record = to_record(one.piece, measurements=measured(one.piece))
        record["notes"] = [{"code": note.code, "text": note.text} for note in notes]
        names = [photo.name for photo in one.read.photos]
        record["readings"] = readings_record(readings(one), one.piece, names)
        records.append(record)
    return records[0] if len(records) == 1 else {"pieces": records}


def _drawing(read: SheetRead, pieces: list[PieceRead]) -> str:
    one = pieces[0]
    return tracing_svg(
        read.sheet, one.tracing, seam_line=seam_on_mat(one), meanings=hole_meanings(one), title=one.piece.kind
    )


def _last_line(out: Path, pieces: list[PieceRead]) -> str:
    whole = "" if all(one.piece.complete for one in pieces) else ", not whole"
    worst = max(accuracy_mm(one.piece) for one in pieces)
    what = pieces[0].piece.kind if len(pieces) == 1 else f"{len(pieces)} pieces"
    return f"{what}{whole}: {out}. {accuracy_words(worst)}"
