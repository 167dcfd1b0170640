"""Checks in a sewer's words: what does not meet, by how much, and which is the longer one."""

from calibration.ground.units import MM_PER_INCH
from convert.block.block import Block, Check
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm

MISSED = "target-missed"


def check_sentence(check: Check, unit: LengthUnit = "cm") -> str:
    """One check as a sentence for the maker."""
    head = f"{check.check[:1].upper()}{check.check[1:]}, {check.where}"
    if abs(check.value) < 0.005:
        return f"{head}: exact."
    if check.unit != "mm":
        limit = f"{check.limit:.1f}".removesuffix(".0")
        found = f"{abs(check.value):.0f}" if abs(check.value) >= 0.5 else "less than half a degree"
        found = f"{found} {check.unit}" if abs(check.value) >= 0.5 or check.unit != "degrees" else found
        return f"{head}: {found}; up to {limit} {check.unit} is sound."
    return f"{head}: {_gap(check.value, unit)}; up to {_gap(check.limit, unit)} is sound."


def _gap(mm: float, unit: LengthUnit) -> str:
    """A small length: whole millimetres, halves below two, for who works in centimetres; sixteenths for inches."""
    mm = abs(mm)
    if unit == "in":
        return format_fine_mm(mm, unit) if mm > MM_PER_INCH / 32 else "less than 1/16 in"
    if mm < 0.5:
        return "less than half a millimetre"
    return f"{round(mm * 2) / 2:g} mm" if mm < 2 else f"{mm:.0f} mm"


def unsound_sentence(check: Check, unit: LengthUnit = "cm") -> str:
    """A check that does not hold, as somebody who sews would say it; as :func:`check_sentence` where we know no better.

    Examples
    --------
    >>> gap = Check(check="side seams equal", value=3.0, limit=0.5, where="bodice side seams", sound=False)
    >>> unsound_sentence(gap)
    'Bodice side seams: the back one is 3 mm longer than the front one.'
    """
    where, by = f"{check.where[:1].upper()}{check.where[1:]}", _gap(check.value, unit)
    more = check.value > 0
    longer = "longer" if more else "shorter"
    words = {
        "side seams equal": f"{where}: the back one is {by} {longer} than the front one.",
        "underarm seams equal": f"{where}: the back underarm seam is {by} {longer} than the front one.",
        "dart legs equal": f"{where}: its legs differ by {by}.",
        "waists agree": f"The skirt’s waist is {by} {longer} than the bodice’s.",
        "body and ease": f"{where}: {by} {'more' if more else 'less'} than body and ease together.",
        "centre meets square": f"{where}: it meets the centre {abs(check.value):.0f} degrees off square.",
        "outline crosses itself nowhere": f"{where}: its outline crosses itself.",
        "cap ease in the usual range": (
            f"Sleeve: the cap is {by} {longer} than the armhole, which is {'too much' if more else 'too little'}."
        ),
        "back shoulder eased on to the front": f"Shoulders: the back one is {by} {longer} than the front one.",
    }
    if check.check in words:
        return words[check.check]
    if " smooth across the " in check.check:
        edge, seam = check.check.split(" smooth across the ")
        return (
            f"{where}: the {edge} has a corner of {abs(check.value):.0f} degrees where it crosses the {seam}. Draw it "
            "anew there, smooth."
        )
    return check_sentence(check, unit)


def state_sentence(block: Block) -> str:
    """Whether all is well with a block, in one sentence that is true."""
    unsound = sum(not check.sound for check in block.checks)
    missed = sum(note.code == MISSED for note in block.notes)
    if unsound:
        return f"{'One check does' if unsound == 1 else f'{unsound} checks do'} not hold: see “Is the block sound?”."
    if missed:
        return "The seams fit, but not every measurement could be reached: see “Please check”."
    if not block.checks:
        return "The block was not checked."
    count = len(block.checks)
    return f"The block is sound: {f'all {count} checks hold' if count > 1 else 'the one check holds'}."
