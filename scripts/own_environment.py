"""Neckarc's own environment in ``.venv``, made with nothing but Python 3.11 or newer.

Used by demo.py and test.py. Written so that an older Python can still read it and be told.
"""

import hashlib
import os
import shutil
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
PLACE = os.path.join(ROOT, ".venv")
OLDEST = (3, 11)


def python():
    """Path of the environment's Python, whether it is there yet or not."""
    if os.name == "nt":
        return os.path.join(PLACE, "Scripts", "python.exe")
    return os.path.join(PLACE, "bin", "python")


def ready(extra=""):
    """Make the environment ready, with the packages of ``extra`` too; returns its Python.

    Leaves with exit status 1 and one clear message when that cannot be done.
    """
    if sys.version_info < OLDEST:
        _stop(
            "Neckarc needs Python %d.%d or newer; this is %d.%d. Get it at https://www.python.org"
            % (OLDEST + tuple(sys.version_info[:2]))
        )
    stamp = os.path.join(PLACE, "ready-%s.txt" % (extra or "plain"))
    wanted = _wanted()
    if os.path.exists(stamp) and os.path.exists(python()):
        with open(stamp, encoding="utf-8") as file:
            if file.read() == wanted:
                return python()
    print("Preparing Neckarc's own environment (the first time only, a minute or two) ...")
    sys.stdout.flush()
    _make()
    name = ".[%s]" % extra if extra else "."  # not ROOT: a folder's name may hold brackets
    install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", name]
    if subprocess.call([python()] + install, cwd=ROOT) != 0:
        _stop(
            "The packages Neckarc needs could not be installed (see above). The first time needs "
            "the internet; try again when it is there."
        )
    with open(stamp, "w", encoding="utf-8") as file:
        file.write(wanted)
    return python()


def _make():
    if _works():
        return
    # Also when its Python is gone: what is left of it would spoil the new one.
    shutil.rmtree(PLACE, ignore_errors=True)
    try:
        import venv

        venv.EnvBuilder(with_pip=True).create(PLACE)
    except (ImportError, OSError, subprocess.CalledProcessError) as error:
        shutil.rmtree(PLACE, ignore_errors=True)
        _stop(
            "Python could not make an environment: %s\nOn Debian and Ubuntu: "
            "sudo apt install python3-venv, then try again." % error
        )


def _works():
    works = [python(), "-c", "import sys, pip; sys.exit(sys.version_info < (3, 11))"]
    try:
        return subprocess.call(works, stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def _wanted():
    with open(os.path.join(ROOT, "pyproject.toml"), "rb") as file:
        seen = hashlib.sha256(file.read())
    seen.update(("%s %s" % (sys.version, ROOT)).encode("utf-8"))
    return seen.hexdigest()


def _stop(said):
    sys.stderr.write(said + "\n")
    sys.exit(1)
