"""Which blanks a plan needs, and the staves of each, from the boards there are or from what is left of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.models import Piece
from jobs.gluing import SECONDS, Board, Stave, choose_staves, equal_staves
from jobs.gluing_up import ChosenBlank, rules_of, size_of
from jobs.models import Part
from jobs.sawlist import SawList
from shared.models import Shop

Stretch = tuple[int, int]  # from, to along a board, in ticks


@dataclass(slots=True)
class _Boards:
    """Boards by material, offcuts first, and how many lengths of each are taken already."""

    of: dict[int, list[Board]]
    used: dict[str, int] = field(default_factory=dict)


def boards_of(
    pieces: Iterable[Piece], busy: Mapping[str, Sequence[Stretch]] | None = None
) -> dict[int, list[Board]]:
    """Boards and offcuts of lumber as gluing knows them, by material; offcuts first. `busy` are stretches, by a
    piece's code, that other parts take."""
    found: dict[int, list[Board]] = {}
    for piece in pieces:
        if piece.material.is_lumber:
            flaws = tuple((flaw.x, flaw.x + flaw.length) for flaw in piece.flaws.all())
            is_offcut = piece.kind == Piece.Kind.OFFCUT
            board = Board(piece.code, piece.length, piece.width, is_offcut, flaws)
            taken = tuple((busy or {}).get(piece.code, ()))
            found.setdefault(piece.material_id, []).append(replace(board, flaws=(*flaws, *taken)))
    for boards in found.values():
        boards.sort(key=lambda board: not board.is_offcut)
    return found


def choose_blanks(
    todo: SawList, boards: Mapping[int, list[Board]], shop: Shop, seconds: float = SECONDS
) -> list[ChosenBlank]:
    """Blanks, with the staves of each, for a saw list's solid match sets and its parts wider than any board.

    A blank is cut from one board where one is wide enough; else it is glued up, if that is allowed, from as
    few boards as will do. `seconds` is what all of them may take.
    """
    wanted = [(one.row.name, one.tree, one.parts, one.row.may_be_glued) for one in todo.solid]
    for part in todo.parts:
        if _is_too_wide(part, boards, shop):
            for number in range(part.cut + todo.given.get(part.pk, 0) + 1, part.quantity + 1):
                tree = {"cut": "crosscut", "of": [f"p{part.pk}-{number}"]}
                wanted.append((part.name, tree, (part,), True))
    rack = _Boards(dict(boards))
    each = min(SECONDS, seconds / max(1, len(wanted)))
    return [_choose(*one, rack, shop, each) for one in wanted]


def _is_too_wide(part: Part, boards: Mapping[int, Sequence[Board]], shop: Shop) -> bool:
    """Whether a solid part that may be glued up is wider than any board, or than the widest stave where there
    is none."""
    if part.kind != Part.Kind.LISTED or not part.may_be_glued or not part.material.is_lumber:
        return False
    length, width = (part.width, part.length) if part.grain == Part.Grain.WIDTH else (part.length, part.width)
    there = boards.get(part.material_id, [])
    return not _one_board(length + shop.rough_length, width + shop.rough_width, there) and (
        bool(there) or width + shop.rough_width > shop.stave_most
    )


def _one_board(length: int, width: int, boards: Iterable[Board]) -> bool:
    return any(board.length >= length and board.width >= width for board in boards)


def _choose(
    name: str, tree: Any, parts: Sequence[Part], may_be_glued: bool, rack: _Boards, shop: Shop, seconds: float
) -> ChosenBlank:
    length, width = size_of(tree, parts, shop)
    material = parts[0].material
    sawn, there = length + shop.rough_length, rack.of.get(material.pk, [])
    staves = [Stave(width + shop.rough_width)]
    if may_be_glued and not _one_board(sawn, staves[0].width, there) and not _is_one_stave(width, shop):
        staves = choose_staves(width, sawn, there, rules_of(shop), rack.used, seconds=seconds)
    return ChosenBlank(name[:80], material, tree, length, width, sawn, parts[0].position, tuple(staves))


def _is_one_stave(width: int, shop: Shop) -> bool:
    try:
        return len(equal_staves(width, rules_of(shop))) == 1
    except ValueError:
        return True
