"""Every rule of the schema's text on models of whole lofts, by IfcOpenShell.

    python -m tests.bench.model

Prints for each loft how many instances its model has and what was found; takes about a minute.
"""

from __future__ import annotations

import time

from baywalk.sheets import drawing
from tests.unit.sheets.test_model import LOFTS, faults, read

if __name__ == "__main__":
    for name, source in LOFTS.items():
        begun = time.perf_counter()
        model = read(drawing("courses", source(), "ifc"))
        found = faults(model, rules=True)
        taken = time.perf_counter() - begun
        print(f"{name}: {len(list(model))} instances, {len(found)} faults, {taken:.0f} s", *found)
