"""What the shop makes."""

from jobs.models.blanks import Blank, MatchSet
from jobs.models.buying import BuyLine
from jobs.models.charges import Charge
from jobs.models.estimate import EstimateLine, GoodsWanted, Quote, QuoteLine
from jobs.models.job import Client, Job, Part, Spoiled
from jobs.models.plan import Hold, Layout, LayoutPart, Plan

__all__ = [
    "Blank",
    "BuyLine",
    "Charge",
    "Client",
    "EstimateLine",
    "GoodsWanted",
    "Hold",
    "Job",
    "Layout",
    "LayoutPart",
    "MatchSet",
    "Part",
    "Plan",
    "Quote",
    "QuoteLine",
    "Spoiled",
]
