"""manage.py cutplan: a problem in, a plan out, and one clear line where the problem is bad."""

import io
import json

import pytest
from django.core.management import call_command

PROBLEM = {
    "stock": [{"id": "sheet", "length": 96, "width": 48, "cost": "92.00", "buy": True}],
    "parts": [{"id": "side", "length": "34 1/2", "width": "23 1/4", "quantity": 2}],
}


def run(*arguments):
    out, err = io.StringIO(), io.StringIO()
    call_command("cutplan", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_a_file_is_planned(tmp_path):
    file = tmp_path / "problem.json"
    file.write_text(json.dumps(PROBLEM))
    out, err = run(str(file), "--time-limit", "1", "--seed", "3", "--pretty")
    plan = json.loads(out)
    assert (plan["status"], plan["figures"]["bought"], err) == ("optimal", "92.00", "")
    assert "\n " in out


def test_standard_input_is_planned(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(json.dumps(PROBLEM)))
    assert json.loads(run("-")[0])["layouts"][0]["stock"] == "sheet"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "is not JSON"),
        ("[]", "an object"),
        (json.dumps(PROBLEM | {"kerf": "wide"}), "kerf: 'wide' is not a length"),
    ],
)
def test_a_bad_problem_ends_in_one_line_and_exit_2(tmp_path, capsys, text, said):
    file = tmp_path / "problem.json"
    file.write_text(text)
    err = io.StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("cutplan", str(file), stderr=err)
    assert stopped.value.code == 2
    assert said in err.getvalue()
    assert err.getvalue().strip().count("\n") == 0


def test_a_file_that_is_not_there_is_said_so(tmp_path):
    err = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("cutplan", str(tmp_path / "none.json"), stderr=err)
    assert "cannot be read" in err.getvalue()
