"""Who imports whom, and where rules may stand: DEVELOPERS.md, "The house"."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("shared", "inventory", "jobs")
FILES = sorted(
    path.relative_to(ROOT)
    for app in APPS
    for path in (ROOT / app).rglob("*.py")
    if "migrations" not in path.parts
)
VAGUE = {"utils", "util", "helpers", "helper", "services", "service", "common", "misc"}


def imports(file: Path) -> Iterator[str]:
    """The full name of each module and of each thing that a file imports, anywhere in it."""
    for node in ast.walk(ast.parse((ROOT / file).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(file.parts[: len(file.parts) - node.level]) if node.level else ""
            module = ".".join(part for part in (base, node.module or "") if part)
            yield from (f"{module}.{name.name}" for name in node.names)


def starts(name: str, *packages: str) -> bool:
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def offences(files: list[Path], *packages: str) -> list[str]:
    return [f"{file} imports {name}" for file in files for name in imports(file) if starts(name, *packages)]


def below(*folders: str) -> list[Path]:
    return [file for file in FILES if any(file.is_relative_to(folder) for folder in folders)]


def test_the_reader_of_imports_sees_every_kind(tmp_path, monkeypatch):
    (tmp_path / "inventory").mkdir()
    (tmp_path / "inventory" / "one.py").write_text(
        "import jobs.models as m\nfrom jobs import costing\nfrom . import two\n"
        "def later():\n    from .three import x\n"
    )
    monkeypatch.setattr("tests.test_imports.ROOT", tmp_path)
    found = set(imports(Path("inventory/one.py")))
    assert found == {"jobs.models", "jobs.costing", "inventory.two", "inventory.three.x"}


def test_shared_imports_no_other_app():
    assert offences(below("shared"), "inventory", "jobs") == []


def test_inventory_does_not_import_jobs():
    assert offences(below("inventory"), "jobs") == []


def test_the_planner_knows_neither_django_nor_the_shop():
    planner = below("jobs/cutting")
    assert planner
    outside = [line for line in offences(planner, *APPS) if " imports jobs.cutting" not in line]
    assert outside == []
    assert offences(planner, "django", "django_tasks") == []


def test_labels_are_drawn_without_the_database():
    assert offences(below("inventory/labels"), "django", "inventory.models") == []


@pytest.mark.parametrize("app", APPS)
def test_nothing_below_a_view_imports_a_view(app):
    below_views = [
        file for file in below(app) if "views" not in file.parts and file.name not in ("urls.py", "pages.py")
    ]
    assert offences(below_views, *(f"{name}.views" for name in APPS)) == []


@pytest.mark.parametrize("app", APPS)
def test_no_module_has_a_name_that_says_nothing(app):
    vague = [file for file in below(app) if file.stem in VAGUE or VAGUE & set(file.parts)]
    assert vague == []


def test_no_rule_hides_in_a_signal():
    assert offences(FILES, "django.dispatch", "django.db.models.signals", "django.core.signals") == []


def is_kept_by_django(node: ast.ClassDef) -> bool:
    """Whether a class is a model, a form, a manager or a query set, by the names of its bases."""
    bases = (ast.unparse(base).partition("[")[0] for base in node.bases)
    return any(base.endswith(("Model", "User", "Form", "Manager", "QuerySet")) for base in bases)


def test_no_rule_hides_in_an_overridden_save():
    overrides = [
        f"{file}: {node.name}.{method.name}"
        for file in FILES
        for node in ast.walk(ast.parse((ROOT / file).read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef) and is_kept_by_django(node)
        for method in node.body
        if isinstance(method, ast.FunctionDef) and method.name in ("save", "delete", "bulk_create")
    ]
    assert overrides == []


def test_only_the_ledger_writes_movements():
    writers = [
        str(file)
        for file in below("inventory", "jobs", "shared")
        if "Movement.objects.create(" in (ROOT / file).read_text(encoding="utf-8")
        or "Movement.objects.bulk_create(" in (ROOT / file).read_text(encoding="utf-8")
    ]
    assert writers == ["inventory/ledger.py"]
