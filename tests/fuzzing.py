"""Right input made wrong at random: what the program may answer to it is a result or a refusal, and nothing else.

A try takes a source of chance and returns in a word what came of it. It raises AssertionError where the program did what
it must never do: end with a fault nobody foresaw, say what is no line of its own, or leave something half-written.
`tests/app/test_fuzzing.py` makes some of each kind, ``python -m tests.benchmarks.fuzzing`` thousands.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.garden.founding import design
from calendar_core.app.garden.garden_file import read_garden_file
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import knowledge
from calendar_core.storage.errors import StoreError
from calendar_core.weather.forecasts import as_days, as_hours
from calendar_core.weather.sources.csv_table import BadWeatherFile
from calendar_core.weather.sources.files import parse_file
from calendar_core.weather.sources.ghcn import Ghcn
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.met_norway import MetNorway
from calendar_core.weather.sources.nws import Nws
from calendar_core.weather.sources.open_meteo import OpenMeteo
from calendar_core.weather.sources.protocol import Access
from tests.app.conftest import DAY, run
from tests.weather.sources import payloads_met_norway, payloads_nws, payloads_open_meteo

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from pathlib import Path
    from random import Random

NASTY = (
    "", " ", "-", "--help", "-1", "0", "1e308", "-1e308", "1e999", "9" * 30, "9" * 5000, "NaN", "Infinity", "null", "true",
    "[]", "{}", "[[", "\"", "'", "''", ",", ";", "\t", "\n", "\r", "\0", "\x1b[2J", "\u202e", "\u200b", "\ud7ff", "\U0010ffff",
    "=1+1", "all", "2090-01-01", "0001-01-01", "9999-12-31", "2015-02-29", "2015-06-24T25:00", "12:61", "+99:99", "x" * 300,
    "../x", "0d8a7f3e-6b0c-4f6b-9a53-6f2d1c8a4701", "acer-palmatum", "bench", "5", "3.5", "1,5", "293.15", "\ufeff", "\\", "%s",
)  # fmt: skip
ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 5, 10**30, -(10**400), 1e308, -1e308, 3.5, "", "5", "x", "\0", "\ud800", "\u202e", [], [1], [[]],
    {}, {"x": 1}, "2090-01-01", "9999-12-31T23:59:59+00:00", "0d8a7f3e-6b0c-4f6b-9a53-6f2d1c8a4701", "x" * 5000,
)  # fmt: skip
NOW = datetime(2026, 5, 1, 4, 0, tzinfo=UTC)
ZURICH = ZoneInfo("Europe/Zurich")


# -- making it wrong ---------------------------------------------------------------------------------------


def mangled(text: str, chance: Random) -> str:
    """Return a text with one to three places of it changed."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        text = chance.choice((_cut, _doubled, _struck, _replaced, _line_out, _token, _token, _token))(
            text, chance
        )
    return text


def _span(text: str, chance: Random) -> tuple[int, int]:
    first = chance.randint(0, len(text))
    return first, min(len(text), first + chance.choice((0, 1, 1, 2, 5, 20, 200)))


def _cut(text: str, chance: Random) -> str:
    return text[: chance.randint(0, len(text))]


def _doubled(text: str, chance: Random) -> str:
    first, last = _span(text, chance)
    return text[:last] + text[first:last] * chance.choice((1, 1, 2, 300)) + text[last:]


def _struck(text: str, chance: Random) -> str:
    first, last = _span(text, chance)
    return text[:first] + text[last:]


def _replaced(text: str, chance: Random) -> str:
    first, last = _span(text, chance)
    return text[:first] + chance.choice(NASTY) + text[last:]


def _line_out(text: str, chance: Random) -> str:
    lines = text.split("\n")
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    del lines[chance.randrange(len(lines))]
    return "\n".join(lines)


def _token(text: str, chance: Random) -> str:
    """Put something else in the place of a whole cell, value or word."""
    marks = [at for at, sign in enumerate(text) if sign in ",;:=\"'\n\t []{}"]
    if len(marks) < 2:
        return _replaced(text, chance)
    at = chance.randrange(len(marks) - 1)
    return text[: marks[at] + 1] + chance.choice(NASTY) + text[marks[at + 1] :]


