"""``baywalk`` as the tests start it: what it mints and says is noted (``heard``).

And what several of them would make of the same page is made once (``packing``).
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

_HERE = Path(__file__).resolve()
# No module is to be found beside this file. A checkout under test may come before the house's own.
sys.path = [*(place for place in sys.path if Path(place) != _HERE.parent), str(_HERE.parents[2])]

if __name__ in ("__main__", "__mp_main__"):
    # The process that answers phones begins anew, with this file as its own.
    importlib.import_module("tests.support.heard").listening().__enter__()
    importlib.import_module("tests.support.packing").share()
if __name__ == "__main__":
    sys.exit(importlib.import_module("baywalk.cli").main())
