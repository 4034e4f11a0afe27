"""What a form names by its number: a row, a column."""


def number_in(text: str) -> int | None:
    """The whole number that a form sent, or None for what no form of ours sends.

    Other alphabets' digits, ² among them, and numbers that no row can have are none.

    >>> number_in("12"), number_in("²"), number_in("-1"), number_in("9" * 5000)
    (12, None, None, None)
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 18 else None
