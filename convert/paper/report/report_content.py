"""What the report says, as plain fields, before anybody lays it out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from calibration.ground.errors import Note
from calibration.ground.units import MM_PER_INCH
from convert.block.block import Block, Check, Level
from convert.block.compared.compare import Comparison
from convert.body.card import LengthUnit
from convert.body.wording import accuracy_words, format_body_mm, format_fine_mm, format_paper_mm, format_told_mm, listed
from convert.paper.cautions import TO_CUT
from convert.paper.report.answer import answer, differing, look_at
from convert.paper.report.check_words import check_sentence, state_sentence, unsound_sentence
from convert.paper.report.difference_picture import difference_picture
from convert.paper.report.together_picture import seam_sentences, together_picture
from convert.paper.steps.by_hand import HandStep, steps_by_hand
from convert.paper.steps.hand_pictures import step_picture
from convert.paper.steps.pictures import comparison_picture, longest_of, overlay_picture
from convert.piece.accuracy import accuracy_mm
from convert.piece.piece import Evidence, Piece
from convert.piece.together.laid import Laid
from convert.piece.width_words import steps

EVIDENCE_WORDS: dict[Evidence, str] = {
    "measured": "measured on the paper",
    "told": "told by you",
    "deduced": "worked out from the shape",
    "assumed": "assumed, please check",
}
TOGETHER_KEY = (
    "Dashed outline: each part on its seam line. Thick line: where their seams touch. Hatched: what opens, a dart. "
    "Full outline: the piece that they make."
)
BARS_KEY = (
    "A filled bar is a body, an open bar the body the pattern was drawn for. Hatched is ease. All bars are drawn to "
    "one scale."
)
LEAST_CHANGE_MM = 0.8  # half a sixteenth of an inch, about a millimetre: less is none in either unit
LEAST_EASE_MM = 0.5  # less is none: it is not to be seen in print
DIFFERENCES_KEY = (
    "The line in the middle of each scale is what you need. The bar goes to the right where the pattern is bigger, to "
    "the left where it is smaller. Striped: too close to call. Dotted: style, which a block leaves out."
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
    """The allowance of edges that are alike: which, how wide in words, on what evidence in words, and why."""

    edges: str
    width: str
    evidence: str
    why: str
    assumed: bool = False


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
    """Everything that the report says, in the order in which it is said.

    ``answer`` and ``overlays`` come first. ``comparison`` are the measurements that differ, the largest difference
    first; ``close`` the others, in a line each. ``steps`` are small pictures of what ``steps.pdf`` shows large.
    """

    title: str
    maker: str
    date: str
    answer: tuple[str, ...]
    state: str
    together: tuple[Figure, ...] = ()
    together_key: str = TOGETHER_KEY
    overlays: tuple[Figure, ...] = ()
    doubts: tuple[str, ...] = ()
    measure_next: tuple[str, ...] = ()
    look_at: tuple[str, ...] = ()
    comparison: tuple[Figure, ...] = ()
    comparison_key: str = BARS_KEY
    close: tuple[str, ...] = ()
    allowances: tuple[EdgeAllowance, ...] = ()
    ease: tuple[str, ...] = ()
    steps: tuple[Figure, ...] = ()
    block_sentences: tuple[str, ...] = ()
    accuracy: tuple[str, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    checks: tuple[CheckLine, ...] = ()
    cautions: tuple[str, ...] = TO_CUT
    files: tuple[FileLine, ...] = ()


def report_content(
    block: Block,
    patterns: Sequence[Piece],
    *,
    title: str,
    date: str,
    laid: Sequence[Laid] = (),
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
        The plain pieces, seam lines and allowances known, in the frame of the block's pieces of the same kind.
    laid
        How parts were laid together into them, with the parts as they were read.
    date
        Written out.
    photographs, files, measure_next, notes
        What only the caller knows; notes of the block are added.
    comparison
        The pattern beside the maker, as :func:`convert.block.compared.compare.compare` gives it; without it, body,
        pattern and block are set side by side as bars.
    """
    unit = block.maker.unit
    doubts = dict.fromkeys(note.text for note in (*notes, *block.notes))
    read = [piece for one in laid for piece in one.read] or patterns
    return ReportContent(
        title=title,
        maker=block.maker.name,
        date=date,
        answer=answer(block, comparison, unit),
        state=state_sentence(block),
        together=tuple(_together(one, unit) for one in laid if one.seams),
        overlays=tuple(_overlays(block, patterns)),
        doubts=tuple(doubts),
        measure_next=tuple(measure_next),
        look_at=look_at(block, comparison, unit),
        comparison=_bars(block.levels, unit) if comparison is None else _compared(comparison, patterns, unit),
        comparison_key=BARS_KEY if comparison is None else DIFFERENCES_KEY,
        close=() if comparison is None else _close(comparison),
        allowances=_allowances(read, unit),
        ease=() if comparison is None else _ease(comparison),
        steps=tuple(_step(number, step, unit) for number, step in enumerate(steps_by_hand(block.moves, unit), 1)),
        block_sentences=() if comparison is None else tuple(level_sentence(level, unit) for level in block.levels),
        accuracy=_accuracy(patterns, unit),
        photographs=tuple(photographs),
        checks=tuple(CheckLine(sentence=_said(check, unit), sound=check.sound) for check in block.checks),
        files=tuple(files),
    )


def _said(check: Check, unit: LengthUnit) -> str:
    return check_sentence(check, unit) if check.sound else unsound_sentence(check, unit)


