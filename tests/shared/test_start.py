"""`manage.py start`: what it refuses, what it prepares, what it keeps running and how it ends."""

import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from http.cookiejar import CookieJar
from io import StringIO
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, build_opener
from zipfile import ZipFile

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.urls import reverse

from shared import addresses, people, serving, signing_in
from shared.management.commands.start import Command
from shared.models import Person, SignInLink
from shared.shop import change_settings, the_shop
from tests.factories import make_person

MANAGE = str(settings.BASE_DIR / "manage.py")
WITHIN_S = 300  # for a machine that is busy with all the other tests


def environment(data: Path, **others: str) -> dict[str, str]:
    """A machine on which nothing was set before."""
    ours = ("SAWBUCK_", "DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    return {**kept, "SAWBUCK_DATA": str(data), "PYTHONUNBUFFERED": "1", **others}


@pytest.fixture
def free_port() -> int:
    with socket.socket() as asking:
        asking.bind(("127.0.0.1", 0))
        return asking.getsockname()[1]


@pytest.fixture
def taken_port() -> Iterator[int]:
    with socket.socket() as taking:
        taking.bind(("127.0.0.1", 0))
        taking.listen()
        yield taking.getsockname()[1]


# ---- what it refuses --------------------------------------------------------------------------------------


def test_a_taken_port_is_refused_by_its_number(taken_port):
    with pytest.raises(serving.CannotStart, match=f"Port {taken_port} on 127.0.0.1 is taken"):
        serving.refuse_taken_port("127.0.0.1", taken_port)


@pytest.mark.parametrize("port", [0, -1, 65_536, 80_000])
def test_a_number_that_is_no_port_is_refused(port):
    with pytest.raises(serving.CannotStart, match="is no port"):
        serving.refuse_taken_port("127.0.0.1", port)


@pytest.mark.parametrize("host", ["203.0.113.7", "no such host", "a" * 70])
def test_a_host_that_is_not_this_machine_is_refused(host, free_port):
    with pytest.raises(serving.CannotStart, match="is no address of this machine"):
        serving.refuse_taken_port(host, free_port)


def start(data: Path, *options: str, **others: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, MANAGE, "start", *options],
        env=environment(data, **others),
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
    )


@pytest.mark.parametrize(
    ("others", "sentence"),
    [
        ({"DATABASE_URL": "oak and ash"}, "DATABASE_URL is neither"),
        ({"DATABASE_URL": "mysql://localhost/shop"}, "DATABASE_URL is neither"),
        ({"DATABASE_URL": "sqlite:////no/such/folder/shop.sqlite3"}, "can't be written"),
        ({"DATABASE_URL": "postgresql://nobody@127.0.0.1:1/shop"}, "DATABASE_URL can't be used"),
        ({"SAWBUCK_DEBUG": "perhaps"}, "SAWBUCK_DEBUG='perhaps' is neither on nor off"),
        ({"SAWBUCK_DATA": "/proc/sawbuck"}, "Set SAWBUCK_DATA to one that can"),
    ],
)
def test_a_wrong_setting_ends_in_one_line(tmp_path, free_port, others, sentence):
    ended = start(tmp_path, "--port", str(free_port), **others)
    assert ended.returncode == 1
    assert sentence in ended.stderr
    assert ended.stderr.count("\n") == 1, ended.stderr
    assert ended.stdout == ""


def test_a_file_that_is_no_database_ends_in_one_line(tmp_path, free_port):
    (tmp_path / "sawbuck.sqlite3").write_text("cherry, 5/4, forty board feet\n" * 100)
    ended = start(tmp_path, "--port", str(free_port))
    assert (ended.returncode, ended.stderr.count("\n")) == (1, 1), ended.stderr
    assert "file is not a database" in ended.stderr


def test_a_taken_port_ends_in_one_line(tmp_path, taken_port):
    ended = start(tmp_path, "--port", str(taken_port))
    assert (ended.returncode, ended.stderr.count("\n")) == (1, 1), ended.stderr
    assert "is taken" in ended.stderr


def test_an_old_python_is_told_which_it_needs(tmp_path):
    """manage.py itself is run, told that it is read by an older Python."""
    code = (
        "import sys, runpy; sys.argv = ['manage.py', 'start']; sys.version_info = (3, 9, 2); "
        f"runpy.run_path({MANAGE!r}, run_name='__main__')"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code],
        env=environment(tmp_path),
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
    )
    assert ended.returncode == 1
    assert ended.stderr == "Sawbuck needs Python 3.11 or newer; this is 3.9.\n"


# ---- what it prepares -------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_new_shop_gets_an_owner_and_a_link_at_each_start_until_there_is_a_password():
    people.first_owner()
    for _ in range(2):
        lines = Command().where_it_is("127.0.0.1", 8000)
        assert sum("Sign in as owner, once" in line for line in lines) == 1
    assert SignInLink.objects.count() == 1
    signing_in.set_password(Person.objects.get(), "plane iron 7 sharp")
    assert not any("once" in line for line in Command().where_it_is("127.0.0.1", 8000))


