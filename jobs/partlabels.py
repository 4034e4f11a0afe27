"""Labels for parts: which part of which job, its finished size, its edges, where it lies, and what comes next."""

from collections.abc import Iterable

from inventory.labels import LabelFace
from jobs import edging
from jobs.models import Job, Part
from jobs.models.blanks import leaves_of
from shared.measure import format_size
from shared.models import Shop
from shared.refusal import Refused
from shared.shop import scan_address

MOST = 2_000


def faces(job: Job, parts: Iterable[Part], shop: Shop) -> list[LabelFace]:
    """A label for each of each part. Refused where they are more than one prints at once."""
    parts = list(parts)
    if sum(part.quantity for part in parts) > MOST:
        raise Refused(f"These are more than {MOST:,} labels. Tick fewer parts.")
    places = {name: text for one in job.match_sets.all() for name, text in _places(one.name, one.tree)}
    return [
        face(job, part, shop, number=number, place=places.get(f"p{part.pk}-{number}", ""))
        for part in parts
        for number in range(1, part.quantity + 1)
    ]


def _places(set_name: str, tree: object) -> list[tuple[str, str]]:
    """Where each part of a match set lies, in the order they are seen: "set A, 2 of 4"."""
    names = leaves_of(tree) if tree else []
    return [(name, f"set {set_name}, {number} of {len(names)}") for number, name in enumerate(names, 1)]


def face(job: Job, part: Part, shop: Shop, *, number: int = 1, place: str = "") -> LabelFace:
    """What the label of one part says, the most needed first."""
    count = f"{number} of {part.quantity}" if part.quantity > 1 else ""
    edges = f"strips on {edging.in_words(part.edges)}" if part.edges and not part.made_for else ""
    if part.blank:
        place = f"in blank {part.blank.name}"
    lines = (f"{job.number} {job.title}", count, edges, place, next_step(part))
    return LabelFace(
        code=part.code,
        address=scan_address(shop, part.code),
        heading=part.name,
        lines=tuple(line for line in lines if line),
        size_text=format_size(part.length, part.width, shop.unit),
        grain="none" if part.grain == Part.Grain.ANY or not part.material.is_grained else "length",
        kind="part",
        length=part.length,
        width=part.width,
    )


def next_step(part: Part) -> str:
    """What is done with a part after it is sawn."""
    if part.made_for:
        return f"next: onto {part.made_for.name}"
    if part.blank:
        return f"next: glue up {part.blank.name}"
    if part.material.is_lumber:
        return "next: mill to size"
    return "next: edge it" if part.edges else "next: assemble"
