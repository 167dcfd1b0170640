"""Invented makers, drawn from the statistics of a published survey.

Means, spreads and correlations: ANSUR II women, n = 1986 (NATICK/TR-15/007), computed from the open data. The survey's
waist lies at the navel, lower and larger than a dressmaker's: 50 mm are taken off its girth and 20 mm off the back
length. What the survey has not (front waist length, cup, bust point, waist to hip) is our own guess.
"""

import numpy as np

from convert.body.card import BodyMeasurement, Card

NAMES = ("stature", "bust", "waist", "hip", "shoulder", "back", "nape to waist", "sleeve", "neck", "arm", "wrist")
MEAN = np.array([1628.5, 946.9, 860.9, 1021.3, 135.4, 373.4, 425.4, 543.6, 371.2, 305.6, 154.8])
SPREAD = np.array([64.2, 82.7, 99.9, 75.9, 10.3, 29.8, 26.4, 29.4, 19.7, 30.8, 7.8])
UPPER = (
    (0.26, 0.23, 0.38, 0.40, 0.25, 0.50, 0.79, 0.41, 0.25, 0.54),
    (0.84, 0.74, 0.13, 0.63, 0.47, 0.24, 0.66, 0.75, 0.52),
    (0.80, 0.10, 0.57, 0.60, 0.22, 0.62, 0.76, 0.49),
    (0.17, 0.54, 0.47, 0.34, 0.61, 0.79, 0.56),
    (0.27, 0.20, 0.35, 0.12, 0.12, 0.29),
    (0.34, 0.23, 0.54, 0.53, 0.41),
    (0.32, 0.47, 0.41, 0.43),
    (0.36, 0.25, 0.44),
    (0.63, 0.61),
    (0.60,),
)


def correlations() -> np.ndarray:
    """The survey's correlation matrix (11, 11)."""
    out = np.eye(len(NAMES))
    for i, row in enumerate(UPPER):
        out[i, i + 1 :] = out[i + 1 :, i] = row
    return out


def random_makers(count: int, seed: int) -> list[dict[str, float]]:
    """Bodies in mm."""
    rng = np.random.default_rng(seed)
    drawn = rng.multivariate_normal(MEAN, correlations() * np.outer(SPREAD, SPREAD), size=count)
    return [body_of(dict(zip(NAMES, row, strict=True)), rng) for row in drawn]


def body_of(row: dict[str, float], rng: np.random.Generator) -> dict[str, float]:
    """A whole card's body from one of the survey's rows (:data:`NAMES`), what it has not drawn at random."""
    cup = rng.uniform(0.0, 200.0)
    back = row["nape to waist"] - 20.0
    return {
        "bust": row["bust"],
        "high bust": row["bust"] - cup,
        "waist": row["waist"] - 50.0,
        "hip": row["hip"],
        "neck": row["neck"],
        "back waist length": back,
        "front waist length": back + rng.normal(22.0, 10.0) + 0.2 * max(0.0, cup - 50.0),
        "shoulder length": row["shoulder"] - 10.0,
        "across back": row["back"] - 25.0,
        "across chest": row["back"] - 45.0 + rng.normal(0.0, 8.0),
        "armhole depth": 0.1 * row["bust"] + 112.0 + rng.normal(0.0, 6.0),
        "bust point distance": 0.2 * row["bust"] + 4.0 + rng.normal(0.0, 8.0),
        "bust height": 0.16 * row["bust"] + 118.0 + rng.normal(0.0, 8.0),
        "waist to hip": rng.normal(205.0, 12.0),
        "upper arm": row["arm"] - 8.0,
        "wrist": row["wrist"],
        "arm length": row["sleeve"] + 30.0,
    }


def card_of(body: dict[str, float], name: str = "maker A") -> Card:
    """A card with these measurements told."""
    return Card(name=name, measurements={name: BodyMeasurement(mm=mm) for name, mm in body.items()})
