"""Whether a piece comes out at a size that a grown person's garment can have."""

from calibration.ground.errors import Note
from calibration.ground.units import MM_PER_INCH
from convert.piece.names.kinds import KINDS
from convert.piece.piece import Piece

# Shortest and longest along the grain, narrowest and widest across it, mm: our choice, because it must be wide enough
# for every grown body and for half and whole pieces.
_SIZES_MM: dict[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "bodice": ((270.0, 850.0), (110.0, 850.0)),
    "sleeve": ((100.0, 850.0), (220.0, 750.0)),
    "skirt": ((270.0, 1350.0), (120.0, 1600.0)),
    "dress": ((600.0, 1750.0), (120.0, 1600.0)),
    "trousers": ((330.0, 1450.0), (180.0, 750.0)),
}


_PART_LEAST_MM = 40.0  # a yoke or a panel may be narrow; common practice


def size_doubt(piece: Piece, *, pitch_mm: float | None) -> tuple[Note, ...]:
    """What the size of a whole piece says against the grid's pitch told, or against a scan's resolution (None).

    Examples
    --------
    A bodice front that comes out 114 cm long was photographed on a centimetre grid that was called an inch grid.
    """
    wide, long = (float(mm) for mm in (piece.cut_line.max(axis=0) - piece.cut_line.min(axis=0)))
    kind = KINDS[piece.kind]
    lengths, widths = _SIZES_MM[kind.garment]
    if kind.part is not None:
        lengths, widths = (_PART_LEAST_MM, lengths[1]), (_PART_LEAST_MM, widths[1])
    if lengths[0] <= long <= lengths[1] and widths[0] <= wide <= widths[1]:
        return ()
    small = long < lengths[0] or wide < widths[0]
    comes_out = (
        f"The {piece.kind} comes out {long / 10:.0f} cm long and {wide / 10:.0f} cm wide, which is too "
        f"{'small' if small else 'large'} for a grown person's."
    )
    if pitch_mm is None:
        return (Note("scale-doubtful", f"{comes_out} Is the scan's resolution right? Measure one length with a tape."),)
    return (
        Note(
            "pitch-doubtful",
            f"{comes_out} Measure the grid with a rule: are its lines really {_pitch(pitch_mm)} apart?",
        ),
    )


def _pitch(pitch_mm: float) -> str:
    inches = pitch_mm / MM_PER_INCH
    return f"{inches:g} inch" if abs(inches * 4 - round(inches * 4)) < 1e-6 else f"{pitch_mm / 10:g} cm"
