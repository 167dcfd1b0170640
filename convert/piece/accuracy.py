"""How far a piece can be trusted as a whole."""

import numpy as np

from convert.piece.piece import Piece


def accuracy_mm(piece: Piece) -> float:
    """Within what distance 95 of 100 points of the outline lie from the truth, once it is laid on it.

    Tracing and calibration, and beside them the scale that paper's lift and the mat's print leave open, which pulls a
    point the further off the further from the middle it lies.
    """
    from_middle = np.hypot(*(piece.cut_line - piece.cut_line.mean(axis=0)).T)
    return float(np.hypot(piece.uncertainty_mm, piece.scale_uncertainty * np.sqrt(np.mean(from_middle**2))))
