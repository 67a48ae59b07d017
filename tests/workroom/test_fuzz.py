"""A short run of scripts/fuzz.py, and that it sees what it looks for. NECKARC_LONG=N tries N times
as many inputs, anew every time."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path

from tests.long import examples, times

SCRIPTS = Path(__file__).parents[2] / "scripts"


def ran(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words], cwd=SCRIPTS, capture_output=True, text=True, check=False
    )


def test_spoilt_input_is_drafted_or_refused_in_words(tmp_path: Path) -> None:
    """And a run that was stopped goes on where it was."""
    count = examples(90)
    seed = 1 if times() == 1 else random.randrange(10**9)
    for part in (count // 3, count):
        words = ("--count", str(part), "--seed", str(seed), "--state", str(tmp_path / "counts"))
        done = ran("fuzz.py", *words)
        assert done.returncode == 0, f"seed {seed}:\n{done.stdout}{done.stderr}"

    counts = json.loads((tmp_path / "counts").read_text(encoding="utf-8"))
    assert counts["done"] == sum(counts["ended"].values()) == count
    assert {ended.split(":")[1] for ended in counts["ended"]} >= {" drafted", " refused"}


LOOKS = """
import sys
from pathlib import Path
from fuzz_tries import Guard, Slow, Tries, _is_page, _is_svg, _no_number
ours = Path(sys.argv[1]) / "ours"
ours.mkdir()
guard = Guard(ours)

def beside():
    (ours / ".." / "beside").write_text("x")

def renamed():
    (ours / "a").write_text("x")
    (ours / "a").rename(ours.parent / "b")

def endless():
    while True:
        pass

def inside():
    (ours / "a").write_text("x")
    (ours / "a").rename(ours / "b")

for work in (beside, renamed, endless, inside, lambda: _is_svg(b"<svg><script/></svg>"),
             lambda: _is_page("<table><tr></tr><tr></tr><b>x</b></table>", 1),
             lambda: _no_number("NaN")):
    try:
        with guard.over(0.2):
            work()
        print("nothing")
    except (AssertionError, Slow) as error:
        print(type(error).__name__)
"""


def test_what_it_looks_for_is_seen(tmp_path: Path) -> None:
    told = ran("-c", LOOKS, str(tmp_path))

    assert told.stdout.split() == [
        *("AssertionError", "AssertionError", "Slow", "nothing"),
        *("AssertionError", "AssertionError", "AssertionError"),
    ], told.stderr
