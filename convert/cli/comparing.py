"""What ``ownblock compare`` does; imported only then."""

import json
from collections.abc import Sequence
from pathlib import Path

import click

from calibration.ground.errors import Note
from calibration.ground.files import write_atomically
from convert.block.compared.compare import Comparison
from convert.block.compared.record import comparison_record
from convert.body.charts import DEFAULT_CHART
from convert.body.fill import next_to_measure
from convert.body.size_notes import start_size
from convert.body.wording import accuracy_words
from convert.cli.options import Voice
from convert.job.job import read_job
from convert.paper.report.compared_picture import compared_sheet
from convert.piece.accuracy import accuracy_mm
from convert.pipeline.compared import MakerCompared, compare_job


def compare_folder(folder: Path, *, svg: Path | None, as_json: bool, voice: Voice) -> tuple[Note, ...]:
    """Compare, print, and draw if asked; the doubts there are."""
    found = compare_job(read_job(folder), progress=voice.progress)
    pieces = found.pieces
    if as_json:
        record = comparison_record(found.comparison, pieces, card=found.card, drafted=found.drafted, notes=found.notes)
        more = {"start_from": _start_of(found), "measure_next": next_of(found)}
        click.echo(json.dumps({**record, **more}, ensure_ascii=False, indent=1))
    else:
        click.echo("\n".join(spoken(found.comparison, next_of(found))))
    if svg is not None:
        write_atomically(
            svg,
            compared_sheet(
                found.comparison, pieces, title=f"The pattern beside {found.card.name}", unit=found.card.unit
            ),
        )
    voice.notes(found.notes)
    voice.done(last_line(found, svg))
    return found.notes


def spoken(comparison: Comparison, following: Sequence[str]) -> list[str]:
    """The comparison as lines to read: a heading, its sentences, where on the paper, an empty line."""
    lines: list[str] = []
    for level in comparison.levels:
        lines += [level.name.capitalize(), f"  {level.sentence}"]
        lines += [f"  {level.ease_sentence}"] if level.ease_sentence else []
        lines += [f"  On the paper: {level.where}.", ""] if level.where else [""]
    if following:
        lines += ["What to measure next", *(f"  {one}" for one in following), ""]
    return lines[:-1]


def _start_of(found: MakerCompared) -> dict[str, str] | None:
    """Which size she would start from, by high bust; None if the card can't tell."""
    sizes = found.job.pattern.chart
    choice = start_size(found.job.maker, sizes)
    if choice is None:
        return None
    return {"chart": sizes.name if sizes else DEFAULT_CHART, "size": choice.size, "sentence": choice.sentence}


def next_of(found: MakerCompared) -> tuple[str, ...]:
    """What to measure next for these pieces, and how; the most useful first."""
    parts = {one.piece.kind.split()[0] for one in found.reads}
    return next_to_measure(found.job.maker, parts, like=found.drafted.body or None)


def last_line(found: MakerCompared, svg: Path | None) -> str:
    """What was compared, where the picture is, how accurate."""
    worst = max(accuracy_mm(one.piece) for one in found.reads)
    drawn = "" if svg is None else f" Drawn in {svg}."
    count = len(found.comparison.levels)
    return (
        f"{count} {'measurement' if count == 1 else 'measurements'} of the pattern beside {found.card.name}.{drawn} "
        f"{accuracy_words(worst, found.card.unit)}"
    )
