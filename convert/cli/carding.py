"""What ``ownblock card`` does; imported only then."""

from pathlib import Path

from calibration.ground.errors import WordsError
from calibration.ground.files import write_atomically
from convert.body.card import Card, LengthUnit
from convert.body.read_card import write_card
from convert.paper.card.card_form import card_form
from convert.paper.sheets.papers import paper_named


def write_cards(
    file: Path | None, form: Path | None, *, name: str, unit: LengthUnit, paper: str, overwrite: bool
) -> str:
    """Write the card to type in, the form to print, or both; what was made, in one line."""
    said = []
    if file is not None:
        write_card(file, name=name, unit=unit, overwrite=overwrite)
        said.append(f"An empty card: {file}. Open it in any text editor and fill in what you can measure.")
    if form is not None:
        sheet = paper_named(paper)
        if sheet.height is None:
            raise WordsError(f"A form can't be printed on {sheet.name}.", "Choose A4 or Letter.")
        write_atomically(form, card_form(Card(name=name, unit=unit), paper=sheet))
        said.append(f"A form to print: {form}. Write on it, then copy the numbers into a card.")
    return " ".join(said)
