"""The field book: entries, their schema, the store and the sync.

In the order in which they happen: ``text`` (JSON in), ``head`` and ``entry`` (what is sound),
``store`` and ``photos`` (what is kept), ``fold`` (what it amounts to), ``survey`` (how it is read).
"""

from baywalk.fieldbook.errors import BadSurvey
from baywalk.fieldbook.fingerprint import fingerprint
from baywalk.fieldbook.fold import fold
from baywalk.fieldbook.load import load_survey
from baywalk.fieldbook.survey import Run, Survey

__all__ = ["BadSurvey", "Run", "Survey", "fingerprint", "fold", "load_survey"]