@pytest.mark.django_db
def test_a_shop_that_has_people_gets_no_other_owner():
    make_person("owner", username="olive")
    assert people.first_owner() is None
    assert Person.objects.count() == 1


@pytest.mark.django_db
def test_outside_the_demo_only_owners_get_a_link():
    people.first_owner()
    people.add_person(username="ada", name="", role="bench")
    lines = Command().where_it_is("127.0.0.1", 8000)
    assert [line.split(",")[0] for line in lines if "once" in line] == ["Sign in as owner"]


@pytest.fixture
def on_a_network(monkeypatch):
    monkeypatch.setattr(addresses, "in_the_shops_network", lambda: "192.168.1.20")
    monkeypatch.setattr(socket, "gethostname", lambda: "Bench-PC")


def test_open_to_the_network_it_answers_to_its_address_and_names(on_a_network, monkeypatch):
    monkeypatch.setenv("SAWBUCK_HOSTS", "shop.example")
    given = serving.environment("0.0.0.0")["SAWBUCK_HOSTS"].split(",")
    assert given == ["shop.example", "192.168.1.20", "bench-pc", "bench-pc.local"]


@pytest.mark.django_db
def test_open_to_the_network_labels_lead_there_unless_someone_said_otherwise(on_a_network):
    Command().suggest_scan_address("0.0.0.0", 8010)
    assert the_shop().scan_address == "HTTP://192.168.1.20:8010"
    change_settings(the_shop(), {"scan_address": "HTTP://SHOP.EXAMPLE"})
    Command().suggest_scan_address("0.0.0.0", 8000)
    assert the_shop().scan_address == "HTTP://SHOP.EXAMPLE"


@pytest.mark.django_db
def test_open_to_this_machine_only_labels_stay_as_they_are(on_a_network):
    before = the_shop().scan_address
    Command().suggest_scan_address("127.0.0.1", 8010)
    assert the_shop().scan_address == before


def test_the_address_on_the_network_is_one_of_this_machine():
    found = addresses.in_the_shops_network()
    if found is None:
        pytest.skip("this machine is on no network")
    with socket.socket() as own:
        own.bind((found, 0))


# ---- what it keeps running --------------------------------------------------------------------------------


@pytest.fixture
def crew(monkeypatch) -> Iterator[type[serving.Crew]]:
    monkeypatch.setattr(serving, "RESTART_WORKER_AFTER_S", 0.0)
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    yield serving.Crew
    for number, handler in before.items():
        signal.signal(number, handler)


WAITS = [sys.executable, "-c", "import time; time.sleep(60)"]


def test_a_worker_that_dies_is_replaced(crew, tmp_path):
    lives = tmp_path / "lives"
    worker = (
        "import os, pathlib, signal, sys; lives = pathlib.Path(sys.argv[1]); "
        "lives.write_text((lives.read_text() if lives.exists() else '') + 'x'); "
        "len(lives.read_text()) == 3 and os.kill(os.getppid(), signal.SIGTERM)"
    )
    both = crew(WAITS, [sys.executable, "-c", worker, str(lives)], os.environ)
    both.start()
    assert both.watch() == 0
    assert len(lives.read_text()) >= 3
    assert all(process.poll() is not None for process in both.running.values())


def test_a_server_that_ends_by_itself_ends_the_worker_too(crew):
    both = crew([sys.executable, "-c", "raise SystemExit(3)"], WAITS, os.environ)
    both.start()
    assert not both.is_open("127.0.0.1", 1)
    assert both.watch() == 1
    assert both.running["worker"].poll() is not None


def test_a_second_ctrl_c_cuts_short_what_will_not_end(crew):
    stubborn = (
        "import os, signal, time; again = lambda *_: os.kill(os.getppid(), signal.SIGINT); "
        "signal.signal(signal.SIGTERM, again); "
        "os.kill(os.getppid(), signal.SIGINT); [time.sleep(1) for _ in range(60)]"
    )
    both = crew([sys.executable, "-c", stubborn], None, os.environ)
    both.start()
    assert both.watch() == 0
    assert both.running["server"].returncode == -signal.SIGKILL


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells a child that its parent was killed")
def test_who_is_killed_leaves_no_server_behind(tmp_path):
    starts = (
        "import django, os, sys, time; django.setup(); "
        "from shared.serving import Crew; "
        "both = Crew([sys.executable, '-c', 'import time; time.sleep(600)'], None, os.environ); both.start(); "
        "print('started', flush=True); time.sleep(600)"
    )
    command = [sys.executable, "-c", starts]
    given = environment(tmp_path, DJANGO_SETTINGS_MODULE="shared.settings", PYTHONPATH=str(settings.BASE_DIR))
    parent = subprocess.Popen(command, env=given, stdout=subprocess.PIPE, text=True)
    assert parent.stdout
    assert parent.stdout.readline() == "started\n"
    parent.kill()
    # The child holds the pipe too: it ends when both have.
    assert parent.communicate(timeout=WITHIN_S) == ("", None)


