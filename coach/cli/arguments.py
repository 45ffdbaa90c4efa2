"""The commands and their options. Each command's module is imported only when it runs."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from coach import __version__
from coach.cli.debrief_arguments import add_debrief
from coach.cli.drill_arguments import add_drill_files
from coach.cli.surprise_arguments import add_surprises
from coach.page.addresses import PORT as PAGE_PORT
from coach.rehearsal.habits import HUMAN
from coach.rehearsal.learners import LearnerKind
from coach.session.mastery import Step
from coach.settings import FORMS

TAKE_NEGATIVE = ("--station", "--set", "--near", "--error")
"""Options whose value may begin with a minus sign, such as a southern latitude."""

STATION_HELP = (
    "LAT,LON,DECLINATION in degrees, east and north positive; or the ident of a station of your table: "
    "ABC, or ABC@LAT,LON where several share it"
)
SETTING_HELP = "settings (each can stand in the settings file too)"


class _Parser(argparse.ArgumentParser):
    """Tells what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}. See {self.prog} --help\n")


def join_negative_values(argv: Sequence[str]) -> list[str]:
    """`--station -31.9,…` as typed: argparse would take the value for an option."""
    joined: list[str] = []
    for argument in argv:
        if joined and joined[-1] in TAKE_NEGATIVE:
            joined[-1] = f"{joined[-1]}={argument}"
        else:
            joined.append(argument)
    return joined


