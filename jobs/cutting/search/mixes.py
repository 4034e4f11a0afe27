"""Which mixes of sheets are tried next: a little cheaper than the best plan's, and not much unlike it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from random import Random

from jobs.cutting.problem import Stock
from jobs.cutting.proofs import Mix, Proof

MOST_EXCHANGED, LOOKED_AT, TRIES = 3, 5, 30


class Mixes:
    """Mixes of the stock to buy, as a proof counts them, each but once; `steps` is how long they were tried."""

    def __init__(self, stock: Sequence[Stock], seed: int) -> None:
        self.stock, self.chance = stock, Random(seed)
        self.named: set[Mix] = set()
        self.steps = 0

    def next(self, used: Mix, below: int, proofs: Sequence[Proof]) -> Mix | None:
        """The dearest of a few mixes that cost less than `below` and that no proof refuses; None if none comes up.

        Each is what is used, but for a few sheets that were exchanged for what the rest of the money buys.
        """
        found: set[Mix] = set()
        for _ in range(TRIES):
            mix = self._exchanged(used, below)
            if mix is not None and mix not in self.named and not any(proof.refuses(mix) for proof in proofs):
                found.add(mix)
            if len(found) == LOOKED_AT:
                break
        if not found:
            # All that is near has been tried: next time it may be tried again.
            self.named.clear()
            return None
        best = max(found, key=lambda mix: (self._cost(mix), mix))
        self.named.add(best)
        return best

    def _exchanged(self, used: Mix, below: int) -> Mix | None:
        sheets = [at for at, number in enumerate(used) for _ in range(number)]
        self.chance.shuffle(sheets)
        kept = Counter(sheets[self.chance.randint(1, MOST_EXCHANGED) :])
        money = below - 1 - sum(self.stock[at].cost * number for at, number in kept.items())
        while money >= 0:
            affordable = [
                at
                for at, row in enumerate(self.stock)
                if 0 < row.cost <= money and (row.quantity is None or kept[at] < row.quantity)
            ]
            if not affordable:
                return tuple(kept[at] for at in range(len(self.stock)))
            chosen = self.chance.choice(affordable)
            kept[chosen] += 1
            money -= self.stock[chosen].cost
        return None

    def _cost(self, mix: Mix) -> int:
        return sum(row.cost * number for row, number in zip(self.stock, mix, strict=True))
