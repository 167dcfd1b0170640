"""From what was traced to a piece on its seam line: naming and seam in one line."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.plane import point_at
from calibration.ground.points import Points, lengths_along, nearest_on_line, resample
from convert.piece.allowance.allowance import FOLD_DOUBT_MM, estimate_allowances
from convert.piece.allowance.beside_notches import evened, with_tips
from convert.piece.allowance.folded_up import folded_up
from convert.piece.allowance.offset import CutEdge, CutMouth, SeamEdge, remove_allowance
from convert.piece.allowance.stitching import Stitching, measure_stitching
from convert.piece.darts.darts import CutDart, Wedge, find_darts
from convert.piece.darts.open_darts import without_open_darts
from convert.piece.holes.holes import HoleReading, read_holes
from convert.piece.names.beyond_centre import Beyond, cut_at_centre, put_beyond
from convert.piece.names.kinds import KINDS
from convert.piece.names.naming import NamedEdge, NamedPiece, name_piece, straightened, told_in_frame
from convert.piece.names.sharp import sharpened
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.outline.fit import fit_path
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, InsideLine, Mark, Piece, PieceKind
from convert.piece.together.swapped import likely_swapped
from convert.piece.together.tucks import told_tucks
from convert.piece.width_words import Unit, format_paper_mm
from convert.trace.tracing import Tracing

FIT_MM = 0.12
"""How closely curves follow the traced outline: nearer than any tracing is sure of."""
TOGETHER_MM = 22.0  # notches so close together on an edge are one double or triple notch
LEGS_APART_MM = 1.0
CUT_LEGS_APART_MM = 1.5  # scissors and tracing together
TOLD_APART_MM = 1.6  # 1/16 in: what was said and what is printed are one value if they differ by no more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Unseamed:
    """A piece before its seam line is looked for: edges named, darts, holes, and what was told in the piece's frame."""

    named: NamedPiece
    darts: tuple[CutDart, ...]
    holes: HoleReading
    told: Told
    beyond: tuple[Beyond, ...] = ()


def piece_from(
    tracing: Tracing,
    kind: PieceKind,
    told: Told = NOTHING_TOLD,
    *,
    uncertainty_mm: float = 0.0,
    scale_uncertainty: float = 0.0,
) -> Piece:
    """A traced outline as a piece on its seam line, every allowance with its evidence.

    The piece stands upright, its lower centre corner (a skirt's upper one, a sleeve's underarm level below the middle
    of the cap) at the origin; ``uncertainty_mm`` is what calibration adds to tracing's own.

    Raises
    ------
    InputError
        If the edges can't be named, or an allowance leaves nothing of an edge.
    """
    one = unseamed_from(tracing, kind, told)
    return seamed(one, uncertainty_mm=uncertainty_mm, scale_uncertainty=scale_uncertainty)


def unseamed_from(tracing: Tracing, kind: PieceKind, told: Told = NOTHING_TOLD) -> Unseamed:
    """The first half of :func:`piece_from`: all that does not hang on how wide an allowance is.

    Raises
    ------
    InputError
        If the edges can't be named.
    """
    off = cut_at_centre(with_tips(tracing), kind, told)
    opened, told = without_open_darts(off.tracing), off.told
    named = name_piece(opened.tracing, kind, told)
    swapped = likely_swapped(opened.tracing, kind, told)
    named = evened(replace(named, edges=sharpened(named.edges)))
    said = told_in_frame(told, named.placement)
    holes = read_holes(named, told.unit, said.hole_meanings)
    grain_told = any(one.means == "grain" for one in said.hole_meanings)
    if holes.grain is not None and (named.grainline is None or (grain_told and said.grain is None)):
        named = replace(named, grainline=holes.grain, grain_evidence="told" if grain_told else "measured")
    cut_out = opened.in_frame(named.placement)
    darts = find_darts(named, said, (*cut_out, *holes.wedges), holes.doubles, legs_may_hide=tracing.nested)
    named = replace(named, notes=(*named.notes, *off.notes, *swapped, *_cut_out_notes(cut_out, darts, told.unit)))
    return Unseamed(named=named, darts=darts, holes=holes, told=said, beyond=off.beyond)


