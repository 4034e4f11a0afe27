"""What is in the shop."""

from inventory.models.books import AccountName, ClosedPeriod
from inventory.models.counts import Count, CountLine
from inventory.models.goods import GoodsLot
from inventory.models.labels import LabelPaper, LabelToPrint
from inventory.models.materials import Material, MaterialName, Offer, Species, Supplier
from inventory.models.movements import Account, Movement, Verb
from inventory.models.photos import Photo
from inventory.models.pieces import Flaw, Piece, State
from inventory.models.places import Place
from inventory.models.receipts import Receipt, ReceiptLine

__all__ = [
    "Account",
    "AccountName",
    "ClosedPeriod",
    "Count",
    "CountLine",
    "Flaw",
    "GoodsLot",
    "LabelPaper",
    "LabelToPrint",
    "Material",
    "MaterialName",
    "Movement",
    "Offer",
    "Photo",
    "Piece",
    "Place",
    "Receipt",
    "ReceiptLine",
    "Species",
    "State",
    "Supplier",
    "Verb",
]
