"""No window pops up on the tester's desktop, unless a screen plug-in is asked for by name."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
