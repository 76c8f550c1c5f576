"""The window: shows what `core` answers, and sends edits to the one session object."""

import os

# Our matrices are small: a second thread of the linear algebra only spins beside the window, 0.1 s of it at the start.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
