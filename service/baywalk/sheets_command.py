"""The command ``baywalk sheets``: every sheet of a loft, written into a folder."""

from __future__ import annotations

import argparse
import errno
from datetime import date
from typing import TYPE_CHECKING, Any

from baywalk import console

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from baywalk.fieldbook import Survey
    from baywalk.sheets import Source


def add(commands: Any) -> None:
    """Add the command to a parser's commands."""
    command = commands.add_parser("sheets", help="write the sheets of an as-built into a folder")
    command.add_argument("as_built", help="an as-built file, or - for standard input")
    command.add_argument("--plan", metavar="PLAN.json", help="its deck plan")
    command.add_argument("--capacity", metavar="CAPACITY.json", help="its load check")
    command.add_argument("--survey", metavar="SURVEY.json", help="its survey, for the record")
    command.add_argument(
        "--photos", metavar="DIR", type=console.folder, help="photos named by their SHA-256"
    )
    command.add_argument("--earlier", metavar="AS-BUILT.json", help="an as-built to compare with")
    command.add_argument(
        "--out", metavar="DIR", type=console.folder, required=True, help="where to write"
    )
    command.add_argument("--paper", default="A4", choices=("A4", "A3"), help="paper (A4)")
    command.add_argument("--units", default="mm", choices=("mm", "imperial"), help="lengths (mm)")
    command.add_argument("--date", type=_day, metavar="YYYY-MM-DD", help="day to print (today)")
    command.add_argument(
        "--address", default="http://127.0.0.1:8765", help="where the page is, for the labels"
    )
    command.set_defaults(run=run)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError("must be a day such as 2026-11-25") from None


def run(options: argparse.Namespace) -> int:
    """Write the sheets and name each file; return 0, or 2 where a file cannot be used.

    Raises OSError where one cannot be read or written.
    """
    from baywalk.fieldbook import BadSurvey
    from baywalk.sheets import BadGiven, head_of, write_all

    try:
        source = _source(options)
        # Which day it is where the person stands is what the paper should say.
        day = options.date or date.today()  # noqa: DTZ011 - the day on the wall, not a moment
        head = head_of(source, day, paper=options.paper, units=options.units)
        # Named once all are there: who stops reading the names shall have every sheet.
        names = list(write_all(source, head, options.out))
    except (BadGiven, BadSurvey) as problem:
        return console.refuse(problem)
    console.put("".join(f"{options.out / name}\n" for name in names))
    return 0


def _source(options: argparse.Namespace) -> Source:
    from baywalk.sheets import Source

    as_built = _file(options.as_built, "baywalk.as-built")
    plan = _file(options.plan, "baywalk.plan") if options.plan else None
    capacity = _file(options.capacity, "baywalk.capacity") if options.capacity else None
    earlier = _file(options.earlier, "baywalk.as-built") if options.earlier else None
    for name, part in (("plan", plan), ("capacity", capacity)):
        _check_same(name, as_built, part)
    survey = _survey(options.survey, as_built) if options.survey else None
    photo = _photos(options.photos) if options.photos else None
    return Source(as_built, plan, capacity, survey, photo, earlier, options.address)


def _file(name: str, form: str) -> dict[str, Any]:
    """Return a file that is sound; raise BadGiven with its name and the field where it is not."""
    from baywalk.fieldbook.errors import BadText
    from baywalk.fieldbook.text import parse
    from baywalk.sheets import BadGiven, sound

    try:
        return sound(parse(console.read(name)), form)
    except BadText as why:
        raise BadGiven(f"{name}: this file cannot be read: it is {why}.") from None
    except BadGiven as why:
        raise BadGiven(f"{name}: {why}") from None


def _check_same(name: str, as_built: dict[str, Any], part: dict[str, Any] | None) -> None:
    from baywalk.sheets import UNNAMED, BadGiven

    surveys = {as_built["survey"], (part or {}).get("survey")} - {None, UNNAMED}
    if len(surveys) > 1:
        raise BadGiven(f"the {name}, field 'survey': is of another survey than the as-built")


def _survey(name: str, as_built: dict[str, Any]) -> Survey:
    from baywalk.fieldbook import BadSurvey, load_survey
    from baywalk.sheets import UNNAMED, BadGiven

    try:
        survey = load_survey(console.read(name))
    except BadSurvey as why:
        raise BadGiven(f"{name}: {why}") from None
    if as_built["survey"] not in (survey.id, UNNAMED):
        raise BadGiven("the survey, field 'id': is another survey than that of the as-built")
    return survey


def _photos(folder: Path) -> Callable[[str], bytes | None]:
    """Return what gives a photo by its hash, whatever the end of its file's name is."""
    if not folder.is_dir():
        raise OSError(errno.ENOTDIR, "is no folder", str(folder))

    def photo(sha256: str) -> bytes | None:
        found = next(iter(sorted(folder.glob(f"{sha256}*"))), None)
        return found.read_bytes() if found else None

    return photo
