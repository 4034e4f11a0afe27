"""Several processes at one database, as two phones at one rack are: each thing happens once.

Runs on a SQLite file, or on PostgreSQL where DATABASE_URL says so, in a copy of the test database of its own.
"""

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

pytestmark = pytest.mark.django_db  # for the database that is copied; the processes write into the copy

PROCESSES = 3
MODULE = "tests.another_process"


def _line_from(process: "subprocess.Popen[str]") -> str:
    assert process.stdout
    return process.stdout.readline()


class Others:
    """Processes that do what they are told at the same moment."""

    def __init__(self, database: str) -> None:
        surroundings = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "tests.settings",
            "DATABASE_URL": database,
            "PYTHONPATH": str(settings.BASE_DIR),
        }
        self.processes = [
            subprocess.Popen(
                [sys.executable, "-m", MODULE],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                env=surroundings,
                text=True,
                bufsize=1,
            )
            for _ in range(PROCESSES)
        ]
        for process in self.processes:
            assert process.stdout
            assert process.stdout.readline() == "here\n"
        self.tap = 0

    def at_once(self, *asked: dict[str, Any]) -> list[dict[str, Any]]:
        """One process for each of these; all start on the same word. Anything but done or refused fails."""
        told = list(zip(self.processes, asked, strict=False))
        for process, what in told:
            self._tell(process, json.dumps(what))
        for process, _ in told:
            self._tell(process, "now")
        answers = [json.loads(_line_from(process) or '{"error": "no answer"}') for process, _ in told]
        assert not [one["error"] for one in answers if "error" in one]
        return answers

    def _tell(self, process: "subprocess.Popen[str]", line: str) -> None:
        assert process.stdin
        process.stdin.write(line + "\n")
        process.stdin.flush()

    def one(self, do: str, **asked: Any) -> Any:
        """One of them does something alone."""
        return self.at_once({"do": do, **asked})[0]["done"]

    def all(self, do: str, **asked: Any) -> list[dict[str, Any]]:
        """All do the same, each with a key of its own."""
        return self.at_once(*({"do": do, "key": self.new_key(), **asked} for _ in self.processes))

    def the_same_tap(self, do: str, **asked: Any) -> list[Any]:
        """All send one tap; returns what they were told it did."""
        return [
            one["done"] for one in self.at_once(*[{"do": do, "key": self.new_key(), **asked}] * PROCESSES)
        ]

    def new_key(self) -> str:
        self.tap += 1
        return f"tap {self.tap}"

    def close(self) -> None:
        for process in self.processes:
            assert process.stdin
            process.stdin.close()
        for process in self.processes:
            process.wait(timeout=30)


@pytest.fixture(scope="module")
def database(django_db_setup, django_db_blocker, tmp_path_factory) -> Iterator[str]:
    """The address of a copy of the empty test database."""
    with django_db_blocker.unblock():
        if connection.vendor == "sqlite":
            file = tmp_path_factory.mktemp("shop") / "shop.sqlite3"
            connection.cursor().execute("VACUUM INTO %s", [str(file)])
            yield f"sqlite:///{file}"
            return
        here = connection.settings_dict
        name = f"{here['NAME']}_at_once"
        connection.close()
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{name}" TEMPLATE "{here["NAME"]}"')
        who = f"{here['USER']}:{here['PASSWORD']}" if here["PASSWORD"] else here["USER"]
        yield f"postgresql://{who}@{here['HOST']}:{here['PORT']}/{name}"
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}"')


@pytest.fixture(scope="module")
def others(database) -> Iterator[Others]:
    others = Others(database)
    yield others
    others.close()


@pytest.fixture
def shop(others) -> Iterator[dict[str, Any]]:
    """People, jobs, sheets and goods that no other test touches; afterwards the books hold."""
    opened = others.one("open_shop")
    yield {**opened, "sheet": opened["sheets"][0], "by": opened["people"][0]}
    assert others.one("look", goods=opened["hinges"])["faults"] == []


def won(answers: list[dict[str, Any]]) -> list[Any]:
    return [one["done"] for one in answers if "done" in one]


@pytest.mark.parametrize("verb", ["pull", "lose", "cut"])
def test_of_several_at_one_piece_one_wins_and_the_others_are_refused(others, shop, verb):
    answers = others.all(verb, piece=shop["sheet"], by=shop["by"])
    assert len(won(answers)) == 1
    assert all("so it can't be" in one["refused"] for one in answers if "refused" in one)


def test_of_two_people_at_one_piece_one_wins(others, shop):
    taps = [{"do": "pull", "piece": shop["sheet"], "by": by, "key": "the same key"} for by in shop["people"]]
    assert len(won(others.at_once(*taps))) == 1


def test_a_piece_is_promised_to_one_of_two_jobs(others, shop):
    for sheet in shop["sheets"]:
        answers = others.at_once(
            *(
                {"do": "hold", "piece": sheet, "job": job, "by": by, "key": others.new_key()}
                for job, by in zip(shop["jobs"], shop["people"], strict=True)
            )
        )
        assert len(won(answers)) == 1
        assert won(answers)[0] in shop["numbers"]


