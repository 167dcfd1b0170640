"""Cautions that the trade gives, each said in one way wherever it belongs."""

TOILE_FIRST = "Sew a toile from cheap cloth before you cut good cloth."
BLADES = "Blades, pins and awls injure: cut away from your hand and cover the blade."
IRON = "A hot iron burns: let it cool, and never press cloth on a body."
ASK_FIRST = "Ask before you measure, touch or pin somebody, and stop when you are asked to."
PINS_ON_BODY = "Mind pins on a body: their points lie along the cloth, away from the skin. Count them afterwards."
PERSONAL = "Measurements are personal: they stay on your machine, so think before you pass this page on."
OWN_USE = (
    "A published pattern belongs to its publisher: a block taken from it is for your own use, as far as local law "
    "allows."
)
OLD_TISSUE = "Old tissue tears: never cut or punch it, photograph it."
CHILDREN = "Children use blades, pins and irons under the eye of an adult, and by the school's own rules."
CLASS_USE = (
    "A published pattern copied for a whole class goes beyond one's own use: the law where you live decides, so ask "
    "its publisher first."
)

TO_CUT = (TOILE_FIRST, BLADES, IRON, PERSONAL, OWN_USE, OLD_TISSUE)
"""On what is read before cloth is cut."""
TO_FIT = (TOILE_FIRST, ASK_FIRST, PINS_ON_BODY, BLADES, IRON)
"""On what is read beside a body in a toile."""
FOR_A_CLASS = (TOILE_FIRST, ASK_FIRST, PINS_ON_BODY, BLADES, IRON, CHILDREN, CLASS_USE)
"""On what a class works by."""
