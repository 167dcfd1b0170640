"""The body from the side, sitting on a chair and standing: where trousers are measured.

Figure units as in :mod:`convert.paper.card.body_figure`; drawn from code, looking to the right.
"""

from collections.abc import Sequence

from convert.paper.card.body_figure import Landmark

CHAIR_Y, SITTING_WAIST_Y, CROTCH_Y = 50.0, 25.0, 90.0

SITTING: Sequence[Sequence[Landmark]] = (
    ((-3.0, 2.0), (-6.6, 9.0), (-7.0, 17.0), (-5.4, SITTING_WAIST_Y), (-8.6, 34.0), (-11.6, 42.0), (-9.4, CHAIR_Y)),
    ((6.0, 4.0), (10.4, 12.0), (8.6, 18.0), (7.4, SITTING_WAIST_Y), (9.6, 32.0), (15.0, 36.4), (28.0, 35.4),
     (38.0, 35.6), (42.6, 39.4), (42.0, 47.0), (40.6, 60.0), (39.6, 72.0)),
    ((-9.4, CHAIR_Y), (4.0, CHAIR_Y), (20.0, CHAIR_Y - 0.4), (30.0, CHAIR_Y), (33.4, 53.0), (33.0, 61.0), (34.6, 72.0)),
    ((-14.0, CHAIR_Y + 0.6), (28.0, CHAIR_Y + 0.6)),
    ((-12.0, CHAIR_Y + 0.6), (-12.0, 72.0)),
    ((25.0, CHAIR_Y + 0.6), (25.0, 72.0)),
)  # fmt: skip
STANDING: Sequence[Sequence[Landmark]] = (
    ((-6.0, 44.0), (-6.8, 54.0), (-5.6, 64.5), (-9.2, 73.0), (-12.4, 81.0), (-10.6, 88.0), (-7.6, 92.5), (-8.2, 102.0),
     (-6.8, 112.0)),
    ((10.0, 44.0), (8.6, 54.0), (7.2, 64.5), (9.4, 73.0), (8.6, 82.0), (7.4, 90.0), (8.0, 102.0), (6.6, 112.0)),
    ((-1.6, CROTCH_Y), (-0.4, 100.0), (0.0, 112.0)),
)  # fmt: skip
THROUGH: Sequence[Landmark] = (
    (7.2, 64.5),
    (9.4, 73.0),
    (8.2, 82.0),
    (4.6, 88.4),
    (-1.6, CROTCH_Y),
    (-7.4, 88.8),
    (-11.4, 82.0),
    (-9.2, 73.0),
    (-5.6, 64.5),
)
"""The way of the tape from the waist in front, between the legs, to the waist behind."""
