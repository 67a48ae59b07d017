"""An order from client card to finished folder: strung together here, once."""

from __future__ import annotations

import os

# The matrices of a draft are small: threads for them only get in each other's way, the more so
# where every core drafts an order of its own. Read when numpy is loaded, so it stands here.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