def _cut_out_notes(wedges: tuple[Wedge, ...], darts: tuple[CutDart, ...], unit: Unit) -> list[Note]:
    """What is taken for granted of darts that are cut out of the paper, and legs that differ."""
    notes = []
    for wedge in wedges:
        on = next((dart.on for dart in darts if np.allclose(dart.apexes[0], wedge.apex)), None)
        if on is None:
            continue
        text = (
            f"A dart is cut out of the paper at the {on}. It is taken to be cut along the lines that are sewn; "
            "if the paper has seam allowance there too, tell the dart (darts)."
        )
        notes.append(Note("dart-cut-out", text))
        long = np.hypot(*(wedge.ends - wedge.apex).T)
        if abs(long[0] - long[1]) > CUT_LEGS_APART_MM:
            differ = format_paper_mm(abs(long[0] - long[1]), unit)
            notes.append(Note("dart-legs-unequal", f"The legs of the dart cut out at the {on} differ by {differ}."))
    return notes


def seamed(
    one: Unseamed,
    *,
    alike: Mapping[EdgeName, Allowance] | None = None,
    uncertainty_mm: float = 0.0,
    scale_uncertainty: float = 0.0,
) -> Piece:
    """The second half of :func:`piece_from`: the piece on its seam line.

    ``alike`` is what the other pieces of the pattern say of its allowances, in place of what was told of that before.

    Raises
    ------
    InputError
        If an allowance leaves nothing of an edge.
    """
    named, darts, holes = one.named, one.darts, one.holes
    told = one.told if alike is None else replace(one.told, alike=alike)
    stitching = measure_stitching(named, darts)
    fold, notes = fold_of(named, stitching, holes, told)
    up, said_of_it = folded_up(named, stitching)
    allowances = estimate_allowances(named, darts, stitching, {**up, **holes.seams}, told, fold=fold)
    notes += said_of_it
    centre = named.centre
    cut = []
    for edge in named.edges:
        seam = told.centre_line if edge.name == centre else None
        allowance = allowances[edge.name] if seam is None else _to_centre_line(edge, seam)
        on_fold = fold is not None and fold[0] == edge.name
        cut.append(_cut_edge(edge, allowance, darts, on_fold, seam))
    seams = remove_allowance(cut)
    sewn, more = _sewn_darts(darts, cut, seams, told.unit)
    piece = Piece(
        kind=named.kind,
        edges=tuple(
            Edge(name=e.name, points=s.points, cut_points=e.points, allowance=e.allowance, on_fold=e.on_fold)
            for e, s in zip(cut, seams, strict=True)
        ),
        darts=sewn,
        marks=(*_notches(named, cut, seams), *holes.marks, *_grain_ends(named)),
        grainline=_grain_of(named),
        uncertainty_mm=float(np.hypot(named.tracing.uncertainty_mm, uncertainty_mm)),
        scale_uncertainty=scale_uncertainty,
        complete=named.tracing.complete,
        notes=(*named.notes, *notes, *more, *_doubts(named, stitching, told)),
        placement=named.placement,
        inside=(
            *(
                InsideLine(points=line.points, dashed=line.dashed)
                for line in named.tracing.lines
                if line.kind == "other" and len(line.points) >= 2
            ),
            *told_tucks(told.tucks, [(edge.name, edge.points) for edge in cut]),
        ),
    )
    return put_beyond(moved(piece, -_origin(piece)), one.beyond, told.unit)


# ---------------------------------------------------------------- fold


def fold_of(
    named: NamedPiece, stitching: dict[EdgeName, Stitching], holes: HoleReading, told: Told
) -> tuple[tuple[EdgeName, Allowance] | None, list[Note]]:
    """Whether the centre edge lies on a fold: told, printed, punched, or else the likelier of the two."""
    centre = named.centre
    if centre is None or told.fold == "none" or told.centre_line is not None:
        return None, []
    if told.fold is not None:
        edge: EdgeName = told.fold  # type: ignore[assignment]
        return (edge, Allowance(mm=0.0, evidence="told", why="This edge was said to lie on a fold.")), []
    if centre in told.allowances or told.no_allowance:
        return None, []
    if any(line.kind == "fold" for line in named.tracing.lines):
        why = "A fold bracket is printed along this edge."
        return (centre, Allowance(mm=0.0, evidence="measured", uncertainty_mm=0.3, why=why)), []
    if holes.fold:
        why = "A row of large holes beside this edge means a fold."
        return (centre, Allowance(mm=0.0, evidence="measured", uncertainty_mm=0.3, why=why)), []
    if centre in stitching or centre in holes.seams:
        return None, []
    if len(stitching) >= 2:
        why = "Stitching lines are printed along other edges but not along this one, so it lies on a fold."
        return (centre, Allowance(mm=0.0, evidence="deduced", uncertainty_mm=0.3, why=why)), []
    return _guessed_fold(named, centre)


