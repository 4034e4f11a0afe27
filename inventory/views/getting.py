"""One function for each thing a page opens: who may see it is decided here, once."""

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404

from inventory.models import Material, Piece, Place, Receipt, Supplier
from shared.models import Person


def get_material_for(person: Person, pk: int) -> Material:
    """Everyone who is signed in may see every material; its prices are left out for the bench."""
    return get_object_or_404(Material.objects.with_stock(), pk=pk)


def get_place_for(person: Person, pk: int) -> Place:
    """Everyone who is signed in may see every place."""
    return get_object_or_404(Place.objects.select_related("within"), pk=pk)


def get_supplier_for(person: Person, pk: int) -> Supplier:
    """Suppliers are the buyer's and the owner's: the pages that ask are theirs."""
    return get_object_or_404(Supplier, pk=pk)


def get_receipt_for(person: Person, pk: int) -> Receipt:
    """Receipts are full of prices: the pages that ask are the buyer's and the owner's."""
    pieces = Prefetch("lines__pieces", Piece.objects.select_related("place").order_by("pk"))
    receipts = Receipt.objects.select_related("supplier", "entered_by")
    return get_object_or_404(receipts.prefetch_related("lines__material", pieces), pk=pk)


def get_chosen_pieces_for(person: Person, codes: list[str]) -> list[Piece]:
    """The pieces that were ticked in a list. Everyone who is signed in may choose any."""
    return list(Piece.objects.filter(code__in=codes).order_by("code"))
