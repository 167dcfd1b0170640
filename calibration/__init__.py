"""Picture -> flat paper in millimetres. Knows nothing of sewing."""

from calibration.calibrate import calibrate
from calibration.errors import InputError, Note, OutputError, OwnblockError, WordsError
from calibration.flatten import FlatSheet, flatten
from calibration.mat import Lattice
from calibration.photo import Photo, read_photo
from calibration.view import MatView

__all__ = [
    "FlatSheet",
    "InputError",
    "Lattice",
    "MatView",
    "Note",
    "OutputError",
    "OwnblockError",
    "Photo",
    "WordsError",
    "calibrate",
    "flatten",
    "read_photo",
]
