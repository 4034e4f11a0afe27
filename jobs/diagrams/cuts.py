"""The cuts of a layout as everyone shows them, so that page, paper and cautions speak of the same ones."""

from jobs.cutting.sequence import Step, steps
from jobs.cutting.wording import Line, in_words
from jobs.diagrams.geometry import Layout
from shared.measure import Unit, inches, mm

# Common practice, no source: what is narrower is not ripped and what is shorter not crosscut, as long as
# another order of the cuts avoids it (rows S01, S02, S05 and S06 of jobs/data/safety.csv).
LEAST_TO_RIP: dict[Unit, int] = {"in": inches(2), "mm": mm(50)}
LEAST_TO_CROSSCUT: dict[Unit, int] = {"in": inches(6), "mm": mm(150)}


def steps_of(layout: Layout) -> list[Step]:
    return steps(
        layout.sheet,
        kerf=layout.kerf,
        least_to_rip=LEAST_TO_RIP[layout.unit],
        least_to_crosscut=LEAST_TO_CROSSCUT[layout.unit],
    )


def lines_of(layout: Layout) -> list[Line]:
    """The steps in words, with the layout's own names."""
    return in_words(steps_of(layout), layout.names)
