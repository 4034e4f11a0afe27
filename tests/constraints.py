"""What tests of constraints do: write past the forms and see the database refuse, by the constraint meant."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

Wrong = Callable[[], Any]


def constraints_of(app: str) -> dict[str, models.BaseConstraint]:
    """Every constraint that an app's models declare, by name."""
    return {one.name: one for model in _models(app) for one in model._meta.constraints}


def unique_columns_of(app: str) -> set[str]:
    """Every column that may hold a value once: "Model.column"."""
    return {
        f"{model.__name__}.{column.name}"
        for model in _models(app)
        for column in model._meta.fields
        if column.unique and not column.primary_key
    }


def _models(app: str) -> Iterator[type[models.Model]]:
    return apps.get_app_config(app).get_models()


def refused(app: str, name: str, wrong: Wrong) -> None:
    """`wrong` makes all it needs and then breaks the constraint of this name, or fills this column twice."""
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        wrong()
    said = str(refusal.value)
    assert name in said or any(columns in said for columns in _as_sqlite_says_it(app, name)), said


def _as_sqlite_says_it(app: str, name: str) -> Iterator[str]:
    """SQLite names the columns of a unique index, PostgreSQL the index."""
    for model in _models(app):
        table = model._meta.db_table
        for one in model._meta.constraints:
            if one.name == name and isinstance(one, models.UniqueConstraint) and one.fields:
                columns = {column.name: column.column for column in model._meta.fields}
                yield ", ".join(f"{table}.{columns[field]}" for field in one.fields)
        for column in model._meta.fields:
            if name == f"{model.__name__}.{column.name}":
                yield (
                    f"{table}.{column.column}"
                    if connection.vendor == "sqlite"
                    else f"{table}_{column.column}"
                )


def is_a_sentence(constraint: models.BaseConstraint) -> bool:
    """Whether a person can read what the constraint says."""
    said = str(constraint.violation_error_message)
    return said != str(models.BaseConstraint.default_violation_error_message) and said.endswith(".")
