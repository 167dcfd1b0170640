"""Step 6: the pattern beside the maker, a sentence and a picture for each measurement."""

from typing import Any

from fastapi import APIRouter

from convert.block.compared.record import comparison_record
from convert.job.job import Job
from convert.page.desk.desk import TheDesk, TheFolder
from convert.page.desk.state import notes_of
from convert.paper.report.compared_picture import compared_picture
from convert.paper.report.together_picture import seam_sentences, together_picture
from convert.pipeline.compared import compare_pieces
from convert.pipeline.name import PieceRead
from convert.pipeline.together import laid_together

router = APIRouter(prefix="/api/jobs/{job}", tags=["compare"])


@router.get("/compare")
def compare(desk: TheDesk, folder: TheFolder) -> dict[str, Any]:
    """What the pattern measures beside the maker."""
    job = desk.measured_job(folder)
    reads = desk.reader.all_reads(job)
    view = desk.shown("compare", job, lambda: _compared(job, reads))
    return {**view, "revision": folder.revision()}


def _compared(job: Job, reads: tuple[PieceRead, ...]) -> dict[str, Any]:
    found = compare_pieces(job, reads)
    pieces = found.pieces
    record = comparison_record(found.comparison, pieces, card=found.card, drafted=found.drafted, notes=found.notes)
    rows = [
        {
            **row,
            "pattern_uncertainty_mm": level.uncertainty_mm,
            "svg": compared_picture(
                level,
                pieces,
                unit=job.maker.unit,
                waist_to_hip_mm=found.comparison.waist_to_hip_mm,
                worded=False,
            ),
        }
        for row, level in zip(record.pop("levels"), found.comparison.levels, strict=True)
    ]
    together = [
        {"piece": one.piece.kind, "svg": together_picture(one), "sentences": list(seam_sentences(one, job.maker.unit))}
        for one in laid_together(job, reads)
        if one.seams
    ]
    return {**record, "rows": rows, "together": together, "notes": notes_of(found.notes)}
