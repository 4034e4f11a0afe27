"""A layout laid on another piece: the same parts by the same cuts, and what is left grows or shrinks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from jobs.cutting import objective
from jobs.cutting.check import faults
from jobs.cutting.layout import Layout, Node, Plan
from jobs.cutting.problem import Cut, Keep, Problem, Stock

Size = tuple[int, int]  # along the grain, across it
ALONG, ACROSS = 0, 1
CUTS: tuple[Cut, Cut] = ("crosscut", "rip")  # by the direction in which their pieces lie side by side


class _DoesNotFit(Exception):  # noqa: N818  caught here: this way of laying it does not go
    pass


def refit(problem: Problem, tree: Node, was: Stock, now: Stock) -> Node | None:
    """The layout that `tree` is on the stock `was`, laid on `now`; None where it does not fit.

    `problem` asks for the layout's parts and has both pieces in its stock. Of the ways that the checker
    passes, the one that leaves the largest offcut; a piece of the same size is cut as before.
    """
    fitter = _Fitter(problem.kerf, problem.keep)
    sound = [one for one in fitter.ways(tree, was.usable, now.usable) if _is_sound(problem, one, now)]
    return max(sound, key=lambda one: _largest_offcut(one, now.usable), default=None)


def _is_sound(problem: Problem, tree: Node, stock: Stock) -> bool:
    layouts = (Layout(stock.id, tree),)
    sums = objective.amounts(problem, layouts)
    bought, rack, kept = (problem.money * sum_ for sum_ in (sums.bought, sums.rack_used, sums.kept))
    return not faults(problem, Plan(layouts, bought=bought, rack_used=rack, kept=kept))


def _largest_offcut(tree: Node, size: Size) -> int:
    if tree.kind == "offcut":
        return size[ALONG] * size[ACROSS]
    along = CUTS.index(tree.cut) if tree.cut else ALONG
    return max((_largest_offcut(child, _with(size, along, child.size)) for child in tree.of), default=0)


def _with(size: Size, along: int, extent: int) -> Size:
    return (extent, size[ACROSS]) if along == ALONG else (size[ALONG], extent)


@dataclass(frozen=True, slots=True)
class _Fitter:
    kerf: int
    keep: Keep | None

    def ways(self, tree: Node, was: Size, now: Size) -> Iterator[Node]:
        """Each strip with its own rest; or the old piece cut free of the new one first, by either cut."""
        ways: list[Callable[[], Node]] = [lambda: self.fitted(tree, was, now)]
        if tree.cut:
            own = CUTS.index(tree.cut)
            other = 1 - own
            longer, wider = _with(was, own, now[own]), _with(was, other, now[other])
            ways.append(lambda: self.freed(self.fitted(tree, was, longer), other, longer, now))
            ways.append(lambda: self.freed(self.freed(tree, other, was, wider), own, wider, now))
        for way in ways:
            try:
                yield way()
            except _DoesNotFit:
                continue

    def fitted(self, node: Node, was: Size, now: Size) -> Node:
        """A node of one size at another: what is left takes up the difference."""
        if was == now:
            return node
        if node.kind == "cut":
            return self._sawn(node, was, now)
        if node.kind in ("offcut", "waste"):
            return self._rest(now, ALONG)
        longer = (now[ALONG], was[ACROSS])
        return self.freed(self.freed(node, ALONG, was, longer), ACROSS, longer, now)

    def freed(self, node: Node, along: int, was: Size, now: Size) -> Node:
        """A node cut free of a piece that is longer one way."""
        spare = now[along] - was[along]
        if spare < 0:
            raise _DoesNotFit
        if not spare:
            return node
        of = (node.sized(was[along]), *self._beside(spare, along, now))
        return Node("cut", cut=CUTS[along], of=of)

    def _sawn(self, node: Node, was: Size, now: Size) -> Node:
        assert node.cut
        along = CUTS.index(node.cut)
        of = node.of[:-1] if node.of[-1].kind in ("offcut", "waste") else node.of
        children = [
            self.fitted(child, _with(was, along, child.size), _with(now, along, child.size)).sized(child.size)
            for child in of
        ]
        left = now[along] - sum(child.size + self.kerf for child in of)  # beyond the last cut
        if not children or left < -self.kerf:
            raise _DoesNotFit
        if left > 0:
            children.append(self._rest(_with(now, along, left), along))
        elif len(children) == 1 and left == -self.kerf:
            return children[0]
        return replace(node, of=tuple(children))

    def _beside(self, spare: int, along: int, now: Size) -> list[Node]:
        """What is left beyond a cut, if it is more than the cut itself."""
        return [self._rest(_with(now, along, spare - self.kerf), along)] if spare > self.kerf else []

    def _rest(self, size: Size, along: int) -> Node:
        keeps = self.keep is not None and self.keep.takes(*size)
        return Node("offcut" if keeps else "waste", size=size[along])
