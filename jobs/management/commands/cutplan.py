"""`manage.py cutplan PROBLEM.json`: plan a problem of the planning format (jobs/cutting/FORMAT.md)."""

import json
import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from jobs.compiling import compile_apart
from jobs.cutting.problem import ProblemError
from jobs.cutting.search.accelerate import compile_ahead
from jobs.solving import solve_apart


class Command(BaseCommand):
    help = "Read a cutting problem (a file, or - for standard input) and print a plan, both as JSON."
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "problem", nargs="?", default="-", help="a JSON file; - or nothing: standard input"
        )
        parser.add_argument("--time-limit", type=float, help="seconds; instead of the problem's own")
        parser.add_argument("--seed", type=int, help="instead of the problem's own")
        parser.add_argument(
            "--compile", action="store_true", help="make the search quicker from now on; no plan"
        )
        parser.add_argument("--pretty", action="store_true", help="indent the plan")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["compile"]:
            self._compile(told=options["verbosity"] > 0)
            return
        compile_apart()
        try:
            plan = planned(_text_of(options["problem"]), options["time_limit"], options["seed"])
        except ProblemError as error:
            self.stderr.write(f"{options['problem']}: {error}")
            sys.exit(2)
        self.stdout.write(json.dumps(plan, indent=1 if options["pretty"] else None, ensure_ascii=False))

    def _compile(self, *, told: bool) -> None:
        # Half a minute of work that no one waits for: whoever does is served first.
        os.nice(10)
        try:
            done = compile_ahead()
        except ImportError:
            self.stderr.write(
                "numba is not installed: pip install numba. Plans are as good, only found later."
            )
            sys.exit(2)
        if told:
            self.stdout.write(
                "The search is compiled." if done else "Another process is compiling it already."
            )


def _text_of(name: str) -> str:
    try:
        return sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ProblemError(
            f"cannot be read: {getattr(error, 'strerror', None) or 'it is not UTF-8 text'}"
        ) from None


def planned(text: str, time_limit_s: float | None = None, seed: int | None = None) -> dict[str, Any]:
    """The plan for a problem, both in the planning format. Raises ProblemError."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ProblemError(f"is not JSON: {error}") from None
    return solve_apart(data, time_limit_s=time_limit_s, seed=seed)
