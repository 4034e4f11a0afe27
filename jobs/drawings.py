"""Drawings and cut sequences of what is in the database, as markup for the pages.

The SVG comes from `jobs.diagrams`, which escapes every name; steps are put together with format_html.
"""

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from inventory.models import Piece
from jobs.cutting import wording
from jobs.diagrams import cuts, geometry, svg
from jobs.diagrams.marks import DESK, PHONE
from jobs.diagrams.piece import piece_drawing
from shared.models import Shop
from shared.templatetags.sawbuck import length_in, size

Numbers = dict[str, tuple[svg.Numbered, ...]]


def of_piece(piece: Piece, shop: Shop, *, has_arrow: bool = True) -> SafeString:
    """A piece in true proportion with its grain and flaws; those of a piece known to have none aren't asked."""
    marked = piece.flaws.all() if getattr(piece, "has_flaws", True) else ()
    flaws = [geometry.Flaw(flaw.x, flaw.y, flaw.length, flaw.width) for flaw in marked]
    return mark_safe(
        piece_drawing(
            piece.length,
            piece.width,
            unit=shop.unit,
            prefix=f"piece-{piece.code}",
            grain="length" if piece.material.is_grained else "none",
            defects=flaws,
            has_arrow=has_arrow,
        )
    )


def of_layout(drawn: geometry.Layout, prefix: str) -> tuple[SafeString, SafeString, Numbers]:
    """A layout for the desk, for the phone, and the parts that are too small for their names on either."""
    desk = svg.layout_drawing(drawn, prefix=f"{prefix}-desk", paper=DESK)
    phone = svg.layout_drawing(drawn, prefix=f"{prefix}-phone", paper=PHONE)
    # Each drawing numbers its own: a phone has room for fewer names.
    return mark_safe(desk.svg), mark_safe(phone.svg), {"desk": desk.numbered, "phone": phone.numbered}


def steps(drawn: geometry.Layout, shop: Shop) -> list[SafeString]:
    """The cut sequence, a line a step, names bold, fractions set."""
    return [
        format_html_join("", "{}", ((_segment(segment, shop),) for segment in line.segments))
        for line in cuts.lines_of(drawn)
    ]


def _segment(segment: wording.Segment, shop: Shop) -> str:
    match segment:
        case wording.Length(ticks):
            return length_in(ticks, shop)
        case wording.Size(length, width):
            return size(length, width, shop)
        case wording.Name(text):
            return format_html("<strong>{}</strong>", text)
        case wording.Mark(letter):
            return format_html('<span class="mark">{}</span>', letter)
        case _:
            return segment
