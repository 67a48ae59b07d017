"""Small bugs put in by a machine, to see whether a test goes red at each.

Usage: python scripts/mutants.py [ROW ...] [--count N] [--seed N] [--again] [--place FOLDER]

Rows are those of ``ROWS`` below: modules, and the tests nearest to them. Of every module a seeded
random sample of the mutants that mutmut makes of it is tried: first against the tests of its row
that go through the changed function, and where all of those pass, against all tests of the row,
since what a test keeps for the next one hides who calls what. The work is done in copies of this
checkout in the place given (``.mutants``), which stay there to be looked at; one process, one core.
Prints figures by module and every survivor with what was changed. ``--again`` tries the survivors
of the last run once more, after tests were added. Needs the extra ``mutation``; not for Windows.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
#: What a copy needs besides the packages and the tests.
BESIDE = ("data", "docs", "scripts", "pyproject.toml", "README.md", "DEVELOPERS.md")
PACKAGES = ("drafting", "blocks", "collars", "garment", "workroom")


@dataclass(frozen=True)
class Row:
    """Modules that are tried together and the test files nearest to them, paths in the checkout."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]


ROWS = {
    "curves": Row(
        (
            "drafting/geometry/points.py",
            "drafting/geometry/curves.py",
            "drafting/geometry/spans.py",
            "drafting/geometry/closest_point.py",
        ),
        (
            "tests/drafting/test_points.py",
            "tests/drafting/test_curves.py",
            "tests/outside/test_arc_length.py",
        ),
    ),
    "cutting": Row(
        (
            "drafting/pieces/cutting.py",
            "drafting/pieces/piece.py",
        ),
        (
            "tests/drafting/test_cutting.py",
            "tests/drafting/test_pieces.py",
            "tests/drafting/test_sewn_edges.py",
            "tests/workroom/test_notches.py",
        ),
    ),
    "assembly": Row(
        ("drafting/pieces/assembly.py",),
        (
            "tests/drafting/test_assembly.py",
            "tests/drafting/test_sewn_edges.py",
            "tests/workroom/test_making.py",
        ),
    ),
    "nesting": Row(
        (
            "drafting/geometry/nesting.py",
            "workroom/papers/pages/laid_pieces.py",
            "workroom/papers/cloth/lay.py",
        ),
        (
            "tests/drafting/test_nesting.py",
            "tests/workroom/test_nesting.py",
            "tests/workroom/test_lay.py",
        ),
    ),
    "units": Row(
        ("drafting/units.py", "drafting/sentences.py"),
        (
            "tests/drafting/test_units.py",
            "tests/drafting/test_sentences.py",
            "tests/drafting/test_no_bare_centimetres.py",
            "tests/workroom/test_inches.py",
        ),
    ),
    "pages": Row(
        (
            "workroom/papers/pages/tiles.py",
            "workroom/papers/pages/plan.py",
            "workroom/papers/pages/tiled.py",
            "workroom/papers/pages/overview.py",
            "workroom/papers/pdf/pen.py",
        ),
        (
            "tests/workroom/test_tiled_pdf.py",
            "tests/workroom/test_right_to_left.py",
            "tests/outside/test_paper_sizes.py",
            "tests/outside/test_true_scale.py",
        ),
    ),
    "drawings": Row(
        (
            "workroom/papers/dxf/drawing.py",
            "workroom/papers/dxf/interchange.py",
            "workroom/papers/pictures/svg_pen.py",
        ),
        (
            "tests/workroom/test_dxf.py",
            "tests/workroom/test_pictures.py",
            "tests/outside/test_dxf_readers.py",
            "tests/outside/test_svg_scale.py",
        ),
    ),
}
SETTINGS = """
[tool.mutmut]
source_paths = {packages}
only_mutate = {modules}
also_copy = {beside}
pytest_add_cli_args = ["-n", "0", "-p", "no:cacheprovider", "-p", "no:warnings"]
pytest_add_cli_args_test_selection = {tests}
process_isolation = "forkserver"
track_dependencies = false
use_git_change_detection = false
timeout_multiplier = 2.0
timeout_constant = 10.0
"""
#: What is found to be wrong need not be made small: that may take longer than all tests.
NO_SHRINKING = """
from hypothesis import Phase
settings.register_profile(
    "found", settings.get_profile("steady"), phases=(Phase.explicit, Phase.generate)
)
settings.load_profile("found")
"""


def copied(name: str, row: Row, place: Path) -> Path:
    """A fresh copy of the checkout with mutmut's settings for one row."""
    folder = place / name
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for part in (*PACKAGES, *BESIDE, "tests"):
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("*.pyc"))
        else:
            shutil.copy2(ROOT / part, folder / part)
    asked = SETTINGS.format(
        packages=json.dumps(PACKAGES),
        modules=json.dumps(row.modules),
        beside=json.dumps([part for part in BESIDE if part != "pyproject.toml"]),
        tests=json.dumps(row.tests),
    )
    for file, more in (("pyproject.toml", asked), ("tests/conftest.py", NO_SHRINKING)):
        with (folder / file).open("a", encoding="utf-8") as end:
            end.write(more)
    return folder


