"""Settings of the whole test run, and the programs of others that some tests need.

A test that needs such a program asks for the fixture that finds it, directly or through another
fixture. Where the program is not there, every test that asks for it is left out, and the run says
so at its end; with --require-all the run stops instead.
"""

from __future__ import annotations

import os
import shutil

import pytest
from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")

#: The fixture of each program, and the command it is found by.
PROGRAMS = {
    "chromium": "chromium",
    "inkscape": "inkscape",
    "librecad": "librecad",
    "openscad": "openscad",
    "pdftocairo": "pdftocairo",
    "rsvg_convert": "rsvg-convert",
}
OURS = "(drafting|blocks|collars|workroom|scripts|tests)"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-golden",
        action="store_true",
        help="Write the golden drawings anew; look at the pictures before you commit them.",
    )
    parser.addoption(
        "--require-all",
        action="store_true",
        help="Leave nothing out: stop where a program is missing, and fail where our own code "
        "calls what a library has deprecated.",
    )


def pytest_configure(config: pytest.Config) -> None:
    if not config.getoption("--require-all"):
        return
    if missing := missing_programs():
        commands = ", ".join(missing.values())
        raise pytest.UsageError(f"--require-all: not on this machine: {commands}")
    for category in ("DeprecationWarning", "PendingDeprecationWarning", "FutureWarning"):
        config.addinivalue_line("filterwarnings", f"error::{category}:{OURS}")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    missing = missing_programs().keys()
    possible, impossible = [], []
    for item in items:
        asked = getattr(item, "fixturenames", ())
        (possible if missing.isdisjoint(asked) else impossible).append(item)
    items[:] = possible
    config.hook.pytest_deselected(items=impossible)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if missing := missing_programs():
        commands = ", ".join(missing.values())
        terminalreporter.write_line(f"Left out, not on this machine: tests with {commands}.")


def found(name: str) -> str | None:
    """Path of a program by the name of its fixture; NECKARC_CHROMIUM may name a browser."""
    named = os.environ.get("NECKARC_CHROMIUM") if name == "chromium" else None
    return named or shutil.which(PROGRAMS[name])


def missing_programs() -> dict[str, str]:
    """Fixture and command of each program that is not on this machine."""
    return {name: command for name, command in PROGRAMS.items() if not found(name)}


def _path(name: str) -> str:
    path = found(name)
    assert path is not None, f"{PROGRAMS[name]} is not on this machine"
    return path


@pytest.fixture(scope="session")
def chromium() -> str:
    return _path("chromium")


@pytest.fixture(scope="session")
def inkscape() -> str:
    return _path("inkscape")


@pytest.fixture(scope="session")
def librecad() -> str:
    return _path("librecad")


@pytest.fixture(scope="session")
def openscad() -> str:
    return _path("openscad")


@pytest.fixture(scope="session")
def pdftocairo() -> str:
    return _path("pdftocairo")


@pytest.fixture(scope="session")
def rsvg_convert() -> str:
    return _path("rsvg_convert")
