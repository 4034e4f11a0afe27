"""A tally of boards as it is called out at the truck: width by length, one a line."""

import re

from inventory.dressed import NotDressed, measured_width
from shared.measure import NotALength, Unit, parse_length
from shared.quoting import quoted

Board = tuple[int, int]  # width and length in ticks

MOST = 2_000
_BY = re.compile(r"\s*[x×*]\s*|\s+by\s+", re.IGNORECASE)
_WOULD_DO = {"in": "Write 7 1/2 x 96, or 7 1/2 x 96 x 3 for three alike.", "mm": "Write 190 x 2440."}


class NotBoards(ValueError):  # noqa: N818  raised and read as "these are not boards"
    """Some lines are not boards; `sentences` says of each which and why."""

    def __init__(self, sentences: list[str]) -> None:
        super().__init__(" ".join(sentences))
        self.sentences = sentences


def read_boards(text: str, unit: Unit, *, are_dressed: bool = False) -> list[Board]:
    """The boards in a tally, each as (width, length) in ticks; a third figure says how many are alike.

    Dressed softwood's widths may be called by their names: a 6 is 5 1/2 wide. Raises NotBoards with a sentence
    for each line that can't be read, and where there are more than MOST.

    >>> from shared.measure import inches
    >>> read_boards("5 1/2 × 120 × 2", "in") == [(inches("5 1/2"), inches(120))] * 2
    True
    """
    boards: list[Board] = []
    sentences: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            board, count = _read_line(line.strip(), unit, are_dressed)
        except ValueError as error:
            sentences.append(f"Line {number}: {error}")
        else:
            boards += [board] * count
            if len(boards) > MOST:
                raise NotBoards([f"These are more than {MOST:,} boards. Receive them in parts."])
    if sentences:
        raise NotBoards(sentences)
    return boards


def _read_line(line: str, unit: Unit, are_dressed: bool) -> tuple[Board, int]:
    figures = _BY.split(line)
    if len(figures) not in (2, 3):
        raise ValueError(f"{quoted(line)} is not a width and a length. {_WOULD_DO[unit]}")
    try:
        width, length = parse_length(figures[0], unit), parse_length(figures[1], unit)
        board = measured_width(width) if are_dressed else width, length
    except (NotALength, NotDressed) as error:
        raise ValueError(str(error)) from error
    count = figures[2] if len(figures) == 3 else "1"
    if not (count.isascii() and count.isdigit() and 1 <= int(count) <= MOST):
        raise ValueError(f"{quoted(count)} is not how many there are. {_WOULD_DO[unit]}")
    return board, int(count)
