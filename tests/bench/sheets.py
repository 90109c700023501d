"""How long the sheets of an ordinary loft take: ``python -m tests.bench.sheets``."""

from __future__ import annotations

import json
import subprocess
import sys
import time

from baywalk.sheets import drawing, make, possible
from baywalk.sheets.catalogue import KINDS
from tests import sheet_sources

FIRST = """
import time
start = time.process_time()
from baywalk.sheets import Source, head_of, make, sound
import datetime, json, sys
source = Source(sound(json.load(sys.stdin), "baywalk.as-built"))
sheet = make("as-built", source, head_of(source, datetime.date(2026, 11, 25)))
sheet.pdf()
print(time.process_time() - start)
"""


def first() -> float:
    """Return what a fresh start takes to the first sheet, the best of three [s of one core]."""
    text = json.dumps(sheet_sources.demo().as_built)
    command = [sys.executable, "-c", FIRST]
    runs = [
        subprocess.run(command, input=text, capture_output=True, text=True, check=True)
        for _ in range(3)
    ]
    return min(float(run.stdout) for run in runs)


def main() -> None:
    """Print the times."""
    source = sheet_sources.demo()
    head = sheet_sources.head(source)
    print(f"first sheet from a fresh start: {first():.2f} s of one core")
    total = 0.0
    for name in possible(source):
        start = time.process_time()
        sheet = make(name, source, head)
        sheet.pdf()
        for page in range(1, len(sheet.pages) + 1):
            sheet.svg(page)
        sheet.csv()
        forms = [form for form in ("dxf", "json") if form in KINDS[name].forms]
        for form in forms:
            drawing(name, source, form)
        took = time.process_time() - start
        total += took
        print(f"{name:>12}  {len(sheet.pages):2} pages  {took:.2f} s")
    print(f"all sheets in all forms: {total:.2f} s of one core")


if __name__ == "__main__":
    main()
