"""Run every test. Needs nothing but Python 3.11 or newer: python3 scripts/test.py

What follows the command goes on to pytest: python3 scripts/test.py -k collar
"""

import os
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import own_environment


def main():
    """Make the environment ready and run pytest on every core."""
    python = own_environment.ready("test")
    tests = [python, "-m", "pytest", "-n", "auto"] + sys.argv[1:]
    # one thread a core: small matrices are no quicker with more (see workroom/__init__.py)
    environment = dict(os.environ, OPENBLAS_NUM_THREADS="1")
    return subprocess.call(tests, cwd=own_environment.ROOT, env=environment)


if __name__ == "__main__":
    sys.exit(main())
