"""Panels glued up from staves: how many, how wide, and from which boards. Plain arithmetic in ticks.

A board gives lengths of the panel's length, crosscut between its flaws; each is ripped into staves. A small
integer program takes as few boards as it can, then as few staves.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import highspy

SECONDS = 2.0  # for one panel
TAPE = 63_500  # 1/16 in: staves are asked for by marks of a tape where they can be


@dataclass(frozen=True, slots=True)
class Board:
    """A board or an offcut of one: `flaws` are where along its length none may lie, (from, to)."""

    id: str
    length: int
    width: int
    is_offcut: bool = False
    flaws: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Rules:
    """What the shop glues up: the least and the widest stave, what a joint and the trimming of the panel take,
    and the saw's kerf."""

    least: int
    most: int
    joint: int
    trim: int
    kerf: int


@dataclass(frozen=True, slots=True)
class Stave:
    """One stave as it is sawn; `board` is the one it was thought from, empty where it is to be bought."""

    width: int
    board: str = ""


def to_glue(width: int, staves: int, rules: Rules) -> int:
    """What the staves of a panel must add up to: it, its trimming, and what each joint takes.

    >>> to_glue(400, 4, Rules(least=50, most=150, joint=2, trim=10, kerf=3))
    416
    """
    return width + rules.trim + (staves - 1) * rules.joint


def lengths_in(board: Board, length: int, kerf: int) -> int:
    """How many lengths can be crosscut from a board between its flaws.

    >>> lengths_in(Board("A", 100, 8), 30, 2), lengths_in(Board("A", 100, 8, flaws=((40, 42),)), 30, 2)
    (3, 2)
    """
    count, start = 0, 0
    for left, right in [*sorted(board.flaws), (board.length, board.length)]:
        count += max(0, (left - start + kerf) // (length + kerf))
        start = max(start, right)
    return count


def choose_staves(
    width: int,
    length: int,
    boards: Sequence[Board],
    rules: Rules,
    used: dict[str, int] | None = None,
    *,
    seconds: float = SECONDS,
) -> list[Stave]:
    """The staves of a panel of this width, each `length` long as sawn, from as few boards as will do.

    Neighbours from one board stand next to each other. `used` says how many lengths of a board are taken
    already, and is brought up to date. Where the boards don't give the panel, its staves are equal and to be
    bought. `seconds` is how long it may be looked for. Raises ValueError where no number of staves makes this
    width.
    """
    used = {} if used is None else used
    free = {
        board.id: count
        for board in boards
        if (count := lengths_in(board, length, rules.kerf) - used.get(board.id, 0)) > 0
    }
    cuts = _choose([board for board in boards if board.id in free], free, width, rules, seconds)
    if not cuts:
        return [Stave(size) for size in equal_staves(width, rules)]
    for cut in cuts:
        used[cut.board.id] = used.get(cut.board.id, 0) + 1
    return list(_sized(cuts, to_glue(width, sum(cut.staves for cut in cuts), rules), rules))


def equal_staves(width: int, rules: Rules) -> list[int]:
    """Staves as wide as each other, as few as the widest allows. Raises ValueError where none will do.

    >>> equal_staves(400, Rules(least=50, most=150, joint=2, trim=10, kerf=3))
    [138, 138, 138]
    """
    count = max(1, -(-(width + rules.trim - rules.joint) // (rules.most - rules.joint)))
    total = to_glue(width, count, rules)
    if total < count * rules.least:
        raise ValueError("narrower than the least stave; cut it from one board")
    return _shares(total, count, rules.most)


@dataclass(frozen=True, slots=True)
class _Cut:
    """One length of a board, ripped into so many staves."""

    board: Board
    staves: int
    most: int  # that its staves may add up to
    least: int


def _ways(board: Board, rules: Rules) -> Iterable[_Cut]:
    count = 1
    while count * rules.least + (count - 1) * rules.kerf <= board.width:
        most = min(count * rules.most, board.width - (count - 1) * rules.kerf)
        yield _Cut(board, count, most, count * rules.least)
        count += 1


def _choose(
    boards: Sequence[Board], free: dict[str, int], width: int, rules: Rules, seconds: float
) -> list[_Cut]:
    """Which lengths to take, the same board's together; none where the boards don't make the width."""
    ways = [cut for board in boards for cut in _ways(board, rules)]
    if not ways:
        return []
    counts = _solved(boards, ways, free, to_glue(width, 1, rules), rules, seconds)
    chosen = [cut for cut, count in zip(ways, counts, strict=True) for _ in range(count)]
    total = to_glue(width, sum(cut.staves for cut in chosen), rules)
    if not chosen or not sum(cut.least for cut in chosen) <= total <= sum(cut.most for cut in chosen):
        return []
    return chosen


def _solved(
    boards: Sequence[Board],
    ways: Sequence[_Cut],
    free: dict[str, int],
    single: int,
    rules: Rules,
    seconds: float,
) -> list[int]:
    """How often each way is taken: fewest boards first, offcuts before boards, then fewest staves,
    then fewest lengths."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("random_seed", 0)
    solver.setOptionValue("mip_rel_gap", 0.0)
    scale = 1 / single
    for cut in ways:  # staves cost little beside a board, and a length of it less
        solver.addCol(0.001 * cut.staves + 0.0004, 0, free[cut.board.id], 0, [], [])
    for board in boards:
        solver.addCol(0.95 if board.is_offcut else 1.0, 0, 1, 0, [], [])
    total = len(ways) + len(boards)
    for column in range(total):
        solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
    joints = [cut.staves * rules.joint for cut in ways]
    # What they must add up to grows with every joint, so that each stave brings its width less one joint.
    target = single - rules.joint
    everywhere = list(range(len(ways)))
    wide = [(cut.most - joint) * scale for cut, joint in zip(ways, joints, strict=True)]
    narrow = [(cut.least - joint) * scale for cut, joint in zip(ways, joints, strict=True)]
    solver.addRow(target * scale, highspy.kHighsInf, len(ways), everywhere, wide)
    solver.addRow(-highspy.kHighsInf, target * scale, len(ways), everywhere, narrow)
    for number, board in enumerate(boards):
        mine = [index for index, cut in enumerate(ways) if cut.board is board]
        columns = [*mine, len(ways) + number]
        solver.addRow(
            -highspy.kHighsInf, 0, len(columns), columns, [*[1.0] * len(mine), -float(free[board.id])]
        )
    solver.run()
    values = solver.getSolution().col_value
    return [round(value) for value in values[: len(ways)]] if values else [0] * len(ways)


def _sized(cuts: Sequence[_Cut], total: int, rules: Rules) -> Iterable[Stave]:
    """The staves of these lengths, as wide as they may be, until what is too much is taken off the last ones:
    so it stays together on a board as an offcut."""
    widths = [cut.most for cut in cuts]
    over = sum(widths) - total
    for index in reversed(range(len(cuts))):
        less = min(over, widths[index] - cuts[index].least)
        widths[index] -= less
        over -= less
    for cut, wide in zip(cuts, widths, strict=True):
        for width in _shares(wide, cut.staves, rules.most):
            yield Stave(width, cut.board.id)


def _shares(total: int, count: int, most: int) -> list[int]:
    """A width in so many shares, by the marks of a tape where the last one may take the rest."""
    share = total // count // TAPE * TAPE or total // count
    rest = total - (count - 1) * share
    if rest <= most:
        return [share] * (count - 1) + [rest]
    even, more = divmod(total, count)
    return [even + 1] * more + [even] * (count - more)
