"""The rules of the test run itself: what is left out where a program is missing, and which warnings
stop a test. Each is tried on a small project with this project's own settings."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import PROGRAMS

ROOT = Path(__file__).parents[1]

OUTSIDE = """
import pytest

@pytest.fixture
def window(chromium):
    return chromium

def test_through_another_fixture(window):
    assert window.endswith("chromium")

def test_by_itself(librecad):
    assert librecad.endswith("librecad")

def test_without():
    pass
"""

WARNINGS = """
import warnings
import pytest
import some_library
from drafting import own

@pytest.mark.parametrize("category", ["DeprecationWarning", "FutureWarning", "UserWarning"])
@pytest.mark.parametrize("where", [some_library, own], ids=["some_library", "own"])
def test_a_warning(where, category):
    where.warn(category)
"""

WARN = """
import builtins
import warnings

def warn(category):
    warnings.warn("old", getattr(builtins, category), stacklevel=1)
"""


class Project:
    """A project with this one's settings, beside a folder of programs that are to be found."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.programs = folder, folder / "programs"
        self.programs.mkdir()
        (folder / "tests").mkdir()
        shutil.copy(ROOT / "pyproject.toml", folder)
        shutil.copy(ROOT / "tests" / "conftest.py", folder / "tests")

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def install(self, *commands: str) -> None:
        for command in commands:
            (self.programs / command).touch(mode=0o755)

    def run(self, *options: str) -> tuple[int, str]:
        environment = {k: v for k, v in os.environ.items() if k != "NECKARC_CHROMIUM"}
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-rA", *options],
            cwd=self.folder,
            env=environment | {"PATH": str(self.programs), "PYTHONPATH": str(self.folder)},
            capture_output=True,
            text=True,
        )
        return done.returncode, done.stdout + done.stderr


@pytest.fixture
def project(tmp_path: Path) -> Project:
    return Project(tmp_path)


@pytest.mark.parametrize("workers", [(), ("-n", "1")])
def test_without_any_program_the_tests_that_need_one_are_left_out(
    project: Project, workers: tuple[str, ...]
) -> None:
    project.write("tests/test_new.py", OUTSIDE)
    status, said = project.run(*workers)

    assert status == 0
    assert "1 passed" in said
    assert f"Left out, not on this machine: tests with {', '.join(PROGRAMS.values())}." in said


def test_with_one_program_its_tests_run(project: Project) -> None:
    project.write("tests/test_new.py", OUTSIDE)
    project.install("chromium")
    status, said = project.run()

    assert status == 0
    assert "PASSED tests/test_new.py::test_through_another_fixture" in said
    assert "2 passed, 1 deselected" in said


def test_where_all_are_required_a_missing_one_stops_the_run(project: Project) -> None:
    project.write("tests/test_new.py", OUTSIDE)
    project.install(*PROGRAMS.values())
    assert "3 passed in" in project.run("--require-all")[1]

    (project.programs / "librecad").unlink()
    status, said = project.run("--require-all")
    assert status == pytest.ExitCode.USAGE_ERROR
    assert "not on this machine: librecad" in said


def test_no_test_of_this_project_uses_a_program_it_does_not_ask_for(project: Project) -> None:
    """Without programs, nothing that is left of the desk's and readers' tests mentions one."""
    places = ("tests/workroom/desk", "tests/outside")
    environment = {k: v for k, v in os.environ.items() if k != "NECKARC_CHROMIUM"}
    listed = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-p", "no:cacheprovider", *places],
        cwd=ROOT,
        env=environment | {"PATH": str(project.programs)},
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    left = {line.split("::")[0] for line in listed.splitlines() if "::" in line}

    assert "tests/workroom/desk/test_pages.py" in left
    assert not [name for name in left if "playwright" in (ROOT / name).read_text(encoding="utf-8")]


@pytest.mark.parametrize(
    ("options", "failing"),
    [
        ((), {"some_library-UserWarning", "own-UserWarning"}),
        (
            ("--require-all",),
            {"some_library-UserWarning"}
            | {f"own-{kind}Warning" for kind in ("Deprecation", "Future", "User")},
        ),
    ],
)
def test_what_libraries_deprecate_stops_no_test(
    project: Project, options: tuple[str, ...], failing: set[str]
) -> None:
    """Every other warning does; in our own code deprecated calls too, where all is required."""
    project.install(*PROGRAMS.values())
    project.write("some_library.py", WARN)
    project.write("drafting/__init__.py", "")
    project.write("drafting/own.py", WARN)
    project.write("tests/test_new.py", WARNINGS)
    _, said = project.run(*options)

    failed = {line.split("[")[1].split("]")[0] for line in said.splitlines() if "FAILED" in line}
    assert failed == failing