def _guessed_fold(named: NamedPiece, centre: EdgeName) -> tuple[tuple[EdgeName, Allowance] | None, list[Note]]:
    edge = named.edge(centre).points
    size = lengths_along(edge)[-1]
    feet = [nearest_on_line(edge, mark.at)[1:] for mark in named.tracing.marks if mark.kind == "notch"]
    if any(off < 12.0 and 0.1 * size < s < 0.9 * size for s, off in feet):
        return None, [Note("seam-deduced", f"A notch stands in the {centre}: it is taken for a seam, not a fold.")]
    if KINDS[named.kind].side == "back":
        text = (
            f"Nothing on the paper says whether the {centre} is a fold or a seam; it is taken for a seam. Say if not."
        )
        return None, [Note("fold-unknown", text)]
    text = f"Nothing on the paper says whether the {centre} is a fold or a seam; it is taken for a fold. Say if not."
    why = "A front without a seam or a wrap mostly lies on a fold."
    return (centre, Allowance(mm=0.0, evidence="assumed", uncertainty_mm=FOLD_DOUBT_MM, why=why)), [
        Note("fold-unknown", text)
    ]


# ---------------------------------------------------------------- cut edges


def _to_centre_line(edge: NamedEdge, line: Points) -> Allowance:
    ends = straightened(line)
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    gap = edge.points - ends[0]
    mm = float(np.median(np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0])))
    return Allowance(mm=mm, evidence="told", why="The centre line was told; what lies beyond it is wrap or facing.")


def _cut_edge(
    edge: NamedEdge,
    allowance: Allowance,
    darts: tuple[CutDart, ...],
    on_fold: bool,
    seam: Points | None,
) -> CutEdge:
    """The edge smoothed by lines and cubics, with its darts' mouths."""
    mine = [dart for dart in darts if dart.on == edge.name and seam is None]
    points = smoothed(edge.points, [s for dart in mine for s in dart.span], FIT_MM)
    mouths = []
    for dart in mine:
        start, end = (nearest_on_line(points, point_at(edge.points, s))[1] for s in dart.span)
        mouths.append(CutMouth(span=(start, end), apex=dart.apexes[0], crossings=dart.crossings))
    if seam is not None:
        line = straightened(seam)
        along = edge.points[-1] - edge.points[0]
        seam = line if (line[1] - line[0]) @ along > 0 else line[::-1]
    return CutEdge(name=edge.name, points=points, allowance=allowance, mouths=tuple(mouths), on_fold=on_fold, seam=seam)


def smoothed(line: Points, kinks: list[float], tolerance: float) -> Points:
    """An edge as the points of lines and cubics fitted to it; it may turn at its ends and at ``kinks`` (arc lengths).

    Between the two kinks of a dart the line keeps its traced points.
    """
    s = lengths_along(line)
    marks = [0, *(int(np.argmin(np.abs(s - kink))) for kink in kinks), len(line) - 1]
    parts = []
    for k, (a, b) in enumerate(itertools.pairwise(marks)):
        if b <= a:
            continue
        part = line[a : b + 1]
        parts.append(
            resample(part, 0.5)
            if k % 2
            else fit_path(part, (), tolerance_mm=tolerance, closed=False).points(apart_mm=0.5)
        )
    joined = [parts[0], *(part[1:] for part in parts[1:])]
    return np.vstack(joined)


# ---------------------------------------------------------------- darts and marks


def _sewn_darts(
    darts: tuple[CutDart, ...], cut: list[CutEdge], seams: tuple[SeamEdge, ...], width_unit: Unit
) -> tuple[tuple[Dart, ...], list[Note]]:
    """Darts with their leg ends on the seam line; legs that differ are said."""
    out, notes = [], []
    for edge, seam in zip(cut, seams, strict=True):
        mine = [dart for dart in darts if dart.on == edge.name]
        for dart, legs in zip(mine, seam.legs, strict=False):
            out.append(Dart(on=edge.name, apexes=dart.apexes, legs=legs, evidence=dart.evidence))
            long = np.hypot(*(legs - dart.apexes[0]).T)
            if abs(long[0] - long[1]) > LEGS_APART_MM:
                differ = format_paper_mm(abs(long[0] - long[1]), width_unit)
                text = f"The legs of the dart on the {edge.name} differ by {differ}."
                notes.append(Note("dart-legs-unequal", text))
            if dart.evidence == "deduced":
                about = format_paper_mm(max(dart.apex_uncertainty_mm, 1.0), width_unit)
                text = (
                    f"The dart on the {edge.name} shows only by its peak; its point is worked out from that, "
                    f"to about {about}. Say where it is, if you know."
                )
                notes.append(Note("dart-deduced", text))
    out += [Dart(on=None, apexes=d.apexes, legs=d.crossings, evidence=d.evidence) for d in darts if d.on is None]
    return tuple(out), notes


