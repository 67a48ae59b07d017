"""``python -m workroom`` is the same as ``neckarc``."""

from workroom.commands import main

if __name__ == "__main__":
    main()
