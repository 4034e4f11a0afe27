"""Long lists, page by page, without counting all there is."""

from typing import Any

from django.core.paginator import Page, Paginator
from django.utils.functional import cached_property


class KeyedPaginator(Paginator):
    """Pages of a query set of wide rows. A page's keys are found first and its rows after that: putting 100,000
    rows in order is quick as long as they are bare."""

    def page(self, number: Any) -> Page:
        """One page, its rows in two steps."""
        page = super().page(number)
        rows: Any = self.object_list
        some: Any = page.object_list
        keys = list(some.values_list("pk", flat=True))
        found = {row.pk: row for row in rows.order_by().filter(pk__in=keys)}
        page.object_list = [found[key] for key in keys if key in found]
        return page


class CappedPaginator(KeyedPaginator):
    """The same of at most `MOST` rows: who sees more than that narrows down, not leafs on.

    Counting stops there, so that neither the count nor the last page reads a whole table.
    """

    MOST = 5_000

    @cached_property
    def _counted(self) -> int:
        rows: Any = self.object_list
        return int(rows.order_by()[: self.MOST + 1].count())

    @property
    def is_capped(self) -> bool:
        """Whether there are more rows than are counted and shown."""
        return self._counted > self.MOST

    @cached_property
    def count(self) -> int:
        """How many rows can be leafed through."""
        return min(self._counted, self.MOST)

    @property
    def count_text(self) -> str:
        """How many there are, for people: "37", or "more than 5,000"."""
        return f"more than {self.MOST:,}" if self.is_capped else f"{self.count:,}"
