"""How fast the desk is: from a keystroke to the new drawing, in a real browser, for every collar.

Each time is told beside that of an empty request in the same run, so that runs on busy and on idle
machines can be compared.

Usage: python scripts/bench.py [--times N] [--chromium PATH]
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path
from statistics import median, quantiles

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from playwright.sync_api import Page, sync_playwright

from collars.registry import COLLARS
from drafting.library import data_folder
from workroom.book.place import VARIABLE

BUST = "#f-measurements-bust_girth"
NOTHING = """async (times) => {
  const took = [];
  for (let n = 0; n < times; n += 1) {
    const sent = performance.now();
    await fetch('/nothing');
    took.push(performance.now() - sent);
  }
  return took;
}"""


def main() -> int:
    """Start a desk on an empty book, fit the demo client, and print a table."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--times", type=int, default=40, help="keystrokes for each collar")
    asked.add_argument(
        "--chromium", default=os.environ.get("NECKARC_CHROMIUM", "/usr/bin/chromium")
    )
    wish = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        desk = subprocess.Popen(
            [sys.executable, "-m", "workroom", "desk", "--no-browser"],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, VARIABLE: str(Path(folder) / "book.db"), "PYTHONUNBUFFERED": "1"},
        )
        try:
            assert desk.stdout is not None
            address = desk.stdout.readline().split()[-1]
            said = time.perf_counter() - began
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=wish.chromium, args=["--no-sandbox"]
                )
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                measured(page, address, wish.times, said)
                browser.close()
        finally:
            desk.terminate()
            desk.wait()
    return 0


def measured(page: Page, address: str, times: int, said: float) -> None:
    """Fit the demo client and print the table."""
    began = time.perf_counter()
    page.goto(address)
    shown = time.perf_counter() - began
    page.fill("#name", "Bench")
    page.click("text=Begin a fitting")
    demo = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
    for key, value in tomllib.loads(demo)["measurements"].items():
        page.fill(f"#f-measurements-{key}", str(value))
    page.wait_for_selector("#drawing svg")
    rows = []
    for kind in ("none", *COLLARS):
        page.check(f"input[name=kind][value='{kind}']")
        page.fill(BUST, "90")
        page.wait_for_timeout(400)
        took = [redrawn(page) for _ in range(times)]
        rows.append((kind, took, page.evaluate(NOTHING, times)))
    empty = median(one for _, _, nothing in rows for one in nothing)
    print(f"desk started in {said:.2f} s, first page shown {shown:.2f} s later")
    print(f"empty request: {empty:.1f} ms\n")
    print(f"{'collar':<20}{'middle':>10}{'p95':>10}{'p95 to an empty request':>26}")
    for kind, took, _ in rows:
        worst = quantiles(took, n=20)[-1]
        print(f"{kind:<20}{median(took):>7.1f} ms{worst:>7.1f} ms{worst / empty:>26.1f}")


def redrawn(page: Page) -> float:
    """One step of the bust, to one that was not drawn lately, so that nothing kept is of use;
    milliseconds from the keystroke to the drawing shown."""
    fitting = page.locator("#fitting")
    before = fitting.get_attribute("data-redrawn")
    page.locator(BUST).press("ArrowUp")
    while fitting.get_attribute("data-redrawn") == before:
        page.wait_for_timeout(5)
    return float(fitting.get_attribute("data-took") or 0.0)


if __name__ == "__main__":
    sys.exit(main())
