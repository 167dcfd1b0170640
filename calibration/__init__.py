"""Picture -> flat paper in millimetres. Knows nothing of sewing."""

from calibration.calibrate import calibrate
from calibration.ground.errors import InputError, Note, OutputError, OwnblockError, WordsError
from calibration.lattice.mat import Lattice
from calibration.picture.photo import Photo, read_photo
from calibration.sheet.flatten import FlatSheet, flatten
from calibration.view.view import MatView

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