def twisted(said: Any, chance: Random) -> Any:
    """Return data of JSON with a value, somewhere within, changed, gone or doubled."""
    if not isinstance(said, dict | list) or not said or chance.random() < 0.08:
        return chance.choice(ODD)
    if isinstance(said, dict):
        key = chance.choice(sorted(said))
        if chance.random() < 0.1:
            return {name: value for name, value in said.items() if name != key}
        if chance.random() < 0.05:
            return {**said, chance.choice(NASTY): said[key]}
        return {**said, key: twisted(said[key], chance)}
    at = chance.randrange(len(said))
    if chance.random() < 0.2:
        return [*said[:at], *said[at + 1 :]] if chance.random() < 0.5 else [*said, said[at]]
    return [*said[:at], twisted(said[at], chance), *said[at + 1 :]]


# -- what is given away --------------------------------------------------------------------------------------


def rows(database: Path) -> list[str]:
    """Return everything that a database holds, as SQL."""
    with closing(sqlite3.connect(database)) as connection:
        return list(connection.iterdump())


def answered(words: Sequence[str], database: Path, before: list[str] | None, typed: str = "") -> int:
    """Return the status of a command that is run; one that refuses has written nothing."""
    answer = run(*words, typed=typed)
    assert answer.status in (0, 2), (words, answer)
    lines = answer.err.split("\n")[:-1]
    own = [line for line in lines if line.startswith("leafclock: ")]
    assert own == lines or answer.err.startswith("Usage: "), (
        words,
        answer,
    )  # the help of a group without a command
    assert "Traceback" not in answer.err, (words, answer)
    if answer.status == 2 and before is not None:
        assert rows(database) == before, (words, answer)
    return answer.status


def whole_lines(lines: Iterable[str]) -> None:
    """Look at the lines of a refusal: there are some, and each can be read as one."""
    known = list(lines)
    assert known
    assert not [line for line in known if not line or "\n" in line or "Traceback" in line], known


class Bench:
    """A garden on this machine with what is exported of it, in a folder of its own where the tries are made."""

    def __init__(self, folder: Path) -> None:
        """Found the garden in ``folder``."""
        self.folder, self.database = folder, folder / "bench.db"
        here = ("--db", str(self.database), "--today", DAY)
        trees = "2 Japanese maple; black pine; satsuki azalea; tropical fig"
        for words in (
            ("start", "--place", "Seattle", "--trees", trees),
            ("tree", "change", "Japanese maple 1", "--pot", "3.5", "--pot-kind", "wood", "--vigour", "4"),
            ("part", "add", "Japanese maple 1", "branch", "low left", "--height", "40"),
            ("measure", "Japanese maple 1", "low left", "diameter=12"),
            ("log", "Japanese maple 2", "wire", "--note", "loose"),
            ("log", "Japanese maple 2", "cut back", "--share", "30%"),
            ("seen", "Japanese maple 1", "bud break", "2015-06-24", "--yes"),
            ("wish", "Japanese maple 1", "repot"),
            ("hours", "sat 2h, wed 18:30-19:30"),
            ("away", "2015-08-01", "2015-08-14"),
            ("tree", "gone", "Tropical fig 1", "--why", "sold"),
            ("calendar", str(folder / "bench.ics")),
        ):
            answer = run(*words, *here)
            assert answer.status == 0, (words, answer)
        self.exported = folder / "exported"
        assert run("export", str(self.exported), "--exact", "--db", str(self.database)).status == 0
        self.files = {path.name: path.read_bytes().decode() for path in self.exported.iterdir()}
        self.before = rows(self.database)

    def fresh(self) -> Path:
        """Return a copy of the garden's database, as it was founded."""
        copy = self.folder / "copy.db"
        for old in (copy, copy.with_name("copy.db-wal"), copy.with_name("copy.db-shm")):
            old.unlink(missing_ok=True)
        with closing(sqlite3.connect(self.database)) as whole, closing(sqlite3.connect(copy)) as target:
            whole.backup(target)
        return copy


# -- the tries -----------------------------------------------------------------------------------------------


