"""The published figures that the tests in this folder check against: data/reference/*.csv."""

import csv
from pathlib import Path

Row = dict[str, str]


def rows(table: str, **wanted: str) -> list[Row]:
    """A table's rows, those whose columns are as wanted."""
    with (Path(__file__).parent / "data/reference" / f"{table}.csv").open(
        encoding="utf-8", newline=""
    ) as file:
        return [
            row for row in csv.DictReader(file) if all(row[column] == text for column, text in wanted.items())
        ]


def row(table: str, row_id: str) -> Row:
    """The one row with this id."""
    (found,) = rows(table, id=row_id)
    return found


def row_id(row: Row) -> str:
    """Its name in a test report."""
    return row["id"]


def decimals(figure: str) -> int:
    """How many decimals a printed figure has."""
    return len(figure.partition(".")[2])
