"""Whether the search is compiled is told from notes, so that no one compiles twice or trusts another machine."""

import os

import pytest

from jobs.cutting.search import ready

pytest.importorskip("numba")


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(ready, "FOLDERS", (tmp_path / "code", tmp_path / "home"))
    return tmp_path


def test_one_process_compiles_and_then_it_is_ready():
    assert not ready.is_ready()
    assert ready.begin()
    assert not ready.begin()
    assert not ready.is_ready()
    ready.end(done=True)
    assert ready.is_ready() and ready.is_for_this_processor()
    assert not ready.is_being_compiled()


def test_what_was_not_finished_can_be_begun_again():
    ready.begin()
    ready.end(done=False)
    assert not ready.is_ready()
    assert ready.begin()


def test_who_began_long_ago_has_given_up(folder):
    ready.begin()
    (note,) = (folder / "code").iterdir()
    os.utime(note, (0, 0))
    assert not ready.is_being_compiled()
    assert ready.begin()


def test_a_folder_that_cannot_be_written_is_passed_over(folder):
    (folder / "code").write_text("no folder")
    assert ready.begin()
    ready.end(done=True)
    assert ready.is_ready()
    assert [note.name.split("-")[0] for note in (folder / "home").iterdir()] == ["compiled"]


def test_what_another_processor_compiled_is_not_loaded(folder):
    ready.begin()
    ready.end(done=True)
    (note,) = (folder / "code").iterdir()
    note.write_text("another processor")
    assert ready.is_ready() and not ready.is_for_this_processor()
