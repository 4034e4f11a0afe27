"""Solid blanks of a job: made for a plan from the boards on the rack, counted when their staves are cut."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.models import Piece
from jobs.cutting import problem as cutting
from jobs.cutting.problem import Side
from jobs.gluing import Board, Rules, Stave, choose_staves, equal_staves
from jobs.models import Blank, Part, Plan
from jobs.sawlist import SawList
from jobs.sizing import panel_size
from jobs.trees import leaves_of, part_of
from shared.models import Shop
from shared.shop import take_codes


def rules_of(shop: Shop) -> Rules:
    """The shop's settings as gluing takes them."""
    return Rules(shop.stave_least, shop.stave_most, shop.glue_joint, shop.glue_trim, shop.kerf)


def make_blanks(plan: Plan, todo: SawList, pieces: Iterable[Piece], shop: Shop) -> list[Blank]:
    """Choose blanks, and the staves of each, for a plan's solid match sets and its parts wider than any board.

    A blank is cut from one board where one is wide enough; else it is glued up, if that is allowed, from as
    few boards as will do.
    """
    boards = boards_of(pieces)
    used: dict[str, int] = {}
    made = []
    for one in todo.solid:
        made.append(
            _make(plan, one.row.name, one.tree, one.parts, boards, used, shop, glue=one.row.may_be_glued)
        )
    for part in todo.parts:
        if _is_too_wide(part, boards, shop):
            for number in range(part.cut + todo.given.get(part.pk, 0) + 1, part.quantity + 1):
                tree = {"cut": "crosscut", "of": [f"p{part.pk}-{number}"]}
                made.append(_make(plan, part.name, tree, [part], boards, used, shop, glue=True))
    return made


def boards_of(pieces: Iterable[Piece]) -> dict[int, list[Board]]:
    """Boards and offcuts of lumber as gluing knows them, by material; offcuts first."""
    found: dict[int, list[Board]] = {}
    for piece in pieces:
        if piece.material.is_lumber:
            flaws = tuple((flaw.x, flaw.x + flaw.length) for flaw in piece.flaws.all())
            is_offcut = piece.kind == Piece.Kind.OFFCUT
            board = Board(piece.code, piece.length, piece.width, is_offcut, flaws)
            found.setdefault(piece.material_id, []).append(board)
    for boards in found.values():
        boards.sort(key=lambda board: not board.is_offcut)
    return found


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


def _make(
    plan: Plan,
    name: str,
    tree: Any,
    parts: Sequence[Part],
    boards: Mapping[int, Sequence[Board]],
    used: dict[str, int],
    shop: Shop,
    *,
    glue: bool,
) -> Blank:
    length, width = size_of(tree, parts, shop)
    material = parts[0].material
    blank = Blank.objects.create(
        plan=plan, name=name[:80], material=material, tree=tree, length=length, width=width
    )
    rough = length + shop.rough_length
    there = boards.get(material.pk, [])
    if _one_board(rough, width + shop.rough_width, there) or not glue or _is_one_stave(width, shop):
        staves = [Stave(width + shop.rough_width)]
    else:
        staves = choose_staves(width, rough, there, rules_of(shop), used)
    _keep_staves(plan, blank, staves, rough, parts[0].position)
    return blank


def _is_one_stave(width: int, shop: Shop) -> bool:
    try:
        return len(equal_staves(width, rules_of(shop))) == 1
    except ValueError:
        return True


def _keep_staves(plan: Plan, blank: Blank, staves: Sequence[Stave], length: int, position: int) -> None:
    """Staves of one width in a row are one line with a quantity, as on any parts list."""
    alike: list[tuple[int, int]] = []
    for stave in staves:
        if alike and alike[-1][0] == stave.width:
            alike[-1] = (stave.width, alike[-1][1] + 1)
        else:
            alike.append((stave.width, 1))
    what = "stave" if len(staves) > 1 else "blank"
    for (width, count), code in zip(alike, take_codes(len(alike)), strict=True):
        Part.objects.create(
            job_id=plan.job_id,
            code=code,
            kind=Part.Kind.STAVE,
            blank=blank,
            position=position,
            name=f"{what} of {blank.name[:60]}",
            quantity=count,
            length=length,
            width=width,
            material=blank.material,
        )


def size_of(tree: Any, parts: Iterable[Part], shop: Shop) -> tuple[int, int]:
    """Length and width, in ticks, of parts that lie so, one kerf apart: solid ones as the list has them, panels
    as they are cut."""
    by_key = {part.pk: part for part in parts}
    rows = {name: _as_lies(name, by_key[part_of(name)]) for name in leaves_of(tree)}
    return cutting.blank_size(_side(tree), rows, shop.kerf)


def size_in_set(part: Part) -> tuple[int, int]:
    """What a part measures in its set."""
    return (part.length, part.width) if part.material.is_lumber else panel_size(part)


def _as_lies(name: str, part: Part) -> cutting.Part:
    return cutting.Part(name, *size_in_set(part), grain="width" if part.grain == "width" else "length")


def _side(tree: Any) -> str | Side:
    return tree if isinstance(tree, str) else Side(tree["cut"], tuple(_side(child) for child in tree["of"]))


def has_changed(plan: Plan, shop: Shop) -> bool:
    """Whether the parts a plan's blanks are for have other sizes or another order now."""
    for blank in plan.blanks.all():
        keys = set(blank.gives())
        parts = list(Part.objects.filter(pk__in=keys).select_related("material"))
        if len(parts) < len(keys) or any(part.material_id != blank.material_id for part in parts):
            return True
        if size_of(blank.tree, parts, shop) != (blank.length, blank.width):
            return True
    return False


def parts_from(staves: Iterable[Part]) -> list[Part]:
    """The parts that come out of these staves' blanks, locked; other parts among them are passed over."""
    blanks = Blank.objects.filter(pk__in={stave.blank_id for stave in staves if stave.blank_id})
    keys = {pk for blank in blanks for pk in blank.gives()}
    return list(Part.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))


def given_by_blanks(part: Part) -> int:
    """How many of a part have come out of blanks: a blank gives its parts when its last stave is cut."""
    if part.kind != Part.Kind.LISTED or not (part.match_set or part.may_be_glued):
        return 0
    blanks = Blank.objects.filter(plan__job=part.job_id).prefetch_related("staves")
    return sum(blank.gives().get(part.pk, 0) for blank in blanks if _is_finished(blank))


def given_by_all_blanks() -> Counter[int]:
    """The same for the parts of all jobs, by their keys."""
    given: Counter[int] = Counter()
    for blank in Blank.objects.prefetch_related("staves"):
        if _is_finished(blank):
            given.update(blank.gives())
    return given


def _is_finished(blank: Blank) -> bool:
    return all(not stave.still_to_cut for stave in blank.staves.all())