def _notches(named: NamedPiece, cut: list[CutEdge], seams: tuple[SeamEdge, ...]) -> tuple[Mark, ...]:
    """Notches with the edge they belong to, how many stand together, and their place on the seam line."""
    placed = []
    for mark in named.tracing.marks:
        if mark.kind == "notch":
            feet = [(*nearest_on_line(edge.points, mark.at), k) for k, edge in enumerate(cut)]
            foot, along, _, k = min(feet, key=lambda found: found[2])
            placed.append((mark, foot, along, k))
    out = []
    for mark, foot, along, k in placed:
        count = sum(other == k and abs(s - along) < TOGETHER_MM for _, _, s, other in placed)
        on_seam = nearest_on_line(seams[k].points, foot)[0]
        meaning = {1: "single", 2: "double"}.get(count, "triple")
        out.append(
            Mark(
                kind="notch",
                at=mark.at,
                on=cut[k].name,
                meaning=meaning,
                confidence=mark.confidence,
                seam_at=on_seam,
                evidence=mark.evidence,
            )
        )
    return tuple(out)


def _grain_of(named: NamedPiece) -> Points | None:
    if named.grainline is not None:
        return named.grainline
    middle = np.vstack([edge.points for edge in named.edges]).mean(0)
    tall = float(np.ptp(np.vstack([edge.points for edge in named.edges])[:, 1]))
    return np.array([middle - [0.0, 0.25 * tall], middle + [0.0, 0.25 * tall]])


def _grain_ends(named: NamedPiece) -> tuple[Mark, ...]:
    if named.grainline is None:
        return ()
    return tuple(Mark(kind="grain-end", at=end, meaning="grain") for end in named.grainline)


def _doubts(named: NamedPiece, stitching: dict[EdgeName, Stitching], told: Told) -> list[Note]:
    notes = []
    if named.grainline is None:
        notes.append(Note("grain-deduced", "No grainline was read: it is taken along the centre of the piece."))
    for name, line in stitching.items():
        if abs(line.taper_mm) > max(1.5, 3 * line.uncertainty_mm):
            by = format_paper_mm(abs(line.taper_mm), told.unit)
            text = f"The allowance of the {name} changes by {by} along the edge: look at it."
            notes.append(Note("allowance-tapers", text))
    for name, line in stitching.items():
        said = told.allowance_of(name)
        if said is not None and abs(said - line.mm) > TOLD_APART_MM + line.uncertainty_mm:
            yours, printed = format_paper_mm(said, told.unit), format_paper_mm(line.mm, told.unit)
            text = (
                f"You said {yours} of seam allowance for the {name}, and a stitching line is printed {printed} inside "
                "the cut line. What you said was taken; if the line is right, say so for this edge."
            )
            notes.append(Note("allowance-told-differs", text))
    return notes


# ---------------------------------------------------------------- frame


def _origin(piece: Piece) -> Points:
    """The lower inner corner, a skirt's or trousers' upper one, a sleeve's underarm level below the cap's middle."""
    kind = KINDS[piece.kind]
    if kind.garment == "sleeve":
        cap = piece.edge("cap").points
        top = cap[np.argmax(cap[:, 1])]
        return np.array([top[0], (cap[0, 1] + cap[-1, 1]) / 2])
    on = "crotch seam" if kind.garment == "trousers" else piece.centre or kind.shapes[0].anchor
    inner = piece.edge(on).points[[0, -1]]
    low, high = inner[np.argsort(inner[:, 1])]
    return np.asarray(high if kind.garment in ("skirt", "trousers") else low)


def moved(piece: Piece, by: Points) -> Piece:
    """The piece shifted in its own frame."""
    by = np.asarray(by, float)
    edges = tuple(replace(edge, points=edge.points + by, cut_points=edge.cut_points + by) for edge in piece.edges)
    darts = tuple(replace(dart, apexes=dart.apexes + by, legs=dart.legs + by) for dart in piece.darts)
    marks = tuple(
        replace(mark, at=mark.at + by, seam_at=None if mark.seam_at is None else mark.seam_at + by)
        for mark in piece.marks
    )
    return replace(
        piece,
        edges=edges,
        darts=darts,
        marks=marks,
        grainline=None if piece.grainline is None else piece.grainline + by,
        inside=tuple(replace(line, points=line.points + by) for line in piece.inside),
        placement=None if piece.placement is None else piece.placement.shifted(by),
    )
