"""Exercises that end in cloth: seam allowance, and a first garment. Its amounts are our choice, and said to be."""

from collections.abc import Iterator

import numpy as np

from calibration.ground.points import closed
from convert.block.moves.bodice import DEEPEN_NECK, LENGTHEN_SHOULDER, LOWER_ARMHOLE, WIDEN_NECK
from convert.block.moves.change import perform
from convert.block.shape.landmarks import net
from convert.block.shape.shape import piece_of, shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.paper.draw.draw_piece import simplified
from convert.paper.practice.exercise import Exercise
from convert.paper.practice.figure import KEEP_MM, Figure, Stroke, figure
from convert.paper.practice.how import svg_of
from convert.paper.sheets.toile_cut import toile_ring, toile_widths
from convert.piece.piece import Piece

SEAMS_MM, HEM_MM = 15.0, 40.0  # the usual allowances of a first garment, common practice
NECK_WIDER_MM, NECK_LOWER_MM, SHOULDER_SHORTER_MM, ARMHOLE_HIGHER_MM = 10.0, 20.0, 15.0, 10.0  # our choice
BAND_MM, BAND_LAP_MM = 30.0, 30.0  # a waistband's finished depth, and what it laps, common practice

_SHOWN = ("bodice front", "skirt front", "skirt back")  # pieces that may show how allowance is drawn


def allowance(there: dict[str, Piece], unit: LengthUnit) -> Iterator[Exercise]:
    """Seam allowance drawn round one piece."""
    piece = there.get("bodice back") or there.get("skirt back") or there.get("bodice front") or there.get("skirt front")
    if piece is None:
        return
    other = next((one for kind, one in there.items() if one is not piece and kind in _SHOWN), None)
    yield Exercise(
        title=f"Add seam allowance: {piece.kind}",
        aim="A block ends at the seam. Cloth is cut farther out.",
        steps=(
            f"Draw round the card {piece.kind} in the box. Mark its darts.",
            f"Draw a second line {format_paper_mm(SEAMS_MM, unit)} outside every seam, on the small ruler. Measure out "
            "from the seam at many places, always square to it, and join the marks.",
            *(
                (f"At the hem draw it {format_paper_mm(HEM_MM, unit)} outside.",)
                if any(edge.name == "hem" for edge in piece.edges)
                else ()
            ),
            *(
                ("At the fold there is none: the line of the fold is the edge of the paper.",)
                if any(edge.on_fold for edge in piece.edges)
                else ()
            ),
            "Fold each dart shut before you draw across it. Opened again, the line has a small peak there: it must.",
            "At the corners run both lines on until they meet.",
        ),
        pictures=(svg_of(_with_allowance(other), "Another piece, to show how"),) if other else (),
        results=(_with_allowance(piece),),
        told=("Full line: cut here. Dashed line: sew here.", "The peaks at the darts are caught in the seam."),
    )


def _with_allowance(piece: Piece, name: str = "") -> Figure:
    widths = toile_widths(piece, {"seams": SEAMS_MM, "hem": HEM_MM})
    return figure(piece, name=name, cut_ring=toile_ring(piece, widths), bust=False)


def garments(there: dict[str, Piece], unit: LengthUnit, hip: float) -> Iterator[Exercise]:
    """What can be made of the pieces there are: a shell, a skirt."""
    if "bodice front" in there and "bodice back" in there:
        yield _shell(there["bodice front"], there["bodice back"], unit)
    if "skirt front" in there and "skirt back" in there:
        yield _skirt(there["skirt front"], there["skirt back"], unit, hip)


