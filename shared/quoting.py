"""Showing people what they typed."""


def quoted(text: str, most: int = 24) -> str:
    """The text in quotes for a sentence, on one line and cut short where it is long.

    >>> quoted("23 1/2 x"), quoted("9" * 1000, most=4)
    ('"23 1/2 x"', '"9999…"')
    """
    shown = " ".join(text[: 8 * most].split())
    return f'"{shown}"' if len(shown) <= most else f'"{shown[:most]}…"'
