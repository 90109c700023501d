"""As-built, load check and plan as sheets on paper, and as files for other tools.

In the order in which a sheet comes about: ``given`` (what is read), ``shape`` and ``plan_parts``
(what is drawn of it), ``letters``, ``ink``, ``paper``, ``view``, ``dims`` and ``table`` (how it is
drawn), one module a sheet, ``catalogue`` (all of them by name), ``svg`` and ``pdf`` (how they are
written), ``exchange`` (drawings for other tools), ``files`` (all sheets into a folder).
"""

from baywalk.sheets.catalogue import DRAWN, FORMS, KINDS, Sheet, Source, drawing, make, possible
from baywalk.sheets.files import head_of, write_all
from baywalk.sheets.filled import UNNAMED
from baywalk.sheets.given import BadGiven, sound
from baywalk.sheets.lengths import UNITS
from baywalk.sheets.paper import PAPERS, Head

__all__ = [
    "DRAWN",
    "FORMS",
    "KINDS",
    "PAPERS",
    "UNITS",
    "UNNAMED",
    "BadGiven",
    "Head",
    "Sheet",
    "Source",
    "drawing",
    "head_of",
    "make",
    "possible",
    "sound",
    "write_all",
]
