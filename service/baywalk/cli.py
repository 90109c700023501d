"""The command line: ``baywalk serve | demo | reconcile | capacity | plan | sheets``."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from baywalk import console, places, sheets_command

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


NOT_SOUND = 1
STOPPED = 130
"""The exit code of what Ctrl-C ended: 128 and the number of the signal, as shells have it."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    0: done. 1: a plan is printed that breaks a rule, and each rule is named. 2: bad input or
    arguments, or refused.
    """
    try:
        console.begin()
        options = _parser().parse_args(argv)
        return int(options.run(options))
    except BrokenPipeError:
        # The reader has seen enough, as ``head`` does; say nothing more.
        console.let_go(sys.stdout)
        return 0
    except OSError as problem:
        console.let_go(sys.stdout)
        return console.refuse(problem)
    except KeyboardInterrupt:
        return STOPPED


class _Parser(argparse.ArgumentParser):
    """A parser that says in one line what is wrong, as every refusal here does."""

    def error(self, message: str) -> NoReturn:
        """End with that line and the code 2."""
        self.exit(console.BAD_INPUT, f"{self.prog}: {message}\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="baywalk",
        description="Walk a loft bay by bay; come down with a survey you can trust.",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_serve(commands)
    _add_pair(commands)
    _add_certificates(commands)
    _add_backup(commands)
    _add_demo(commands)
    _add_reconcile(commands)
    _add_capacity(commands)
    _add_plan(commands)
    sheets_command.add(commands)
    return parser


# --- serve ------------------------------------------------------------------------------------


def _add_serve(commands: Any) -> None:
    serve = commands.add_parser("serve", help="start the service on this machine")
    serve.add_argument("--port", type=_port, default=8765, help="port on 127.0.0.1 (8765; 0: free)")
    _add_store(serve)
    serve.add_argument("--demo", action="store_true", help="put the invented demo loft in")
    serve.add_argument("--phone", action="store_true", help="let phones on the network in, paired")
    serve.add_argument(
        "--phone-port", type=_port, default=8766, help="port for phones, HTTPS (8766; 0: free)"
    )
    serve.add_argument(
        "--address", help="this machine's address on the network, where it has several"
    )
    serve.add_argument("--behind", metavar="URL", help="the public address of a proxy before it")
    serve.set_defaults(run=_serve)


def _add_store(command: Any) -> None:
    command.add_argument(
        "--data", type=console.folder, help="folder of the database and the photos"
    )
    command.add_argument("--database", help="URL of a database other than SQLite in that folder")


def _port(text: str) -> int:
    """Return a port that can be asked for; 0 is any that is free."""
    if not (text.isascii() and text.isdigit()) or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"must be a port from 0 to 65535, not {text[:20]!r}")
    return int(text)


def _data(options: argparse.Namespace) -> Path:
    import platformdirs

    return options.data or Path(platformdirs.user_data_dir("baywalk", appauthor=False))


def _serve(options: argparse.Namespace) -> int:
    from baywalk.http import Config, Wanted, serve

    config = Config(_data(options), options.database, options.port, options.demo)
    wanted = Wanted(options.phone_port, options.address, options.behind)
    return serve(config, wanted if options.phone or options.behind is not None else None)


# --- phones -----------------------------------------------------------------------------------


def _add_pair(commands: Any) -> None:
    pair = commands.add_parser("pair", help="show a code that pairs a phone, while it is served")
    _add_store(pair)
    pair.set_defaults(run=_pair)


def _pair(options: argparse.Namespace) -> int:
    from baywalk.http.phones import commands

    return commands.pair(_data(options), options.database)


def _add_certificates(commands: Any) -> None:
    command = commands.add_parser("certificates", help="the certificates that phones trust")
    command.add_argument("what", choices=["show", "renew", "remove"], help="what to do with them")
    command.add_argument(
        "--data", type=console.folder, help="folder of the database and the photos"
    )
    command.set_defaults(run=_certificates)


def _certificates(options: argparse.Namespace) -> int:
    from baywalk.http.phones import commands

    return commands.certificates(options.what, _data(options))


# --- backup -----------------------------------------------------------------------------------


def _add_backup(commands: Any) -> None:
    taken = commands.add_parser("backup", help="take a whole backup, also while it runs")
    taken.add_argument("file", type=Path, help="the file to write")
    _add_store(taken)
    taken.set_defaults(run=_backup)
    back = commands.add_parser("restore", help="put a backup back, also while it runs")
    back.add_argument("file", type=Path, help="a file that backup wrote")
    _add_store(back)
    back.set_defaults(run=_restore)


def _backup(options: argparse.Namespace) -> int:
    from baywalk.http import keeping

    return keeping.take(options.file, _data(options), options.database)


def _restore(options: argparse.Namespace) -> int:
    from baywalk.http import keeping

    return keeping.put_back(options.file, _data(options), options.database)


# --- demo and reconcile -----------------------------------------------------------------------


def _add_demo(commands: Any) -> None:
    demo = commands.add_parser("demo", help="reconcile the invented demo loft and say what it is")
    demo.set_defaults(run=_demo)


def _demo(_: argparse.Namespace) -> int:
    from baywalk import terminal

    as_built = _reconciled((places.fixtures() / "demo-loft.json").read_bytes())
    console.put(terminal.report(as_built))
    return 0


def _add_reconcile(commands: Any) -> None:
    command = commands.add_parser("reconcile", help="print the as-built of a survey file")
    command.add_argument("survey", help="a survey file, or - for standard input")
    command.set_defaults(run=_reconcile)


def _reconcile(options: argparse.Namespace) -> int:
    from baywalk.fieldbook import BadSurvey

    try:
        as_built = _reconciled(console.read(options.survey))
    except BadSurvey as problem:
        return console.refuse(problem)
    console.put_json(as_built)
    return 0


def _reconciled(text: bytes) -> dict[str, Any]:
    from baywalk.fieldbook import load_survey
    from baywalk.reconcile import reconcile

    survey = load_survey(text)
    readings = len(survey.entries)
    # A run this long takes seconds; a terminal should not look dead.
    if readings > 5000 and sys.stderr.isatty():
        sys.stderr.write(f"Adjusting {readings} entries …\n")
    return reconcile(survey)


# --- capacity ---------------------------------------------------------------------------------

_ASKED = {
    "use": "storage, occasional or domestic (storage)",
    "dead": "all permanent load, joists included, in kN/m²; else it is built from layers",
    "imposed": "your own imposed load in kN/m² in place of the use's",
    "point": "your own load on one spot in kN in place of the use's",
    "ceiling": "plaster, plasterboard, none or unknown (unknown)",
    "strutting": "yes, no or unknown (unknown)",
    "deck": "thickness of the boards in mm; else what the centres need",
    "service-class": "1, 2 or 3 (2, a cold loft)",
    "partition": "along or across the joists, and its weight in kN a metre, such as along,0.9",
    "roof": "answers about the roof, such as trussed=no,ties=unknown",
}


def _add_capacity(commands: Any) -> None:
    command = commands.add_parser("capacity", help="print the load check of an as-built file")
    command.add_argument("as_built", help="an as-built file, or - for standard input")
    # Every option is read as a text, so that a bad one is one line that names it.
    for name, words in _ASKED.items():
        command.add_argument(f"--{name}", help=words)
    command.add_argument(
        "--thing",
        action="append",
        help="a thing put on the floor: bath,mass=300,width=700,length=1700,x=1200,y=900",
    )
    command.set_defaults(run=_capacity)


def _capacity(options: argparse.Namespace) -> int:
    from baywalk import rules
    from baywalk.capacity import BadCapacityInput, capacity, load_as_built, read_setting

    names = [name.replace("-", "_") for name in _ASKED]
    given = {name: [value] for name in names if (value := getattr(options, name)) is not None}
    given |= {"thing": options.thing} if options.thing else {}
    try:
        setting = read_setting(given, rules.load())
        checked = capacity(load_as_built(console.read(options.as_built)), setting)
    except BadCapacityInput as problem:
        return console.refuse(problem)
    console.put_json(checked)
    return 0


# --- plan -------------------------------------------------------------------------------------


def _add_plan(commands: Any) -> None:
    command = commands.add_parser("plan", help="print the deck plan of an as-built file")
    command.add_argument("as_built", help="an as-built file, or - for standard input")
    command.add_argument("--plan", metavar="FILE", help="an earlier plan to go on from")
    command.add_argument("--laid", metavar="FILE", help="what is laid of it, and where it landed")
    for name, shown, words in _PLAN_CHOICES:
        command.add_argument(f"--{name}", metavar=shown, help=words)
    command.add_argument(
        "--price", action="append", default=[], metavar="NAME=N", help="your own price, as board=14"
    )
    command.add_argument(
        "--anyway", action="store_true", help="go on with a survey that is not settled"
    )
    command.set_defaults(run=_plan)


_PLAN_CHOICES = (
    ("deck", "MM", "thickness of the boards (by the rules)"),
    ("use", "USE", "storage, occasional or domestic (occasional)"),
    ("gap", "MM", "expansion gap at walls (by the rules)"),
    ("start-wall", "EDGE", "edge laid first: near or far (near)"),
    ("first", "HOW", "first course: auto, full or equal (auto)"),
    ("board", "LxW", "cover length and width of the boards, as 2400x600"),
    ("stock", "MM,MM", "lengths of timber to cut noggins from"),
    ("had", "N", "boards of that size that are there already"),
    ("roof", "ROOF", "where joists are cut: unknown, free, tied or trussed (unknown)"),
    (
        "hatch",
        "AxL",
        "a new opening, across and along the joists, in its best place",
    ),
    ("zone", "ZONE", "where: x0,y0,x1,y1, or joist,face,line,across,along,width,length (anywhere)"),
    ("time", "S", "seconds for the layout"),
)


def _plan(options: argparse.Namespace) -> int:
    from baywalk.fieldbook.errors import BadText
    from baywalk.planning import BadAsBuilt, BadAsLaid, BadChoice, BadEarlier, Refused, failed

    try:
        made = _planned(options)
    except (BadAsBuilt, BadAsLaid, BadChoice, BadEarlier, BadText, Refused) as problem:
        return console.refuse(problem)
    faults = failed(made)
    changes = made.get("changes", {"say": []})["say"]
    for told in [*made["told"], *changes, *(f"Not kept: {say}" for say in faults)]:
        console.say(told)
    console.put_json(made)
    return NOT_SOUND if faults else 0


def _planned(options: argparse.Namespace) -> dict[str, Any]:
    from baywalk.planning import BadAsLaid, plan, plan_again, read_choices

    as_built = _parsed(options.as_built)
    asked = _asked(options)
    if options.plan is None:
        if options.laid is not None:
            raise BadAsLaid("--laid: needs the plan that was laid by, --plan FILE")
        return plan(as_built, read_choices(asked), progress=_progress())
    laid = None if options.laid is None else _parsed(options.laid)
    return plan_again(as_built, _parsed(options.plan), laid, asked, progress=_progress())


def _parsed(name: str) -> Any:
    """Return a file's JSON; raise OSError or BadText, each with its name."""
    from baywalk.fieldbook.errors import BadText
    from baywalk.fieldbook.text import parse

    try:
        return parse(console.read(name))
    except BadText as why:
        raise BadText(f"{name}: this file cannot be read: it is {why}.") from None


def _asked(options: argparse.Namespace) -> dict[str, list[str]]:
    """Return the choices given on the command line, by the names that an address has for them."""
    names = [name.replace("-", "_") for name, _, _ in _PLAN_CHOICES]
    asked = {name: [getattr(options, name)] for name in names if getattr(options, name) is not None}
    for text in options.price:
        name, _, value = text.partition("=")
        asked.setdefault(f"price.{name.strip()}", []).append(value)
    return asked | ({"anyway": ["1"]} if options.anyway else {})


def _progress() -> Callable[[float, float], bool] | None:
    """Return what draws the progress on a terminal; None where nobody is looking."""
    if not sys.stderr.isatty():
        return None
    from baywalk.terminal import Bar

    return Bar(sys.stderr).show


if __name__ == "__main__":
    sys.exit(main())
