"""Which of several nested sizes is meant: counted from the innermost, or by the number printed beside its line."""

from collections.abc import Callable

from calibration.ground.errors import InputError, Note

_WORDS = ("number", "no.", "no", "nr.", "nr", "#")


def printed_number(size: int | str | None, count: int) -> str | None:
    """The number to look for beside the lines; None where the lines are counted.

    A bare whole number counts the lines from the innermost as far as there are lines, and beyond them is a printed
    number. Text is always a printed number: ``"4"``, ``"number 4"``, ``"M"``.
    """
    if isinstance(size, int):
        return str(size) if size > count else None
    if size is None:
        return None
    text = size.strip()
    for word in _WORDS:
        if text.lower().startswith(word):
            text = text[len(word) :].strip()
            break
    return text.lstrip("0").upper() or text


def chosen(
    count: int, size: int | str | None, read: Callable[[str], tuple[str | None, ...]]
) -> tuple[int, tuple[Note, ...]]:
    """Index of the size meant, and what a maker should know of how it was found.

    Parameters
    ----------
    count : int
        How many nested lines there are.
    read : callable
        Gives what is printed beside each line, the innermost first, None where nothing can be read; asked only if a
        printed number is meant.

    Raises
    ------
    InputError
        If there are several sizes and none is asked for, or one that is not there or can't be read.
    """
    if count == 1:
        return 0, ()
    if size is None:
        raise InputError(
            f"{count} nested sizes are printed on this sheet.",
            f"Say which to follow with size = 1 (the innermost) to size = {count} (the outermost), "
            'or by the number printed beside its line, such as size = "14".',
        )
    wanted = printed_number(size, count)
    if wanted is None:
        assert isinstance(size, int)
        if size < 1:
            raise InputError(
                f"Size {size} is asked for, but {count} nested lines are found.",
                f"Choose size = 1 (the innermost) to size = {count} (the outermost).",
            )
        return size - 1, (_counted(size, count),)
    texts = read(wanted)
    if wanted not in texts:
        raise _not_printed(wanted, texts)
    index = texts.index(wanted)
    return index, (_by_number(wanted, index, texts),)


def _counted(size: int, count: int) -> Note:
    return Note(
        "size-counted",
        f"size = {size} is line {size} of {count}, counted from the inside; for the line beside which {size} is "
        f'printed write size = "{size}" in quotes, or --size "number {size}".',
    )


def _by_number(wanted: str, index: int, texts: tuple[str | None, ...]) -> Note:
    return Note(
        "size-by-number",
        f"{wanted} is printed beside line {index + 1} of {len(texts)}, counted from the inside; "
        f"beside the lines stands {_listed(texts)}.",
    )


def _not_printed(wanted: str, texts: tuple[str | None, ...]) -> InputError:
    count = len(texts)
    by_count = f"size = 1 (the innermost) to size = {count} (the outermost)"
    if not any(texts):
        return InputError(
            f"No number can be read beside the {count} nested lines, so {wanted} can't be found.",
            f"Count the lines instead: {by_count}.",
        )
    return InputError(
        f"{wanted} can't be read beside any of the {count} nested lines; beside them stands {_listed(texts)}, "
        "from the inside.",
        f"Choose one of these, or count the lines: {by_count}.",
    )


def _listed(texts: tuple[str | None, ...]) -> str:
    return ", ".join("(nothing that can be read)" if text is None else text for text in texts)