def _allowances(patterns: Sequence[Piece], unit: LengthUnit) -> tuple[EdgeAllowance, ...]:
    """Edges with the same width for the same reason in one line, piece by piece named."""
    grouped: dict[tuple[str, str, str, bool], dict[str, list[str]]] = {}
    for piece in patterns:
        for edge in piece.edges:
            one = edge.allowance
            width = "none, on the fold" if edge.on_fold else "none" if one.mm == 0 else format_paper_mm(one.mm, unit)
            key = (width, EVIDENCE_WORDS[one.evidence], one.why, one.evidence == "assumed")
            grouped.setdefault(key, {}).setdefault(piece.kind, []).append(edge.name)
    return tuple(
        EdgeAllowance(edges=_edges(by_piece), width=width, evidence=evidence, why=why, assumed=assumed)
        for (width, evidence, why, assumed), by_piece in grouped.items()
    )


def _edges(by_piece: Mapping[str, list[str]]) -> str:
    """Which edges of which pieces; pieces with the same edges together."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for kind, edges in by_piece.items():
        alike.setdefault(tuple(edges), []).append(kind)
    return "; ".join(f"{listed(kinds)}: {listed(edges)}" for edges, kinds in alike.items())


def _together(laid: Laid, unit: LengthUnit) -> Figure:
    first, *more = seam_sentences(laid, unit)
    return Figure(title=laid.piece.kind.capitalize(), svg=together_picture(laid), sentence=first, more=tuple(more))


def _overlays(block: Block, patterns: Sequence[Piece]) -> list[Figure]:
    by_kind = {piece.kind: piece for piece in patterns}
    moved = {move.piece: move for move in reversed(block.moves)}
    figures = []
    for piece in block.pieces:
        # the first move's "before" lies in the block's own frame; a pattern as read may lie anywhere
        before = moved[piece.kind].before if piece.kind in moved else by_kind.get(piece.kind)
        if before is not None:
            figures.append(Figure(title=piece.kind.capitalize(), svg=overlay_picture(before, piece), sentence=""))
    return figures


def _bars(levels: Sequence[Level], unit: LengthUnit) -> tuple[Figure, ...]:
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
    """One picture for each level that differs, with its sentence and where it is taken."""
    return tuple(
        Figure(
            title=level.name.capitalize(),
            svg=difference_picture(level, patterns, unit=unit, waist_to_hip_mm=comparison.waist_to_hip_mm),
            sentence=level.sentence,
            more=(f"On the paper: {level.where}.",) if level.where else (),
        )
        for level in differing(comparison)
    )


def _close(comparison: Comparison) -> tuple[str, ...]:
    apart = {level.name for level in differing(comparison)}
    return tuple(
        f"{level.name.capitalize()}: {_lower(level.sentence)}" for level in comparison.levels if level.name not in apart
    )


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _ease(comparison: Comparison) -> tuple[str, ...]:
    return tuple(
        f"{level.name.capitalize()}: {_lower(level.ease_sentence)}"
        for level in comparison.levels
        if level.ease_sentence
    )


_LESS: Mapping[str, str] = {
    "outside leg": "so it ends above the floor",
    "inside leg": "because the fork hangs below your body and the hem may end above the floor",
}


def level_sentence(level: Level, unit: LengthUnit = "cm") -> str:
    """One measurement's comparison as a sentence that asks for no sum; body and ease add up to the block as printed."""
    name = level.name.capitalize()
    change = 0.0 if level.pattern_mm is None else level.block_mm - level.pattern_mm
    if level.pattern_mm is None:
        changed = "It was drafted: there is no pattern of it."
    elif abs(change) < LEAST_CHANGE_MM:
        changed = "The block is as large as the pattern."
    else:
        way = "larger" if change > 0 else "smaller"
        changed = f"The block is {format_fine_mm(abs(change), unit)} {way} than the pattern."
    block = format_fine_mm(level.block_mm, unit)
    if level.body_mm is None:
        return f"{name}: not on your card, so it follows from the rest. {changed}"
    if level.body_is_estimated:
        about = format_body_mm(level.body_mm, unit)
        return f"{name}: about {about} is estimated for you. The block has {block}. {changed}"
    body = f"{name}: {format_told_mm(level.body_mm, unit)} is yours"
    ease = printed_mm(level.block_mm, unit) - level.body_mm
    if abs(ease) < LEAST_EASE_MM:
        return f"{body}, and so is the block. {changed}"
    if ease < 0:
        less = _LESS.get(level.name, "less than your own: it stretches or clings there")
        return f"{body}. The block has {block}, {less}. {changed}"
    return f"{body}. With {format_told_mm(ease, unit)} of ease the block has {block}. {changed}"


def printed_mm(mm: float, unit: LengthUnit) -> float:
    """A length on paper as it stands in print, mm.

    Examples
    --------
    >>> printed_mm(409.6, "cm")
    410.0
    """
    step = 1.0 if unit == "cm" else MM_PER_INCH / 16
    return steps(mm, step) * step


def _step(number: int, step: HandStep, unit: LengthUnit) -> Figure:
    return Figure(title=f"{number}. {step.title}", svg=step_picture(step, unit), sentence=step.piece.capitalize())


def _accuracy(patterns: Sequence[Piece], unit: LengthUnit) -> tuple[str, ...]:
    worst = max((accuracy_mm(piece) for piece in patterns if piece.uncertainty_mm > 0), default=0.0)
    said = () if worst == 0.0 else (accuracy_words(worst, unit),)
    tape = "half a centimetre to a centimetre" if unit == "cm" else "1/4 to 1/2 in"
    return (*said, f"How you measure a body differs by {tape} from day to day: more than all this.")
