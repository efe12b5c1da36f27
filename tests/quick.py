"""For `pytest -m quick -n 0 -p tests.quick`: fails where no quick test uses a dependency."""

from __future__ import annotations

import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"
# Those that are run, not imported; of argcomplete only the program that a test starts has need.
RUN = {"argcomplete", "diagnose", "mypy", "pytest", "pytest-xdist", "ruff", "types-pyyaml"}


def unused() -> set[str]:
    """What pyproject.toml asks for, to run and to test, and nothing has imported so far."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *extras["durable"], *extras["dev"]]
    names = {_plain(re.split(r"[\[<>=;]", line)[0]) for line in wanted}
    came = packages_distributions()
    imported = {module.partition(".")[0] for module in sys.modules}
    return names - RUN - {_plain(name) for module in imported for name in came.get(module, ())}


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name.lower())


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Count an unused dependency as a failure."""
    if left := unused():
        print(f"\nno quick test uses {', '.join(sorted(left))}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
