"""README.md and DEVELOPERS.md say what is so."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SET_BY_START = {"SAWBUCK_DEMO"}


def test_the_readme_lists_every_variable_the_server_reads():
    read = set(re.findall(r"SAWBUCK_[A-Z_]+", (ROOT / "shared" / "settings.py").read_text(encoding="utf-8")))
    listed = set(re.findall(r"^\| `(SAWBUCK_[A-Z_]+)`", README, re.MULTILINE))
    assert listed == read - SET_BY_START


def test_the_guide_for_developers_lists_every_command():
    files = ROOT.glob("*/management/commands/*.py")
    commands = {file.stem for file in files if file.stem != "__init__"}
    assert commands <= set(re.findall(r"`manage\.py (\w+)", DEVELOPERS))


@pytest.mark.parametrize("marker", ["the command that starts", "the command that tests"])
def test_each_command_a_reader_copies_stands_alone_under_its_marker(marker):
    block = README.partition(f"<!-- {marker} -->\n```sh\n")[2].partition("\n```")[0]
    assert block.startswith("python3 -m venv .venv && ")
    assert "\n" not in block


def test_ci_finds_the_command_that_tests():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    found = re.search(r"^test_command=\$\((awk .*)\)$", script, re.MULTILINE)
    assert found
    said = subprocess.run(["bash", "-c", found[1]], cwd=ROOT, capture_output=True, text=True, check=True)
    assert said.stdout.strip().endswith(".venv/bin/pytest -n auto")


@pytest.mark.parametrize("guide", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_a_guide_links_to_is_there(guide):
    links = re.findall(r"\]\(([^):]+)\)|src=\"([^\"]+)\"", guide)
    assert [name for pair in links for name in pair if name and not (ROOT / name).is_file()] == []


def test_no_guide_names_a_path_of_one_machine():
    assert not re.search(r"/(?:work|root)/|/home/\w", README + DEVELOPERS)
