"""Cuts from which no plain block can be had, said with what else to try."""

from calibration.ground.errors import InputError

_SET_IN = "Take a pattern with set-in sleeves, in your size."
_CUTS: tuple[tuple[tuple[str, ...], str, str], ...] = (
    # words for it, why it can't be made plain, what to do instead; common practice
    (("raglan",), "A raglan sleeve runs up to the neckline, so no plain armhole lies in it.", _SET_IN),
    (
        ("kimono", "dolman", "magyar", "batwing", "cut-on sleeve", "grown-on sleeve"),
        "Where sleeve and bodice are cut in one, the armhole is not on the paper.",
        _SET_IN,
    ),
    (
        ("cowl", "draped"),
        "A cowl's folds and darts look alike on paper.",
        "Take the front's lining, or another front in your size.",
    ),
    (
        ("bias",),
        "Cloth cut on the bias hangs longer and narrower than its paper, so the paper's lengths are not the wearer's.",
        "Take a pattern cut on the straight grain.",
    ),
    (
        ("waistband", "skirt yoke", "hip yoke", "skirt front yoke", "skirt back yoke"),
        "A skirt is not joined to a waistband above the waist, or to a hip yoke.",
        "Take a skirt that reaches the waist; if only the waistband is missing, leave it out.",
    ),
    (
        ("dress front, centre", "dress front, side", "dress back, centre", "dress back, side", "dress panel"),
        "Panels that run right through a dress are not laid together.",
        "Take a dress with a waist seam, or a bodice and a skirt in your size.",
    ),
)


def not_plain(wanted: str, *, where: str) -> None:
    """Nothing for a piece that may be made plain, whatever it is.

    Raises
    ------
    InputError
        If its words (in small letters) name a cut that can't.
    """
    plain = wanted.replace(",", "")
    for names, why, instead in _CUTS:
        if any(name.replace(",", "") in plain for name in names):
            raise InputError(f"{where}: “{wanted}”: {why}", instead)