def _shell(front: Piece, back: Piece, unit: LengthUnit) -> Exercise:
    def shaped(piece: Piece) -> Piece:
        amounts = (
            (WIDEN_NECK, NECK_WIDER_MM),
            (DEEPEN_NECK, NECK_LOWER_MM if piece.kind == "bodice front" else NECK_LOWER_MM / 4),
            (LENGTHEN_SHOULDER, -SHOULDER_SHORTER_MM),
            (LOWER_ARMHOLE, -ARMHOLE_HIGHER_MM),
        )
        for rule, amount in amounts:
            piece, _ = perform(piece, rule, amount, unit=unit)
        return piece

    say = {
        "wider": NECK_WIDER_MM,
        "lower": NECK_LOWER_MM,
        "back": NECK_LOWER_MM / 4,
        "shorter": SHOULDER_SHORTER_MM,
        "higher": ARMHOLE_HIGHER_MM,
    }
    mm = {name: format_paper_mm(value, unit) for name, value in say.items()}
    return Exercise(
        title="A first garment: a sleeveless shell to the waist",
        aim="A block is not a garment yet. These few changes make one. The amounts are our choice.",
        steps=(
            "Draw round the card front and back in the box.",
            f"Neck: mark {mm['wider']} outward along the shoulder, front and back. Mark {mm['lower']} down the centre "
            f"front, {mm['back']} down the centre back. Draw the necklines anew, square at the centre.",
            f"Shoulder: take {mm['shorter']} off at its outer end, front and back.",
            f"Armhole: mark {mm['higher']} above the underarm point and draw the side seam up to it. Without a sleeve "
            "it must sit closer. Draw the armhole anew, front and back running on at the shoulder.",
            f"Add seam allowance: {format_paper_mm(SEAMS_MM, unit)} all round, none at a fold.",
            "Mark how many to cut, the grain, and that neck and armholes are faced or bound.",
        ),
        pictures=(_changed(front, shaped(front)), _changed(back, shaped(back))),
        results=(_with_allowance(shaped(front)), _with_allowance(shaped(back))),
        told=(
            "Front and back shoulder are equally long at the stitching line, but for what the back is eased.",
            "Try it in cheap cloth first.",
        ),
    )


def _skirt(front: Piece, back: Piece, unit: LengthUnit, hip: float) -> Exercise:
    waist = 2.0 * sum(net(shape_of(piece), "waist") for piece in (front, back))
    return Exercise(
        title="A first garment: a straight skirt",
        aim="The skirt block is nearly a skirt: it needs an opening, a waistband and allowance.",
        steps=(
            "Draw round the card skirt front and back in the box, darts and all.",
            f"Mark the hip on the side seam, {format_paper_mm(hip, unit)} below the waist at the centre. From there "
            "draw the side seam straight down, parallel to the centre, and the hem square to it.",
            f"Add {format_paper_mm(SEAMS_MM, unit)} at waist, side and an open centre, {format_paper_mm(HEM_MM, unit)} "
            "at the hem, none at a fold.",
            f"The waistband is a strip {format_paper_mm(waist + BAND_LAP_MM, unit)} long and "
            f"{format_paper_mm(2 * BAND_MM, unit)} wide, folded along its middle; add allowance all round. Draw it on "
            "other paper.",
            f"Mark the opening for the zip: {format_paper_mm(200.0, unit)} down from the waist, at the left side or "
            "the centre back.",
        ),
        pictures=(_changed(front, straight(front, hip)),),
        results=(_with_allowance(straight(front, hip)), _with_allowance(straight(back, hip))),
        told=(
            f"The waist seam, darts closed, is {format_paper_mm(waist, unit)} long all the way round; the band is that "
            "and the lap.",
            "Front and back side seams are equally long.",
        ),
    )


def _changed(before: Piece, after: Piece) -> str:
    """A piece with its new lines over it."""
    new = Stroke(look="cut", points=closed(simplified(after.seam_line, KEEP_MM)))
    return svg_of(figure(before, more=(new,), bust=False), f"{before.kind.capitalize()}. Dashed: the new line")


def straight(piece: Piece, hip: float) -> Piece:
    """A skirt piece whose side runs straight down from the hip (``hip`` mm below the waist), its hem square to it."""
    shape = shape_of(piece)
    side, hem = shape.run("side seam", "waist"), shape.run("hem", shape.centre)
    line = shape.ring[side]
    out = float(np.interp(hip, -line[:, 1], line[:, 0]))
    ring = shape.ring.copy()
    below = side[line[:, 1] < -hip]
    ring[below, 0] = out
    ring[hem, 0] = np.linspace(0.0, out, len(hem))
    bottom = float(ring[hem[0], 1])
    ring[hem, 1] = bottom
    ring[below, 1] = -hip + (shape.ring[below, 1] + hip) * (bottom + hip) / float(line[-1, 1] + hip)
    return piece_of(shape.moved(ring=ring))
