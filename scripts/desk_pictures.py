"""Draw the pictures of the desk in docs/desk: the newcomer's path of the browser tests, a
fitting and the collar on the neck, kept small.

Usage: python scripts/desk_pictures.py
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parent.parent
INTO = ROOT / "docs" / "desk"
TESTS = [
    f"tests/workroom/desk/test_{name}.py" for name in ("browser", "toile_page", "neck_turning")
]
WITH_PICTURES = "newcomers or failed_checks or seen_on_the_toile or turned_by_hand"
_COLOURS, _WIDTH = 64, 1200


def main() -> int:
    """Run the tests that leave pictures, then make the pictures small."""
    INTO.mkdir(parents=True, exist_ok=True)
    for old in INTO.glob("*.png"):
        old.unlink()
    tests = [sys.executable, "-m", "pytest", *TESTS, "-k", WITH_PICTURES]
    status = subprocess.call(tests, cwd=ROOT, env={**os.environ, "NECKARC_PICTURES": str(INTO)})
    for path in sorted(INTO.glob("*.png")):
        with Image.open(path) as shot:
            height = round(shot.height * _WIDTH / shot.width)
            small = shot.convert("RGB").resize((_WIDTH, height), Image.Resampling.LANCZOS)
        small.quantize(_COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)
        print(f"{path.relative_to(ROOT)}: {path.stat().st_size // 1000} kB")
    return status


if __name__ == "__main__":
    sys.exit(main())