def lines_until(process: subprocess.Popen[str], last: str) -> list[str]:
    lines = []
    for line in process.stdout or []:
        lines.append(line.rstrip())
        if last in line:
            return lines
    raise AssertionError("\n".join(["it ended early:", *lines]))


def children_of(pid: int) -> list[int]:
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found += [int(status.parent.name), *children_of(int(status.parent.name))]
    return found


def test_it_serves_signs_in_once_and_ends_cleanly(tmp_path, free_port):
    process = subprocess.Popen(
        [sys.executable, MANAGE, "start", "--port", str(free_port)],
        env=environment(tmp_path),
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        lines = lines_until(process, "Stop with Ctrl-C")
        assert lines[-3] == f"Sawbuck is open at http://127.0.0.1:{free_port}"
        link = re.findall(r"http\S+/once/\S+", lines[-2])[0]
        browser = build_opener(HTTPCookieProcessor(CookieJar()))
        page = browser.open(link, timeout=WITHIN_S).read().decode()
        token = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[0]
        landed = browser.open(link, urlencode({"csrfmiddlewaretoken": token}).encode(), timeout=WITHIN_S)
        assert landed.url.endswith(reverse("first-run"))
        style = re.findall(r'href="(/static/[^"]+\.css)"', landed.read().decode())[0]
        assert browser.open(f"http://127.0.0.1:{free_port}{style}", timeout=WITHIN_S).status == 200
        with pytest.raises(HTTPError, match="410"):
            build_opener().open(link, timeout=WITHIN_S)
        crew = children_of(process.pid)
        # The server and its two workers, the background worker, and for a while who compiles the search.
        assert len(crew) in (4, 5)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=WITHIN_S) == 0
        assert not any(Path(f"/proc/{pid}").exists() for pid in crew)
        assert (tmp_path / "secret.key").stat().st_mode & 0o077 == 0
    finally:
        process.kill()
        process.wait()


# ---- other commands of who runs it ------------------------------------------------------------------------


def test_a_forgotten_owner_gets_a_link_on_the_command_line(db, client):
    make_person("owner", username="olive")
    said = StringIO()
    call_command("sign_in_link", "Olive", stdout=said)
    assert client.post("/" + said.getvalue().strip().split("/", 3)[3]).status_code == 302
    with pytest.raises(CommandError, match="Nobody signs in as ada"):
        call_command("sign_in_link", "ada")


def manage(data: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, MANAGE, *words]
    return subprocess.run(command, env=environment(data), capture_output=True, text=True, timeout=WITHIN_S)


@pytest.fixture(scope="module")
def shop_on_disk(tmp_path_factory) -> Path:
    """The data folder of a shop that is open: someone writes to it without having finished."""
    data = tmp_path_factory.mktemp("shop")
    assert manage(data, "migrate", "--verbosity", "0").returncode == 0
    return data


def test_a_backup_holds_what_was_saved_and_not_what_is_half_done(shop_on_disk, tmp_path):
    with closing(sqlite3.connect(shop_on_disk / "sawbuck.sqlite3")) as busy:
        busy.execute("INSERT INTO auth_group (name) VALUES ('apprentice')")
        done = manage(shop_on_disk, "backup", str(tmp_path / "copy.zip"))
    assert done.returncode == 0, done.stderr
    assert [file.name for file in tmp_path.iterdir()] == ["copy.zip"]
    assert (tmp_path / "copy.zip").stat().st_mode & 0o077 == 0
    ZipFile(tmp_path / "copy.zip").extractall(tmp_path / "again")
    with closing(sqlite3.connect(tmp_path / "again" / "sawbuck.sqlite3")) as copy:
        roles = {name for (name,) in copy.execute("SELECT name FROM auth_group")}
    assert roles == {"owner", "buyer", "bench"}


def test_a_backup_unpacked_is_the_shop_again_with_its_photos(shop_on_disk, tmp_path):
    photo = shop_on_disk / "media" / "photos" / "knot.jpg"
    photo.parent.mkdir(parents=True, exist_ok=True)
    photo.write_bytes(b"a knot")
    assert manage(shop_on_disk, "backup", str(tmp_path / "copy.zip")).returncode == 0
    ZipFile(tmp_path / "copy.zip").extractall(tmp_path / "again")
    assert (tmp_path / "again" / "media" / "photos" / "knot.jpg").read_bytes() == b"a knot"
    assert manage(tmp_path / "again", "audit").returncode == 0


def test_a_backup_never_writes_over_a_file(shop_on_disk, tmp_path):
    (tmp_path / "copy.zip").write_text("last week's")
    refused = manage(shop_on_disk, "backup", str(tmp_path / "copy.zip"))
    assert refused.returncode == 1
    assert "is there already" in refused.stderr
    assert (tmp_path / "copy.zip").read_text() == "last week's"


def test_a_backup_to_nowhere_says_so_in_one_line(shop_on_disk, tmp_path):
    refused = manage(shop_on_disk, "backup", str(tmp_path / "no" / "folder.zip"))
    assert (refused.returncode, refused.stderr.count("\n")) == (1, 1), refused.stderr
    assert "can't be written" in refused.stderr
