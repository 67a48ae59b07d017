"""The two commands of the README: they make their environment once, and say what is wrong."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from workroom.batch.table import open_table

SCRIPTS = Path(__file__).parents[2] / "scripts"


class Calls:
    """Stands for ``subprocess.call``: notes every command and answers with a set exit status."""

    def __init__(self) -> None:
        self.installs: list[list[str]] = []
        self.pip_status = 0

    def __call__(self, command: list[str], **_: Any) -> int:
        if "pip" in command:
            self.installs.append(command)
            return self.pip_status
        return 0


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module over a checkout of its own, whose environment is there but not filled."""
    spec = importlib.util.spec_from_file_location("own", SCRIPTS / "own_environment.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "ROOT", str(tmp_path))
    monkeypatch.setattr(module, "PLACE", str(tmp_path / ".venv"))
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    python = Path(module.python())
    python.parent.mkdir(parents=True)
    python.touch()
    return module


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Calls:
    made = Calls()
    monkeypatch.setattr(subprocess, "call", made)
    return made


@pytest.mark.parametrize("name", ["demo", "test", "own_environment"])
def test_an_old_python_can_read_the_scripts(name: str) -> None:
    text = (SCRIPTS / f"{name}.py").read_text(encoding="utf-8")

    assert text.isascii()
    ast.parse(text, feature_version=(3, 4))
    assert not [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.JoinedStr)]


def test_an_old_python_is_told(
    own: ModuleType,
    calls: Calls,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 9, "final", 0))
    with pytest.raises(SystemExit) as left:
        own.ready()

    assert left.value.code == 1
    assert "needs Python 3.11 or newer; this is 3.10." in capsys.readouterr().err
    assert calls.installs == []


def test_packages_are_installed_once(
    own: ModuleType, calls: Calls, capsys: pytest.CaptureFixture[str]
) -> None:
    assert own.ready("test") == own.python()
    assert calls.installs[0][-2:] == ["-e", ".[test]"]
    assert capsys.readouterr().out.startswith("Preparing")

    assert own.ready("test") == own.python()
    assert len(calls.installs) == 1
    assert capsys.readouterr().out == ""


def test_what_the_other_command_needs_is_installed_too(own: ModuleType, calls: Calls) -> None:
    own.ready("test")
    own.ready()
    assert [command[-1] for command in calls.installs] == [".[test]", "."]


def test_changed_needs_are_installed_again(own: ModuleType, calls: Calls, tmp_path: Path) -> None:
    own.ready()
    (tmp_path / "pyproject.toml").write_text("[project]\ndependencies = []\n")
    own.ready()
    assert len(calls.installs) == 2


def test_without_the_network_it_says_so_and_tries_again(
    own: ModuleType, calls: Calls, capsys: pytest.CaptureFixture[str]
) -> None:
    calls.pip_status = 1
    with pytest.raises(SystemExit) as left:
        own.ready()
    assert left.value.code == 1
    assert "needs the internet" in capsys.readouterr().err.replace("\n", " ")

    calls.pip_status = 0
    own.ready()
    assert len(calls.installs) == 2


@pytest.mark.parametrize(
    "error", [ImportError("No module named venv"), subprocess.CalledProcessError(1, "ensurepip")]
)
def test_without_venv_it_says_what_to_install(
    own: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: Exception,
) -> None:
    def no_venv(*_: Any, **__: Any) -> None:
        raise error

    # The Python that is there is an empty file, so it does not run.
    monkeypatch.setattr("venv.EnvBuilder.create", no_venv)
    with pytest.raises(SystemExit) as left:
        own.ready()

    assert left.value.code == 1
    assert "sudo apt install python3-venv" in capsys.readouterr().err
    assert not Path(own.PLACE).exists()


def test_a_broken_environment_is_made_anew(
    own: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    left_over = tmp_path / ".venv" / "left over"
    left_over.touch()
    made: list[str] = []

    def create(_: Any, place: str) -> None:
        assert not left_over.exists()
        made.append(place)
        Path(own.python()).parent.mkdir(parents=True)
        # From here on the environment works.
        monkeypatch.setattr(subprocess, "call", Calls())

    monkeypatch.setattr("venv.EnvBuilder.create", create)
    own.ready()
    assert made == [own.PLACE]


def test_a_table_of_invented_bodies_is_the_same_for_the_same_seed(tmp_path: Path) -> None:
    made = []
    for name, seed in (("a", "1"), ("b", "1"), ("c", "2")):
        path = tmp_path / f"{name}.csv"
        command = [sys.executable, str(SCRIPTS / "orders.py"), "5", str(path), "--seed", seed]
        assert subprocess.run(command, check=False).returncode == 0
        made.append(path.read_bytes())
        assert open_table(path).count == 5

    assert made[0] == made[1]
    assert made[0] != made[2]


def test_a_survey_is_studied_and_lengths_are_measured(tmp_path: Path) -> None:
    names = "neckcircumference,neckcircumferencebase,chestcircumference,waistcircumference,"
    names += "buttockcircumference,shoulderlength,interscyeii,wristcircumference,waistbacklength,"
    names += "stature"
    rows = [f"330,{370 + k},{900 + 9 * k},780,990,{140 + k},360,155,430,1650" for k in range(5)]
    path = tmp_path / "survey.csv"
    path.write_text("\n".join((names, *rows)) + "\n", encoding="utf-8")
    said = []
    for name, *options in (
        ("population", str(path), "--fast"),
        ("bench_lengths",),
    ):
        command = [sys.executable, str(SCRIPTS / f"{name}.py"), *options]
        done = subprocess.run(command, check=False, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        said.append(done.stdout)

    assert said[0].count("drafted 5, refused 0") == 2
    assert "quad agrees to" in said[1]


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are watched by /proc")
def test_a_batch_is_killed_and_compared() -> None:
    words = ["--batches", "1", "--rows", "2"]
    done = subprocess.run(
        [sys.executable, str(SCRIPTS / "kill_batches.py"), *words],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stdout + done.stderr
    assert "killed 1 times" in done.stdout
    assert "2 orders there, 8 files compared, 0 things wrong" in done.stdout


def test_no_page_of_the_docs_shows_a_value_that_nobody_wrote_out() -> None:
    """Sentences carry lengths as values between two signs; a page has them written out."""
    root = Path(__file__).parents[2]
    pages = [root / "README.md", *sorted((root / "docs").glob("*.md"))]

    assert len(pages) > 5
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert not {"\ufdd0", "\ufdd1"} & set(text), page.name
