"""Settings of the whole test run."""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-golden",
        action="store_true",
        help="Write the golden drawings anew; look at the pictures before you commit them.",
    )
