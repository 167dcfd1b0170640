"""Limits of a block's shape: the same for every block, none taken from the pattern it came from.

Sources, beside each group: front and back laid together at the shoulder make a true curve without jog or point (I. D.
Conover, A Complete Course in Dressmaking, vol. 9, 1922, p. 22); patterns are kept true to 1/16 in (Threads, 2020, 10
patternwork skills); one dart rarely takes more than 1 1/2 in, the waist gives the effect of a straight line, side
seams hang straight (US Department of Agriculture, Fitting Dresses); a fitted lining takes 2 1/2 in in a front dart
(Ingalls, Text Book on Domestic Art); cap ease 1 to 1 1/2 in, at least 3/8 in on each half, evenly; a cap of 4 in to a
large armhole, of 6 in to a fitted one; a back armhole 1/2 to 5/8 in longer, a guide and no law; skirt darts front 3
to 4 in, back 4 to 5 in, an inch above the hip, half of what is taken in at the sides. Degrees, and what no source
gives, are common practice.
"""

from collections.abc import Mapping

Limits = Mapping[str, tuple[float, float]]

# degrees: over the last 15 mm, over the last 50 mm
JOINS: Mapping[str, tuple[float, float]] = {
    "neckline": (4.8, 7.8),
    "armhole": (4.8, 7.8),
    "waist": (4.8, 7.8),
    "hem": (2.9, 4.8),
    "crotch seam": (4.8, 7.8),
    "cap": (4.8, 7.8),
    "wrist": (4.8, 7.8),
    "dart": (4.8, 7.8),
}
SQUARE: Mapping[str, tuple[float, float]] = {
    "neckline": (2.9, 90.0),
    "waist": (2.9, 4.8),
    "hem": (1.9, 2.9),
    "shoulder end": (11.8, 17.8),
    "underarm": (14.8, 90.0),
}
# edge: changes of hollow allowed, most turning back beyond them and most turn over 15 mm (degrees), ends left out (mm)
LINES: Mapping[str, tuple[int, float, float, float]] = {
    "neckline": (0, 3.9, 29.5, 0.0),
    "armhole": (1, 3.9, 29.5, 0.0),
    "waist": (1, 4.9, 7.8, 15.0),
    "bodice side seam": (1, 2.9, 4.9, 15.0),
    "skirt side seam": (1, 2.9, 7.8, 0.0),
    "trousers side seam": (2, 2.9, 7.8, 0.0),
    "crotch seam": (0, 2.9, 32.0, 0.0),
    "hem": (0, 2.9, 90.0, 0.0),
    "cap": (2, 3.9, 24.5, 0.0),
}
SECOND_BEND_DEG = 4.3
BETWEEN: Limits = {
    "armhole hollow below the shoulder end": (-2.9, 39.5),
    "side seam leans": (-7.9, 11.9),
    "front and back side seams lean alike": (-5.9, 5.9),
    "back armhole longer than the front's": (-5.9, 31.8),
    "armhole width in its length": (22.1, 39.9),
    "cap ease": (12.8, 38.0),
    "back half's share of the cap ease": (35.5, 64.5),
    "ease below the notches": (-1.5, 6.3),
    "cap height in the armhole": (21.1, 37.9),
    "skirt shaping at the sides": (30.2, 69.8),
    "bodice and skirt side seams meet": (-3.1, 3.1),
    "bodice dart meets a skirt dart": (0.0, 6.3),
    "skirt dart ends above the hip": (20.5, 200.0),
    "back waist dart ends below the underarm": (-24.5, 89.5),
    "dart stops short of the bust point": (10.5, 64.5),
    "dart aims at the bust point": (-14.5, 14.5),
    "dart legs equal": (-0.9, 0.9),
    "fold of the dart reaches the edge": (-3.1, 3.1),
    "shoulder straight": (0.0, 2.9),
    "centre line straight": (0.0, 0.95),
    "grain along the centre": (-0.95, 0.95),
}
# kind of dart: least and most intake (mm), most angle (degrees)
DARTS: Mapping[str, tuple[float, float, float]] = {
    "bust dart": (5.1, 63.3, 25.9),
    "back waist dart": (5.1, 38.0, 17.9),
    "shoulder blade dart": (5.1, 25.3, 180.0),
    "skirt dart": (5.1, 38.0, 17.9),
}
SKIRT_DARTS_MM: Limits = {"skirt front": (60.5, 114.5), "skirt back": (85.5, 154.5)}
