"""What the report says, as plain fields, before anybody lays it out."""

from collections.abc import Sequence
from dataclasses import dataclass

from calibration.ground.errors import Note
from convert.block.block import Block, Check, Level, Move
from convert.block.compared.compare import Comparison
from convert.body.card import LengthUnit
from convert.body.wording import format_body_mm, format_paper_mm, listed
from convert.paper.report.compared_picture import compared_picture
from convert.paper.steps.pictures import comparison_picture, longest_of, move_picture, overlay_picture
from convert.piece.piece import Evidence, Piece

EVIDENCE_WORDS: dict[Evidence, str] = {
    "measured": "measured on the paper",
    "told": "told by you",
    "deduced": "worked out from the shape",
    "assumed": "assumed, please check",
}
BARS_KEY = (
    "A filled bar is a body, an open bar the body the pattern was drawn for. Hatched is ease. All bars are drawn to "
    "one scale."
)
DIFFERENCES_KEY = (
    "The line in the middle of each scale is what you need. The bar goes to the right where the pattern is bigger, to "
    "the left where it is smaller. Striped: too close to call. Dotted: style, which a block leaves out."
)
CAUTIONS = (
    "Sew a toile from cheap cloth before you cut good cloth.",
    "Blades, pins and awls injure: cut away from your hand and cover the blade.",
    "Measurements are personal: they stay on your machine, so think before you pass this page on.",
    "A published pattern belongs to its publisher: a block taken from it is for your own use, as far as local law "
    "allows.",
    "Old tissue tears: never cut or punch it, photograph it.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A small picture of one thing that was read, as JPEG bytes, what it is, and how sure in words."""

    picture: bytes
    what: str
    how_sure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Photograph:
    """A photograph with what was read drawn on it, as PNG or JPEG bytes; ``caption`` says what to look at.

    ``patches`` show each thing that was read by itself.
    """

    title: str
    picture: bytes
    caption: str
    patches: tuple[Patch, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture as inline SVG with a title and a sentence, and quieter sentences after it."""

    title: str
    svg: str
    sentence: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeAllowance:
    """The allowance of one edge or several alike: how wide in words, on what evidence in words, and why."""

    edge: str
    width: str
    evidence: str
    why: str
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceAllowances:
    """All allowances of one piece."""

    piece: str
    edges: tuple[EdgeAllowance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """One check as a sentence, and whether it holds."""

    sentence: str
    sound: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FileLine:
    """A file and what it is for."""

    name: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent:
    """Everything that the report says."""

    title: str
    maker: str
    date: str
    summary: tuple[str, ...]
    files: tuple[FileLine, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    allowances: tuple[PieceAllowances, ...] = ()
    overlays: tuple[Figure, ...] = ()
    comparison: tuple[Figure, ...] = ()
    comparison_key: str = BARS_KEY
    block_sentences: tuple[str, ...] = ()
    moves: tuple[Figure, ...] = ()
    checks: tuple[CheckLine, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    doubts: tuple[str, ...] = ()
    measure_next: tuple[str, ...] = ()
    accuracy: tuple[str, ...] = ()


def report_content(
    block: Block,
    patterns: Sequence[Piece],
    *,
    title: str,
    date: str,
    photographs: Sequence[Photograph] = (),
    files: Sequence[FileLine] = (),
    measure_next: Sequence[str] = (),
    notes: Sequence[Note] = (),
    comparison: Comparison | None = None,
) -> ReportContent:
    """The report of a block made from pattern pieces on their seam lines.

    Parameters
    ----------
    block
        The block.
    patterns
        The pieces as read, seam lines and allowances known, in the frame of the block's pieces of the same kind.
    date
        Written out.
    photographs, files, measure_next, notes
        What only the caller knows; notes of the block are added.
    comparison
        The pattern beside the maker, as :func:`convert.block.compare.compare` gives it; without it, body, pattern and
        block are set side by side as bars.
    """
    unit = block.maker.unit
    doubts = dict.fromkeys(note.text for note in (*notes, *block.notes))
    return ReportContent(
        title=title,
        maker=block.maker.name,
        date=date,
        summary=_summary(block),
        files=tuple(files),
        photographs=tuple(photographs),
        allowances=tuple(_allowances(piece, unit) for piece in patterns),
        overlays=tuple(_overlays(block, patterns)),
        comparison=_comparison(block.levels, unit) if comparison is None else _compared(comparison, patterns, unit),
        comparison_key=BARS_KEY if comparison is None else DIFFERENCES_KEY,
        block_sentences=() if comparison is None else tuple(level_sentence(level, unit) for level in block.levels),
        moves=tuple(_move(move) for move in block.moves),
        checks=tuple(CheckLine(sentence=check_sentence(check), sound=check.sound) for check in block.checks),
        doubts=tuple(doubts),
        measure_next=tuple(measure_next),
        accuracy=_accuracy(block, patterns),
    )


def _summary(block: Block) -> tuple[str, ...]:
    pieces = ", ".join(piece.kind for piece in block.pieces)
    unsound = sum(not check.sound for check in block.checks)
    state = (
        "Every check of the block holds."
        if not unsound
        else f"{'One check does' if unsound == 1 else f'{unsound} checks do'} not hold: see “Is the block sound?”."
    )
    return (f"A block for {block.maker.name}: {pieces}.", "It has no seam allowance and no style, only ease.", state)


def _allowances(piece: Piece, unit: LengthUnit) -> PieceAllowances:
    """Edges with the same width for the same reason in one line."""
    grouped: dict[tuple[str, str, str, bool], list[str]] = {}
    for edge in piece.edges:
        width = (
            "none, on the fold"
            if edge.on_fold
            else "none"
            if edge.allowance.mm == 0
            else format_paper_mm(edge.allowance.mm, unit)
        )
        key = (width, EVIDENCE_WORDS[edge.allowance.evidence], edge.allowance.why, edge.allowance.evidence == "assumed")
        grouped.setdefault(key, []).append(edge.name)
    return PieceAllowances(
        piece=piece.kind,
        edges=tuple(
            EdgeAllowance(edge=listed(names), width=width, evidence=evidence, why=why, assumed=assumed)
            for (width, evidence, why, assumed), names in grouped.items()
        ),
    )


def _overlays(block: Block, patterns: Sequence[Piece]) -> list[Figure]:
    by_kind = {piece.kind: piece for piece in patterns}
    moved = {move.piece: move for move in reversed(block.moves)}
    figures = []
    for piece in block.pieces:
        # the first move's "before" lies in the block's own frame; a pattern as read may lie anywhere
        before = moved[piece.kind].before if piece.kind in moved else by_kind.get(piece.kind)
        if before is not None:
            sentence = "The dashed line is the pattern, the full line your block."
            figures.append(Figure(title=piece.kind.capitalize(), svg=overlay_picture(before, piece), sentence=sentence))
    return figures


def _comparison(levels: Sequence[Level], unit: LengthUnit) -> tuple[Figure, ...]:
    """One picture and one sentence for each level, all pictures to one scale."""
    longest = longest_of(levels) if levels else 0.0
    return tuple(
        Figure(
            title=level.name.capitalize(),
            svg=comparison_picture([level], unit, longest=longest),
            sentence=level_sentence(level, unit),
        )
        for level in levels
    )


def _compared(comparison: Comparison, patterns: Sequence[Piece], unit: LengthUnit) -> tuple[Figure, ...]:
    """One picture of the difference for each level, with its sentences."""
    return tuple(
        Figure(
            title=level.name.capitalize(),
            svg=compared_picture(level, patterns, unit=unit, waist_to_hip_mm=comparison.waist_to_hip_mm, worded=False),
            sentence=level.sentence,
            more=tuple(
                text for text in (level.ease_sentence, f"On the paper: {level.where}." if level.where else "") if text
            ),
        )
        for level in comparison.levels
    )


def level_sentence(level: Level, unit: LengthUnit = "cm") -> str:
    """One measurement's comparison as a sentence that asks for no sum."""
    name = level.name.capitalize()
    change = 0.0 if level.pattern_mm is None else level.block_mm - level.pattern_mm
    if level.pattern_mm is None:
        changed = "It was drafted: there is no pattern of it."
    elif abs(change) < 1.0:
        changed = "The block is as large as the pattern."
    else:
        way = "larger" if change > 0 else "smaller"
        changed = f"The block is {format_paper_mm(abs(change), unit)} {way} than the pattern."
    if level.body_mm is None:
        return f"{name}: not on your card, so it follows from the rest. {changed}"
    whose = "estimated for you" if level.body_is_estimated else "yours"
    body = f"{name}: {format_body_mm(level.body_mm, unit)} is {whose}"
    if level.ease_mm < 0.5:
        return f"{body}, and so is the block. {changed}"
    ease = f"{format_paper_mm(level.ease_mm, unit)} of ease"
    return f"{body}. With {ease} the block has {format_paper_mm(level.block_mm, unit)}. {changed}"


def _move(move: Move) -> Figure:
    return Figure(title=f"{move.move.capitalize()}, {move.piece}", svg=move_picture(move), sentence=move.sentence)


def check_sentence(check: Check) -> str:
    """One check as a sentence for the maker."""
    if abs(check.value) < 0.005:
        return f"{check.check[:1].upper()}{check.check[1:]}, {check.where}: exact."
    small = check.unit == "mm" and abs(check.value) < 0.5
    found = "less than half a millimetre" if small else f"{abs(check.value):.0f} {check.unit}"
    limit = f"{check.limit:.1f}".removesuffix(".0")
    return f"{check.check[:1].upper()}{check.check[1:]}, {check.where}: {found}; up to {limit} {check.unit} is sound."


def _accuracy(block: Block, patterns: Sequence[Piece]) -> tuple[str, ...]:
    near: dict[str, list[str]] = {}
    for piece in patterns:
        if piece.uncertainty_mm > 0:
            near.setdefault(f"{max(piece.uncertainty_mm, 0.1):.1f}", []).append(piece.kind)
    lines = [
        f"{listed(kinds).capitalize()}: in 95 of 100 cases the outline lies within {mm} mm of the paper’s edge."
        for mm, kinds in near.items()
    ]
    scale = max((piece.scale_uncertainty for piece in patterns), default=0.0)
    if scale > 0:
        lines.append(
            f"The mat’s own print and paper that lies above it may make everything up to {scale * 100:.1f} % too large "
            f"or too small: on a length of 50 cm that is {scale * 500:.1f} mm."
        )
    true: dict[int, list[str]] = {}
    for level in block.levels:
        if level.uncertainty_mm >= 0.5:
            true.setdefault(max(1, round(level.uncertainty_mm)), []).append(level.name)
    lines += [f"True within {mm} mm on the block: {listed(names)}." for mm, names in sorted(true.items())]
    return (
        *lines,
        "How you measure a body differs by half a centimetre to a centimetre from day to day: more than all this.",
    )
