"""Which label papers can be chosen: those that come with the program, and the shop's own."""

from inventory.labels import LAYOUTS, Layout
from inventory.models import LabelPaper
from shared.measure import Unit
from shared.models import Shop
from shared.refusal import Refused

OWN = "own-"
MOST = 60


def layouts(shop: Shop) -> dict[str, Layout]:
    """By the key that a form sends; the shop's own papers first."""
    own = [layout_of(paper, shop.unit) for paper in LabelPaper.objects.all()[:MOST]]
    return {layout.key: layout for layout in own} | LAYOUTS


def layout_of(paper: LabelPaper, unit: Unit) -> Layout:
    """A paper of the shop's as labels are laid out on it. Raises ValueError where it makes no sense."""
    return Layout(
        key=f"{OWN}{paper.pk}",
        paper=paper.name,
        paper_width=paper.paper_width,
        paper_height=paper.paper_height,
        unit=unit,
        label_width=paper.label_width,
        label_height=paper.label_height,
        columns=paper.columns,
        rows=paper.rows,
        left_margin=paper.left_margin,
        top_margin=paper.top_margin,
        pitch_x=paper.pitch_x,
        pitch_y=paper.pitch_y,
        reference="",
        source="measured by the shop",
    )


def keep(paper: LabelPaper, unit: Unit) -> LabelPaper:
    """Keep a paper that was filled in. Refused where its labels do not lie on it."""
    try:
        layout_of(paper, unit)
    except ValueError as error:
        raise Refused(f"{str(error).removeprefix('own-None: ').capitalize()}. Measure it again.") from error
    paper.save()
    return paper
