"""Pages for programmers from the docstrings, with pdoc (the extra "docs").

Usage: python scripts/api_docs.py [FOLDER]        default: build/api, not committed
"""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))
#: The front door, where there is one, and the rooms behind it.
MODULES = ("neckarc", "drafting", "blocks", "collars", "garment")


def modules() -> list[str]:
    """The modules of ``MODULES`` that are in this folder."""
    found = []
    for name in MODULES:
        spec = find_spec(name)
        if spec is not None and spec.origin and Path(spec.origin).is_relative_to(ROOT):
            found.append(name)
    return found


def main(arguments: list[str]) -> int:
    """Write the pages. 2 where pdoc is missing."""
    if find_spec("pdoc") is None:
        print('pdoc is missing. Install it: pip install ".[docs]"', file=sys.stderr)
        return 2
    import pdoc

    folder = Path(arguments[0]) if arguments else ROOT / "build" / "api"
    pdoc.render.configure(docformat="restructuredtext", show_source=False)
    pdoc.pdoc(*modules(), output_directory=folder)
    print(f"Pages written: {folder / 'index.html'}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