def try_folder(bench: Bench, chance: Random) -> str:
    """Import an exported garden, one file of it wrong, into a database that has it, and look at what came of it."""
    name = chance.choice(("garden.json", "trees.csv", "log.csv", "log.csv", "weather.csv", "calendar.json"))
    text = bench.files[name]
    if name.endswith("json") and chance.random() < 0.7:
        text = json.dumps(twisted(json.loads(text), chance))
    elif name == "log.csv" and chance.random() < 0.5:
        text = _data_twisted(text, chance)
    else:
        text = mangled(text, chance)
    folder = bench.folder / "given"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(bench.exported, folder)
    (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    into = bench.fresh() if chance.random() < 0.5 else bench.folder / "new.db"
    for old in (bench.folder / f"new.db{end}" for end in ("", "-wal", "-shm")):
        old.unlink(missing_ok=True)
    is_new = into.name == "new.db"
    status = answered(("import", str(folder), "--db", str(into)), into, None if is_new else bench.before)
    if status == 2:
        assert not (is_new and into.exists()), f"a refused import made a database: {name}"
        return "refused"
    for words in (("log",), ("tree", "list"), ("hours",), ("due",)):
        if chance.random() < 0.3:
            answered((*words, "--db", str(into), "--today", DAY), into, None)
    return "taken"


def _data_twisted(text: str, chance: Random) -> str:
    """Return a log with the data of one of its entries changed."""
    lines = text.split("\r\n")
    at = chance.randrange(1, len(lines) - 1)
    first, last = lines[at].index('"{'), lines[at].rindex('}"') + 2
    data = json.loads(lines[at][first + 1 : last - 1].replace('""', '"'))
    told = json.dumps(twisted(data, chance)).replace('"', '""')
    lines[at] = f'{lines[at][:first]}"{told}"{lines[at][last:]}'
    return "\r\n".join(lines)


TREES = (
    "species,label,aim,size,vigour,spot,cultivar,pot,pot_litres,last_repot\n"
    "Japanese maple,Old maple,refinement,small,4,bench,Deshojo,unglazed,3.5,2014-03-01\n"
    "black pine,,structure,medium,3,,,wood,,\nsatsuki azalea,Satsuki A,,,,,,,,2015-05-30\n"
)


def try_trees(bench: Bench, chance: Random) -> str:
    """Add trees of a table."""
    file, database = bench.folder / "trees.csv", bench.fresh()
    file.write_bytes(mangled(TREES, chance).encode("utf-8", "surrogatepass"))
    status = answered(
        ("tree", "import", str(file), "--db", str(database), "--today", DAY), database, bench.before
    )
    return "refused" if status else "taken"


def _days_file() -> str:
    days = [date(2014, 6, 1) + timedelta(days=n) for n in range(60)]
    lines = (f"{day},{8 + n % 7}.{n % 10},{17 + n % 9}.5,{n % 3}\n" for n, day in enumerate(days))
    return "date,t_min,t_max,precipitation\n" + "".join(lines)


def _hours_file() -> str:
    hours = [datetime(2014, 6, 1, tzinfo=UTC) + timedelta(hours=n) for n in range(96)]
    lines = (f"{hour:%Y-%m-%d %H:%M};{12 + n % 13},{n % 10};{50 + n % 40}\n" for n, hour in enumerate(hours))
    return "time (UTC);temperature;humidity\n" + "".join(lines)


def _station_file() -> str:
    days = [date(2014, 6, 1) + timedelta(days=n) for n in range(30)]
    lines = (
        f"USW00094728,{day:%Y%m%d},{name},{value + n},,,W,0700\n"
        for n, day in enumerate(days)
        for name, value in (("TMAX", 210), ("TMIN", 110), ("PRCP", 3))
    )
    return "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n" + "".join(lines)


def _wide_file() -> str:
    days = [date(2014, 6, 1) + timedelta(days=n) for n in range(30)]
    lines = (
        f'"USW00094728","{day}","{210 + n}",",,W,0700","{110 + n}",",,W"\n' for n, day in enumerate(days)
    )
    return '"STATION","DATE","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n' + "".join(lines)


def _dly_file() -> str:
    values = "".join(f"{210 + n:5d}  W" for n in range(30)) + "-9999   "
    return "".join(f"USW00094728201406{name}{values}\n" for name in ("TMAX", "TMIN", "PRCP"))


WEATHER = tuple(made() for made in (_days_file, _hours_file, _station_file, _wide_file, _dly_file))


def try_weather(bench: Bench, chance: Random) -> str:
    """Read a weather file of any kind; one in ten through the command."""
    text = mangled(chance.choice(WEATHER), chance)
    if chance.random() < 0.1:
        file, database = bench.folder / "weather.csv", bench.fresh()
        file.write_bytes(text.encode("utf-8", "surrogatepass"))
        words = ("weather", "import", str(file), "--db", str(database), "--today", DAY)
        return "refused" if answered(words, database, bench.before) else "taken"
    try:
        read = parse_file(
            text, file="weather.csv", zone=ZURICH, unit=chance.choice(("C", "C", "F", "tenths"))
        )
    except BadWeatherFile as refused:
        whole_lines(refused.lines)
        return "refused"
    assert not [note for note in read.notes if "\n" in note]
    return "taken"


GARDEN = """\
since = 2014-03-01
[garden]
name = "Behind the house"
place = "Seattle"
units = "metric"
[[spot]]
name = "bench"
sun_from = 08:00:00
sun_to = 16:00:00
horizon = [[90, 10], [180, 35.5]]
[[tree]]
species = "Japanese maple"
label = "Maple 1"
vigour = 4
pot = "wood"
pot_litres = 3.5
last_repot = 2014-03-05
[[tree]]
species = "black pine"
aim = "refinement"
[[log]]
on = 2014-06-01
trees = ["Maple 1"]
did = "wire"
note = "loose"
"""


def try_garden_file(bench: Bench, chance: Random) -> str:
    """Design the garden of a garden file."""
    file = bench.folder / "garden.toml"
    file.write_bytes(mangled(GARDEN, chance).encode("utf-8", "surrogatepass"))
    try:
        read = read_garden_file(file)
        design(read, knowledge(), date.fromisoformat(DAY), datetime(2015, 6, 24, 12, tzinfo=UTC))
    except (Refusal, StoreError) as refused:
        whole_lines(str(refused).split("\n"))
        return "refused"
    return "taken"


class Told:
    """Stands for the client: what a service says is read as the client reads it, and comes over no line."""

    def __init__(self, bodies: Mapping[str, bytes]) -> None:
        """Answer each address that ends as a key does with its body."""
        self.bodies, self.last, self.expires = bodies, None, None

    def now(self) -> datetime:
        """Return the moment that the answers are of."""
        return NOW

    def ask(self, url: str, _params: object, read: Callable[[bytes], Any], **_how: object) -> Any:
        """Read the answer of an address; a ValueError is nonsense, as `http.Client.ask` has it."""
        body = next(body for part, body in self.bodies.items() if part in url)
        try:
            return read(body)
        except ValueError as error:
            whole_lines([str(error)])
            raise ServiceError("nonsense", str(error)) from error


def _wrong(said: Any, chance: Random) -> bytes:
    if chance.random() < 0.2:
        return mangled(json.dumps(said), chance).encode("utf-8", "surrogatepass")
    return json.dumps(twisted(said, chance)).encode("utf-8", "surrogatepass")


def _open_meteo(chance: Random) -> object:
    hours = 24 * 12
    start = NOW.replace(hour=0) - timedelta(days=7)
    warm: list[float | None] = [10 + n % 24 / 2 for n in range(hours)]
    asked = chance.choice(("forecast", "hours_ahead", "days", "places"))
    if asked == "places":
        said = payloads_open_meteo.places(payloads_open_meteo.place())
    elif asked == "days":
        warm = warm[: 24 * 4]
        said = payloads_open_meteo.hourly(
            datetime(2026, 4, 1, tzinfo=UTC), temperature_2m=warm, precipitation=[0.1] * len(warm)
        )
    elif asked == "forecast":
        said = payloads_open_meteo.hourly(start, temperature_2m=warm, temperature_2m_member01=warm)
    else:
        names = [name for name in payloads_open_meteo.UNITS if name != "time"]
        said = payloads_open_meteo.hourly(start, **dict.fromkeys(names, warm))
    client: Any = Told({"": _wrong(said, chance)})
    service = OpenMeteo(Access(client))
    if asked == "places":
        return service.places("Zürich")
    if asked == "days":
        return service.days(47.4, 8.5, 400.0, ZURICH, date(2026, 4, 1), date(2026, 4, 4))
    return getattr(service, asked)(47.4, 8.5, 400.0)


def _met_norway(chance: Random) -> object:
    said = payloads_met_norway.forecast(
        payloads_met_norway.hourly(0, [float(n % 20) for n in range(60)], 0.2)
    )
    client: Any = Told({"": _wrong(said, chance)})
    return MetNorway(Access(client)).forecast(60.1, 9.58, 496.0)


def _nws(chance: Random) -> object:
    layer = payloads_nws.layer
    grid = payloads_nws.grid(
        temperature=layer(
            "wmoUnit:degC", ("2026-05-01T03:00:00+00:00/PT3H", 12.5), ("2026-05-01T06:00:00+00:00/P1DT6H", 9)
        ),
        minTemperature=layer("wmoUnit:degC", ("2026-05-01T03:00:00+00:00/PT13H", 7)),
        quantitativePrecipitation=layer("wmoUnit:mm", ("2026-05-01T00:00:00+00:00/PT6H", 3.5)),
        windSpeed=layer("wmoUnit:km_h-1", ("2026-05-01T03:00:00+00:00/PT12H", 10)),
    )
    point: Any = payloads_nws.point()
    wrong_point = chance.random() < 0.3
    bodies = {
        "/points/": _wrong(point, chance) if wrong_point else json.dumps(point).encode(),
        "/gridpoints/": json.dumps(grid).encode() if wrong_point else _wrong(grid, chance),
    }
    client: Any = Told(bodies)
    return Nws(Access(client)).forecast(30.4, -84.3, None)


def _ghcn(chance: Random) -> object:
    client: Any = Told({"": mangled(_station_file(), chance).encode("utf-8", "surrogatepass")})
    return Ghcn(Access(client)).station("USW00094728")


def try_service(_bench: Bench, chance: Random) -> str:
    """Read the answer of a weather service, and make days and hours of it."""
    try:
        found: Any = chance.choice((_open_meteo, _open_meteo, _met_norway, _nws, _ghcn))(chance)
        if hasattr(found, "members"):
            as_days(found, ZURICH, 400.0, 1.0)
            as_hours(found, 400.0)
    except ServiceError as refused:
        whole_lines([str(refused)])
        return "refused"
    return "taken"


COMMANDS = (
    "tree add|3 Japanese maple small; black pine|--aim|structure|--vigour|4|--spot|bench",
    "tree add|black pine|--label|Pine A|--last-repot|2015-03-01",
    "tree change|Japanese maple 1|--vigour|4|--pot|3.5|--day|2015-06-24",
    "tree gone|Japanese maple 2|--why|sold|--note|to Ines",
    "tree list", "tree show|Japanese maple 1", "tree list|--gone",
    "spot add|wall|--sun-from|06:00|--sun-to|12:00|--horizon|90:10,180:35|--surface|deck|--cloth|30",
    "spot change|bench|--name|table|--wind|windy", "spot list",
    "log|Japanese maple 1, Japanese maple 2|wire|2015-06-24|--note|loose",
    "log|Japanese maple 1|cut back|--share|60%|--part|low left|--measure|diameter=17",
    "log|all", "log|--void|abc",
    "log|--lines|-",
    "seen|Japanese maple 1|bud break|2015-06-24|--not-yet",
    "wish|Japanese maple 1|repot|--anyway",
    "part add|Japanese maple 2|branch|second right|--height|120|--side|right|--directive|hold|--pairs|2",
    "part change|Japanese maple 1|low left|--name|lower left|--height|50",
    "part list", "measure|Japanese maple 1|low left|diameter=13",
    "history|Japanese maple 1", "before|Japanese maple 1|cut back",
    "hours|sat 2h, wed 18:30-19:30", "hours", "away|2015-07-01|2015-07-14",
    "weather status", "weather check", "weather behind|2015-06-24",
    "species list", "choices", "places", "changes|--since|2015-06-01",
    "fertilize|Japanese maple 1|--label|20-20-20",
    "review enter|--lines|-", "channel list",
)  # fmt: skip
LINES = (
    "Japanese maple 1: cut back; @low left; share=60%; height=40; note\nJapanese maple 2: saw bud break; on=2015-06-24\n"
    "Japanese maple 2: branch; @upper; side=left; pairs=2; hold\nJapanese maple 1: measured; @low left; diameter=14\n"
)
FORM = "sheet: 00000000 2015-06-24\nminutes: 75\nJapanese maple 1: vigour=4; low left diameter=12; minutes=9; note=dry moss\n"


def try_command(bench: Bench, chance: Random) -> str:
    """Run a command with one or two of its words wrong."""
    line = chance.choice(COMMANDS)
    head, *rest = line.split("|")
    words = [*head.split(), *rest]
    for _ in range(min(len(words) - 1, chance.choice((0, 1, 1, 2)))):
        at = chance.randrange(len(words))
        words[at] = chance.choice((chance.choice(NASTY), mangled(words[at], chance)))
        if chance.random() < 0.15:
            words = words[: max(at, 1)] + words[max(at, 1) + 1 :]
    words = [word.replace("\0", "") for word in words if word not in ("watch", "demo", "start")] or ["log"]
    typed = mangled(FORM if "review" in words else LINES, chance)
    database = bench.fresh()
    timed = () if words[0] in ("spot", "places", "channel", "species") else ("--today", DAY)
    status = answered((*words, "--db", str(database), *timed), database, bench.before, typed)
    return "refused" if status else "taken"


TRIES: Mapping[str, Callable[[Bench, Random], str]] = {
    "folder": try_folder, "trees": try_trees, "weather": try_weather, "garden file": try_garden_file,
    "service": try_service, "command": try_command,
}  # fmt: skip
