"""How a shop function says no."""


class Refused(Exception):  # noqa: N818 - it is an answer to a person, not a fault
    """What was asked can't be done; the text says why and what would do, for the page to show as it is."""
