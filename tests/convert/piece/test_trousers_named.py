"""A leg of trousers on the mat, lying anyhow: its edges found, front told from back."""

import numpy as np
import pytest

from calibration.ground.points import Points
from convert.piece.names.naming import name_piece
from convert.piece.piece import Piece
from convert.piece.together.swapped import likely_swapped
from convert.trace.tracing import TracedLine, Tracing
from tests.convert.block.trousers_draft import Drafted, drafted_trousers

EDGES = {"hem", "side seam", "waist", "crotch seam", "inseam"}
CUTS = (
    Drafted(),
    Drafted(hip=1230.0, waist=1040.0, rise=310.0, knee=520.0, hem=440.0, fork_front=78.0, fork_back=150.0),
    Drafted(hip=880.0, waist=650.0, rise=262.0, fork_front=52.0, fork_back=100.0, tilt=30.0),
    Drafted(knee=560.0, hem=640.0),
    Drafted(length=620.0, knee=560.0, hem=520.0),
)


def traced(piece: Piece, turn_deg: float, *, grain: bool, mirrored: bool = False) -> Tracing:
    """The seam line as a tracing, turned on the mat."""
    angle = np.radians(turn_deg)
    spin = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])

    def there(points: Points) -> Points:
        return (np.asarray(points) * [-1.0 if mirrored else 1.0, 1.0]) @ spin + [400.0, 500.0]

    ring, ends = there(piece.seam_line), [edge.points[0] for edge in piece.edges]
    ring = ring[::-1] if mirrored else ring
    corners = sorted(int(np.hypot(*(ring - there(end[None])).T).argmin()) for end in ends)
    lines = (TracedLine(kind="grainline", points=there(piece.grainline), confidence=0.9),) if grain else ()  # type: ignore[arg-type]
    return Tracing(outline=ring, corners=np.array(corners), inferred=np.zeros(len(ring), bool), lines=lines)


@pytest.mark.parametrize("cut", CUTS)
@pytest.mark.parametrize("half", [0, 1])
@pytest.mark.parametrize(
    ("turn_deg", "grain", "mirrored"), [(91.0, True, False), (200.0, False, False), (-35.0, True, True)]
)
def test_every_edge_is_found(cut: Drafted, half: int, turn_deg: float, grain: bool, mirrored: bool):
    piece = drafted_trousers(cut)[half]
    named = name_piece(traced(piece, turn_deg, grain=grain, mirrored=mirrored), piece.kind)
    assert {edge.name for edge in named.edges} == EDGES
    for edge in named.edges:
        own = piece.edge(edge.name).points
        assert np.hypot(*np.diff(edge.points, axis=0).T).sum() == pytest.approx(
            np.hypot(*np.diff(own, axis=0).T).sum(), abs=2.0
        )
    assert named.turned_over == mirrored


@pytest.mark.parametrize("cut", CUTS[:4])
def test_a_front_given_as_a_back_is_said_and_one_rightly_named_is_not(cut: Drafted):
    for piece in drafted_trousers(cut):
        other = "trousers back" if piece.kind == "trousers front" else "trousers front"
        tracing = traced(piece, 80.0, grain=True)
        assert not likely_swapped(tracing, piece.kind)
        assert [note.code for note in likely_swapped(tracing, other)] == ["part-swapped"]  # type: ignore[arg-type]
