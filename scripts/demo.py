"""Draft the demo client. Needs nothing but Python 3.11 or newer: python3 scripts/demo.py"""

import os
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import own_environment


def main():
    """Make the environment ready, draft, and say where the folder is."""
    python = own_environment.ready()
    root = own_environment.ROOT
    card = os.path.join(root, "data", "clients", "demo.toml")
    folder = os.path.join(root, "orders")
    draft = ["-m", "workroom", "draft", card, "--into", folder, "--dxf", "all"]
    status = subprocess.call([python] + draft)
    if status == 0:
        print("Open pieces.png there first; drawing.dxf opens in any CAD.")
        print("The card it was drafted from: %s" % card)
    return status


if __name__ == "__main__":
    sys.exit(main())
