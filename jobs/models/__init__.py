"""What the shop makes."""

from jobs.models.buying import BuyLine
from jobs.models.charges import Charge
from jobs.models.job import Client, Job, Part, Spoiled
from jobs.models.plan import Hold, Layout, LayoutPart, Plan

__all__ = [
    "BuyLine",
    "Charge",
    "Client",
    "Hold",
    "Job",
    "Layout",
    "LayoutPart",
    "Part",
    "Plan",
    "Spoiled",
]