def sample(folder: Path, module: str, count: int, seed: int) -> list[str]:
    """Names of so many mutants of a module, the same for the same code and seed."""
    from mutmut.mutation.file_mutation import mutate_file_contents

    os.chdir(folder)  # mutmut reads its settings where it stands
    made = mutate_file_contents(module, (folder / module).read_text(encoding="utf-8"))
    dotted = module.removesuffix(".py").replace("/", ".")
    names = sorted(f"{dotted}.{name}" for name in made.mutant_names)
    return sorted(random.Random(f"{seed} {module}").sample(names, min(count, len(names))))


def run(folder: Path, names: Iterable[str]) -> None:
    """Mutmut on these mutants; what it says goes to a file beside them."""
    with (folder / "said.txt").open("w", encoding="utf-8") as said:
        command = [sys.executable, "-c", "from mutmut.__main__ import cli; cli()", "run"]
        command += ["--max-children", "1", *names]
        subprocess.run(command, cwd=folder, stdout=said, stderr=said, check=False)


def codes(folder: Path, module: str) -> dict[str, int | None]:
    """How pytest ended for each mutant of a module."""
    meta = folder / "mutants" / f"{module}.meta"
    found: dict[str, int | None] = json.loads(meta.read_text("utf-8"))["exit_code_by_key"]
    return found


def not_yet(folder: Path, name: str) -> list[str]:
    """The tests of the row that mutmut did not try on a mutant."""
    kept = json.loads((folder / "mutants" / "mutmut-stats.json").read_text("utf-8"))
    done = kept["tests_by_mangled_function_name"].get(name.partition("__mutmut_")[0], ())
    return sorted(set(kept["duration_by_test"]) - set(done))


def survives(folder: Path, name: str, tests: Sequence[str]) -> bool:
    """Whether every test passes with a mutant at work."""
    if not tests:
        return True
    inside = folder / "mutants"
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider"]
    environment = dict(os.environ, MUTANT_UNDER_TEST=name, PYTHONPATH=str(inside))
    try:
        done = subprocess.run(
            [*command, *tests], cwd=inside, env=environment, capture_output=True, timeout=900
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def shown(folder: Path, name: str) -> str:
    """What a mutant changes."""
    command = [sys.executable, "-c", "from mutmut.__main__ import cli; cli()", "show", name]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True).stdout


def tried(name: str, row: Row, place: Path, count: int, seed: int) -> dict[str, list[str]]:
    """Sample and survivors of one row: module to survivors, kept in the place for ``--again``."""
    from mutmut.stats import status_by_exit_code

    folder = copied(name, row, place)
    names = {module: sample(folder, module, count, seed) for module in row.modules}
    run(folder, [each for some in names.values() for each in some])
    account = {}
    for module, some in names.items():
        found = codes(folder, module)
        ends = {each: status_by_exit_code[found[each]] for each in some}
        slow = [each for each, end in ends.items() if end == "timeout"]
        left = [each for each, end in ends.items() if end not in ("killed", "timeout")]
        left = [each for each in left if survives(folder, each, not_yet(folder, each))]
        account[module] = left
        print(
            f"{module:42} tried {len(some):3}  survived {len(left):3}  ended by time {len(slow)}",
            *(f"\n  by time: {each}" for each in slow),
            flush=True,
        )
    (folder / "survivors.json").write_text(json.dumps(account, indent=1), encoding="utf-8")
    return account


def again(name: str, row: Row, place: Path) -> dict[str, list[str]]:
    """Those survivors of the last run that survive the tests as they are now."""
    folder = place / name
    last = json.loads((folder / "survivors.json").read_text("utf-8"))
    for test in row.tests:
        shutil.copy2(ROOT / test, folder / "mutants" / test)
    if not survives(folder, "", row.tests):
        raise SystemExit(f"{name}: these tests fail on that run's code as it is; run it anew.")
    account = {
        module: [each for each in names if survives(folder, each, row.tests)]
        for module, names in last.items()
    }
    for module, names in account.items():
        print(f"{module:42} survived {len(last[module]):3}, now {len(names):3}", flush=True)
    return account


def main() -> int:
    """Run it; exit 1 where a mutant survives."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rows", nargs="*", choices=[[], *ROWS], help="which rows; all without")
    parser.add_argument("--count", type=int, default=20, help="mutants of a module")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", action="store_true", help="only the last run's survivors")
    parser.add_argument("--place", type=Path, default=ROOT / ".mutants")
    asked = parser.parse_args()
    place = asked.place.resolve()
    survivors = 0
    for name in asked.rows or ROWS:
        row = ROWS[name]
        if asked.again:
            account = again(name, row, place)
        else:
            account = tried(name, row, place, asked.count, asked.seed)
        for each in (each for names in account.values() for each in names):
            survivors += 1
            print(shown(place / name, each), flush=True)
    print(f"{survivors} survived")
    return 1 if survivors else 0


if __name__ == "__main__":
    sys.exit(main())
