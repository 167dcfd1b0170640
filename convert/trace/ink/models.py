"""Where the models of the recogniser of printed text lie: files inside the package that they came with."""

from importlib.resources import files
from pathlib import Path

LETTERS = "PP-OCRv6_rec_small.onnx"
PLACES = "PP-OCRv6_det_small.onnx"


def model_file(name: str) -> Path:
    """One model's file, there or not."""
    return Path(str(files("rapidocr"))) / "models" / name