def build_parser() -> argparse.ArgumentParser:
    """The whole command line."""
    parser = _Parser(prog="coach", description="A voice-prompted cockpit drill coach.", epilog=_EPILOG)
    parser.add_argument("--version", action="version", version=f"coach {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _add_list(commands)
    _add_brief(commands)
    _add_rehearse(commands)
    _add_fly(commands)
    _add_check(commands)
    _add_feed(commands)
    _add_station(commands)
    add_drill_files(commands, _command)
    add_debrief(commands, _command, STATION_HELP)
    return parser


_EPILOG = (
    "A training aid, not for navigation. "
    "The pilot in command, ATC and the aircraft's own instruments come first."
)


def _command(commands: Any, name: str, module: str, help_text: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=help_text, description=f"{help_text}.")
    parser.set_defaults(run=_runner(module))
    return parser


def _runner(module: str) -> Callable[[argparse.Namespace], int]:
    def run(options: argparse.Namespace) -> int:
        return int(importlib.import_module(f"coach.cli.{module}").run(options))

    return run


def _add_list(commands: Any) -> None:
    parser = _command(commands, "list", "listing", "Name the drills that come with the coach")
    _add_json(parser)


def _add_brief(commands: Any) -> None:
    parser = _command(commands, "brief", "brief", "Work a drill out for a station, a wind and a speed")
    _add_drill(parser)
    parser.add_argument(
        "--card", metavar="FILE", help="draw the card on an A5 sheet: a name ending in .pdf, .svg or .png"
    )
    parser.add_argument("--wide", action="store_true", help="with --card: wide and dark, for a tablet")
    parser.add_argument("--height-ft", metavar="FT", help=FORMS["height_ft"][1])
    parser.add_argument(
        "--containment",
        action="store_true",
        help="fly it in 10,000 random winds: the radius that holds 99 of 100 flights",
    )
    parser.add_argument("--wind-up-to", metavar="KT", help="with --containment: the strongest wind (25)")
    parser.add_argument("--aloud", action="store_true", help="read it by the coach's voice; Ctrl-C stops")
    parser.add_argument("--audio", metavar="FILE.wav", help="with --aloud: into a file, not on the speaker")
    _add_json(parser)


def _add_rehearse(commands: Any) -> None:
    parser = _command(
        commands,
        "rehearse",
        "rehearse",
        "Let a simulated pilot fly a drill by voice, as fast as the machine can",
    )
    _add_drill(parser)
    parser.add_argument(
        "--seed", type=int, default=1, metavar="N", help="another flight for another number (1)"
    )
    parser.add_argument(
        "--cabin",
        type=float,
        default=20.0,
        metavar="SNR_DB",
        help="the pilot's voice above the cabin noise (20)",
    )
    parser.add_argument(
        "--audio", metavar="OUT.wav", help="write the sound: left the coach, right the microphone"
    )
    parser.add_argument(
        "--loudspeaker",
        action="store_true",
        help="no headset: the microphone hears the coach as loud as the pilot",
    )
    parser.add_argument(
        "--radio",
        type=int,
        default=0,
        metavar="N",
        help="the pilot says N sentences that are not for the coach (0)",
    )
    parser.add_argument("--typed", action="store_true", help="the pilot presses keys instead of speaking")
    _add_learner(parser)
    add_surprises(parser)
    parser.add_argument("--journal", metavar="FOLDER", help="keep the journal of the rehearsal there")
    parser.add_argument(
        "--track", metavar="FILE.gpx", help="write where the aircraft was each second (needs --station)"
    )
    parser.add_argument(
        "--resume", action="store_true", help="with --journal: go on with the last one that was broken off"
    )
    parser.add_argument(
        "--pace",
        type=_pace,
        metavar="N",
        help="fly at N times the pace of a clock (as fast as the machine can; with --page 1)",
    )
    _add_page(parser)
    _add_rehearsed_feed(parser)
    _add_settings(parser)
    _add_json(parser)


def _add_learner(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("the simulated pilot as a learner (with --mode recall or callout)")
    group.add_argument(
        "--learner",
        choices=[str(kind) for kind in LearnerKind],
        default=str(LearnerKind.KNOWS),
        help="how he answers (knows)",
    )
    group.add_argument(
        "--step",
        choices=[step.name.lower() for step in Step],
        help="begin as if earlier sessions had left so much to be said (full)",
    )


def _add_rehearsed_feed(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("a feed (the coach is told no wind then, and finds it)")
    group.add_argument(
        "--feed",
        metavar="FORM",
        help="nmea+udp or gdl90+udp: the aircraft sends its position, the pilot says nothing",
    )
    group.add_argument("--spoken", action="store_true", help="with --feed: the pilot speaks too")
    for name, text in (
        ("feed-every", "seconds between fixes (1)"),
        ("feed-noise", "error of each fix in metres, standard deviation (3)"),
        ("feed-delay", "seconds from a fix to its arrival at the least (0.2)"),
        ("feed-loss", "percent of fixes that never arrive (0)"),
    ):
        group.add_argument(f"--{name}", type=float, metavar="N", help=text)
    group.add_argument("--feed-heading", action="store_true", help="NMEA: a compass and airspeed send too")
    group.add_argument("--feed-out", metavar="FILE", help="write what is sent, to be replayed")
    habits = parser.add_argument_group("the simulated pilot's habits (none without --feed)")
    for name, text, usual in (
        ("late", "seconds added to every reaction", HUMAN.late_s),
        ("overcorrect", "times the cut that the needle asks for, 1-3", HUMAN.overcorrection),
        ("wrong-turns", "percent of turns begun the wrong way", 100.0 * HUMAN.wrong_turns),
    ):
        habits.add_argument(f"--{name}", type=float, metavar="N", help=f"{text} (with --feed {usual:g})")


def _add_fly(commands: Any) -> None:
    parser = _command(commands, "fly", "fly", "Fly a drill: the coach speaks and listens")
    _add_drill(parser, is_optional=True)
    parser.add_argument(
        "--resume",
        nargs="?",
        const="",
        metavar="SESSION",
        help="go on with a flight that was broken off: the last one, or the journal of that name; "
        "all other options are those it was begun with",
    )
    parser.add_argument("--no-ear", action="store_true", help="keys only, no microphone")
    parser.add_argument("--no-voice", action="store_true", help="text only, no speaker")
    parser.add_argument(
        "--no-preflight",
        dest="preflight",
        action="store_const",
        const="false",
        help="begin without the flow before flight",
    )
    _add_page(parser)
    parser.add_argument(
        "--feed",
        metavar="ADDRESS",
        help="where positions come from: nmea+udp://, gdl90+udp://, nmea+tcp://HOST:PORT, "
        "nmea+serial:///dev/NAME, nmea+file:///PATH",
    )
    add_surprises(parser)
    _add_settings(parser)


def _add_page(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("a page in a browser, for an instructor or safety pilot beside")
    group.add_argument(
        "--page",
        nargs="?",
        type=_port,
        const=PAGE_PORT,
        metavar="PORT",
        help=f"serve the flight as a live page on this machine ({PAGE_PORT}; 0: any free port)",
    )
    group.add_argument(
        "--share",
        action="store_true",
        help="with --page: for others on the network too, such as a phone; anyone with the address gets in",
    )


def _add_check(commands: Any) -> None:
    parser = _command(
        commands,
        "check",
        "check",
        "Tell what this machine has: voices, recogniser, devices, a word spoken and heard",
    )
    group = parser.add_argument_group(
        "your voice",
        "Say each phrase three times, in the cabin if possible: which ones are weak with your voice and "
        "microphone, and thresholds of your own for them. The takes are recorded into one folder on this "
        "machine and are never sent anywhere; without --voice nothing is ever recorded.",
    )
    group.add_argument("--voice", action="store_true", help="say the phrases; makes your voice profile")
    group.add_argument("--list", action="store_true", help="with --voice or --vor: tell what is kept")
    group.add_argument(
        "--delete",
        choices=("recordings", "profile"),
        help="with --voice: delete all recordings, or go back to the usual thresholds",
    )
    _add_vor_check(parser)
    _add_settings(parser)
    _add_json(parser)


def _add_vor_check(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group(
        "the check of a VOR receiver",
        "A form (14 CFR 91.171): judged by its kind, added to a log on this machine. On a terminal it asks "
        "for what is left out. Required only under IFR; the aircraft's own log comes first.",
    )
    group.add_argument("--vor", action="store_true", help="record a check; with --list: those recorded")
    for name, metavar, text in (
        ("kind", "KIND", "vot, ground, airborne, airway or dual"),
        ("place", "TEXT", "where it was checked"),
        ("bearing", "DEG[,DEG]", "shown, and the right one or the other receiver's; vot: the one shown"),
        ("error", "DEG", "the bearing error, in place of --bearing"),
        ("date", "YYYY-MM-DD", "the day (today)"),
        ("signature", "NAME", "your name"),
    ):
        group.add_argument(f"--{name}", metavar=metavar, help=text)


def _add_feed(commands: Any) -> None:
    feed: argparse.ArgumentParser = commands.add_parser(
        "feed", help="Look at a position feed", description="Look at a position feed."
    )
    parts = feed.add_subparsers(title="commands", metavar="COMMAND", required=True)
    parser = _command(parts, "watch", "feed", "Show what a feed brings: rates, fields, gaps, rejected lines")
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _FEEDS
    parser.add_argument("url", metavar="URL", help="where it comes from, see below")
    parser.add_argument("--seconds", type=_seconds, metavar="N", help="stop after so long (until it ends)")
    _add_json(parser)


def _add_station(commands: Any) -> None:
    station: argparse.ArgumentParser = commands.add_parser(
        "station",
        help="Import a table of stations and look a station up",
        description="Import a table of stations and look a station up.",
    )
    parts = station.add_subparsers(title="commands", metavar="COMMAND", required=True)
    taken = _command(parts, "import", "station_import", "Take the VORs of a navaid file into your table")
    taken.add_argument("file", metavar="FILE", help="a file in the open navaid CSV format, as downloaded")
    _add_json(taken)
    found = _command(parts, "find", "station_find", "List the stations of your table that have an ident")
    found.add_argument("ident", metavar="IDENT", help="such as ABC; several stations can share one")
    found.add_argument("--near", metavar="LAT,LON", help="the nearest to this place first, degrees")
    _add_json(found)
    morse = _command(parts, "morse", "station_morse", "Sound a sample of an ident, on the ground")
    morse.add_argument("ident", metavar="IDENT", help="1 to 4 letters and digits, such as ABC")
    morse.add_argument("--audio", metavar="FILE.wav", help="into a file, not on the speaker")
    _add_json(morse)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0.0 < seconds < float("inf"):
        raise argparse.ArgumentTypeError(f"expected seconds above 0, got '{text}'")
    return seconds


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"expected a port, 0-65535, got '{text}'")
    return int(text)


def _pace(text: str) -> float:
    try:
        pace = float(text)
    except ValueError:
        pace = 0.0
    if not 0.1 <= pace <= 100.0:
        raise argparse.ArgumentTypeError(f"expected 0.1-100, got '{text}'")
    return pace


_FEEDS = """\
URLs, with nmea (NMEA 0183) or gdl90 (GDL 90) before the +:
  nmea+udp://                     port 10110 (gdl90: 4000), from this machine only
  nmea+udp://:10111               another port, from this machine only
  nmea+udp://*:10110              from the network
  nmea+tcp://HOST:PORT            connect to a host, again where it is lost
  nmea+serial:///dev/ttyUSB0?baud=9600   a serial line (4800 baud; needs pyserial)
  nmea+file:///PATH?speed=10      a recording, ten times as fast; speed=max: at once
?longest=120 takes NMEA sentences longer than the standard's 80 characters.
"""


def _add_drill(parser: argparse.ArgumentParser, *, is_optional: bool = False) -> None:
    parser.add_argument(
        "drill",
        metavar="DRILL",
        nargs="?" if is_optional else None,
        help="a name from `coach list`, or the path of a drill file",
    )
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="one of the drill's settings; repeat for more",
    )
    parser.add_argument(
        "--station",
        metavar="STATION",
        help=STATION_HELP,
    )
    parser.add_argument(
        "--wind", metavar="DIR/KT", help="such as 250/20 or 250M/20 (magnetic), 250T/20 (true); default calm"
    )
    parser.add_argument("--tas", dest="tas_kt", metavar="KT", help="true airspeed (90)")


def _add_settings(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group(SETTING_HELP)
    for name, (_, means) in FORMS.items():
        if name != "tas_kt":
            group.add_argument(f"--{name.replace('_', '-')}", metavar="VALUE", help=means)


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
