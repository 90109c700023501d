"""Write the reconciliation vectors: ``python -m tests.make_vectors``.

Each holds an invented survey and the as-built that this engine makes of it. The Python tests and
the page's own engine are both held to them.
"""

from __future__ import annotations

import json

from tests.vectors.cases import folder, vectors


def main() -> None:
    """Write every vector and take away files of vectors that are no more."""
    made = vectors()
    folder().mkdir(parents=True, exist_ok=True)
    for file in folder().glob("*.json"):
        if file.name not in made:
            file.unlink()
    for name, vector in made.items():
        text = json.dumps(vector, ensure_ascii=False, separators=(",", ":"))
        (folder() / name).write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