def test_a_movement_is_undone_once(others, shop):
    pulled = others.one("pull", piece=shop["sheet"], by=shop["by"], key=others.new_key())
    answers = others.at_once(
        *({"do": "undo", "movement": pulled, "by": by, "key": others.new_key()} for by in shop["people"])
    )
    assert len(won(answers)) == 1
    assert [one["refused"] for one in answers if "refused" in one] == ["This is undone already."]


def test_what_is_undone_and_what_comes_after_it_do_not_cross(others, shop):
    for sheet in shop["sheets"]:
        pulled = others.one("pull", piece=sheet, by=shop["by"], key=others.new_key())
        first, second = shop["people"]
        answers = others.at_once(
            {"do": "undo", "movement": pulled, "by": first, "key": others.new_key()},
            {"do": "put_back", "piece": sheet, "by": second, "key": others.new_key()},
        )
        assert len(won(answers)) == 1


def test_no_more_goods_go_out_than_are_there(others, shop):
    asked = {"material": shop["hinges"], "job": shop["jobs"][0], "quantity": 4, "by": shop["by"]}
    assert len(won(others.all("issue", **asked))) == 2  # of 10
    assert others.one("look", goods=shop["hinges"])["left"] == "2.000"
    back = {**asked, "quantity": 5}
    assert len(won(others.all("give_back", **back))) == 1  # of 8
    assert others.one("look", goods=shop["hinges"])["left"] == "7.000"


def test_a_receipt_is_entered_once_whoever_enters_it(others, shop):
    asked = {"supplier": shop["yard"], "material": shop["ply"], "number": "1"}
    answers = others.at_once(
        *({"do": "receive", **asked, "by": by, "key": others.new_key()} for by in shop["people"])
    )
    assert len(won(answers)) == 1
    assert "entered already" in next(one["refused"] for one in answers if "refused" in one)


TAPS = {
    "pull": lambda shop: {"piece": shop["sheet"]},
    "move": lambda shop: {"piece": shop["sheet"], "place": shop["places"][0]},
    "cut": lambda shop: {"piece": shop["sheet"]},
    "hold": lambda shop: {"piece": shop["sheet"], "job": shop["jobs"][0]},
    "receive": lambda shop: {"supplier": shop["yard"], "material": shop["ply"], "number": "1"},
    "put_in": lambda shop: {"material": shop["ply"]},
    "issue": lambda shop: {"material": shop["hinges"], "job": shop["jobs"][1], "quantity": 1},
    "cut_layout": lambda shop: {"layout": shop["layout"]},
}


@pytest.mark.parametrize("verb", TAPS)
def test_the_same_tap_from_several_processes_counts_once(others, shop, verb):
    before = others.one("look", goods=shop["hinges"])["movements"]
    told = others.the_same_tap(verb, by=shop["by"], **TAPS[verb](shop))
    assert told == [told[0]] * PROCESSES
    rows = {"cut": 2, "receive": 2}.get(verb, 1)
    assert others.one("look", goods=shop["hinges"])["movements"] == before + rows


def test_an_undoing_sent_several_times_at_once_counts_once(others, shop):
    pulled = others.one("pull", piece=shop["sheet"], by=shop["by"], key=others.new_key())
    told = others.the_same_tap("undo", movement=pulled, by=shop["by"])
    assert told == [told[0]] * PROCESSES


def test_spoiling_sent_several_times_at_once_counts_once(others, shop):
    others.one("cut_layout", layout=shop["layout"], by=shop["by"], key=others.new_key())
    told = others.the_same_tap("spoil", part=shop["part"], by=shop["by"])
    assert told == [told[0]] * PROCESSES


def test_a_layout_is_cut_once(others, shop):
    answers = others.all("cut_layout", layout=shop["layout"], by=shop["by"])
    assert len(won(answers)) == 1
    assert all("cut already" in one["refused"] for one in answers if "refused" in one)


@pytest.mark.parametrize(("jobs", "winners"), [(2, 1), (1, 2)])
def test_plans_for_the_same_piece_are_accepted_one_after_the_other(others, shop, jobs, winners):
    """Of two jobs one gets it; of one job the later plan takes the earlier one's place."""
    plans = others.one("plans_for", piece=shop["sheet"], by=shop["by"], jobs=jobs)
    answers = others.at_once(*({"do": "accept", "plan": plan, "by": shop["by"]} for plan in plans))
    assert len(won(answers)) == winners


def test_a_busy_hour_leaves_the_books_right(others, shop):
    """All at once, over and over, at three pieces: whatever comes first, nothing breaks."""
    dice = random.Random(26)
    for _ in range(40):
        others.at_once(*(busy_tap(dice, others, shop) for _ in range(PROCESSES)))


def busy_tap(dice: random.Random, others: Others, shop: dict[str, Any]) -> dict[str, Any]:
    verb = dice.choice(["pull", "put_back", "move", "lose", "find", "hold", "release", "undo_last", "issue"])
    what: dict[str, Any] = {"piece": dice.choice(shop["sheets"])}
    if verb == "move":
        what["place"] = dice.choice(shop["places"])
    elif verb == "hold":
        what["job"] = dice.choice(shop["jobs"])
    elif verb == "issue":
        verb = dice.choice(["issue", "give_back"])
        what = {"material": shop["hinges"], "job": dice.choice(shop["jobs"]), "quantity": 1}
    return {"do": verb, "by": dice.choice(shop["people"]), "key": others.new_key(), **what}
