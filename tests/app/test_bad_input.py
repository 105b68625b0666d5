"""Bad input: status 2, one clear line for each fault (what, where, what would be right), nothing written."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import DAY

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

SEATTLE = ("--lat", "47.5", "--lon", "-122.3")
LONG = "x" * 5000
AHEAD = "lies ahead; right would be a day up to today, 2015-06-24"
NO_DAY = "is not a day; right would be year-month-day, such as 2015-06-24"


def assert_refused(answer: Answer, *lines: str) -> None:
    """Exactly these lines and nothing else."""
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.splitlines() == [f"leafclock: {line}" for line in lines]


def rows(database: str = "garden.db") -> list[str]:
    """Return everything a database holds, as SQL."""
    with closing(sqlite3.connect(database)) as connection:
        return list(connection.iterdump())


def files() -> set[str]:
    return {path.name for path in Path().iterdir() if not path.name.startswith("garden.db-")}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (("log", "Jap maple 1", "repot"), ["no tree 'Jap maple 1': the nearest are 'Japanese maple 1', 'Japanese maple 2', 'Satsuki azalea 1'"]),
        (("log", " , ", "repot"), ["' , ' names no tree; right would be labels parted by commas, a species, or all"]),
        (("log", "all", "repto"), ["no operation 'repto'; right would be one such as repot, repotted"]),
        (("log", "all", "repot", "2015-06-31"), [f"'2015-06-31' {NO_DAY}"]),
        (("log", "all", "repot", "24.6.2015"), [f"'24.6.2015' {NO_DAY}"]),
        (("log", "all", "repot", "0215-06-20"), ["0215-06-20 is out of reach; right would be a day from 1901 to 2099"]),
        (("log", "all", "repot", "2015-06-25"), [f"2015-06-25 {AHEAD}"]),
        (("log", "all", "repot", "--note", "red \x1b[31m"), ["--note: found 'red \\x1b[31m'; right would be text without control characters"]),
        (("log", "all", "repot", "--note", LONG), [f"--note: found '{LONG[:59]}...; right would be at most 2000 characters"]),
        (("log", "--void", "zz"), ["no entry 'zz'; right would be the name of one entry as listed by: leafclock log"]),
        (("log", "--void", ""), ["no entry ''; right would be the name of one entry as listed by: leafclock log"]),
        (("seen", "all", "bud break"), ["Japanese black pine 1 has no stage 'bud break'; right would be one of: bud swell, candles extending, needles emerging, needles open, candles firm, growth stop, needles hardened, winter rest"]),
        (("seen", "fig", "closed"), ["Tropical fig 1 has no bud break; right would be a stage with --not-yet"]),
        (("seen", "Japanese maple 1", "bud break", "2015-07-30"), [f"2015-07-30 {AHEAD}"]),
        (("wish", "Japanese black pine 1, Japanese maple 1", "decandling"), ["Japanese maple 1: decandling is never done to a Japanese maple: it has no candles."]),
        (("answer", "zzzzzz", "done"), ["no item 'zzzzzz' in today's plan; right would be a name as printed by: leafclock plan"]),
        (("answer", "", "done"), ["no item '' in today's plan; right would be a name as printed by: leafclock plan"]),
        (("why", "Japanese maple 1", "decandling"), ["Japanese maple 1: decandling is never done to a Japanese maple: it has no candles."]),
        (("species", "show", "mapel"), ["species: found 'mapel', not known yet; the nearest known are: Trident maple, Japanese maple, Crabapple; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree"]),
        (("stages", "--chart", "season.pdf"), ["season.pdf: right would be a file ending in .svg or .png"]),
        (("stages", "--chart", "garden", "--desk"), ["garden: right would be a file ending in .svg or .png"]),
        (("stages", "--desk"), ["--desk goes with --chart: name the file to draw, such as --chart garden.svg"]),
        (("changes", "--since", "2015-06-25"), [f"--since 2015-06-25 {AHEAD}"]),
        (("changes", "--since", "last week"), [f"'last week' {NO_DAY}"]),
        (("plan", "--garden", "Elsewhere"), ["no garden 'Elsewhere': there is 'My garden'"]),
        (("spot", "add", "BENCH"), ["there is a spot 'bench' already: give another name"]),
        (("spot", "add", " "), ["spot: found ' '; right would be at least 1 character"]),
        (("spot", "add", "wall\x07"), ["spot: found 'wall\\x07'; right would be text without control characters"]),
        (("spot", "add", LONG), [f"spot: found '{LONG[:59]}...; right would be at most 60 characters"]),
        (("spot", "add", "wall", "--cloth", "101", "--profile", "igloo"), ["--cloth: found 101; right would be at most 100", "--profile: found 'igloo'; right would be 'open', 'cold frame', 'frost-free' or 'heated'"]),
        (("spot", "add", "wall", "--sun-from", "25:00"), ["'25:00' is not a time; right would be hours and minutes, such as 9:30"]),
        (("spot", "change", "bench", "--sun-from", "09:00"), ["the hours of sun have a beginning and an end: give both"]),
        (("spot", "change", "bench", "--sun-from", "12:00", "--sun-to", "09:00"), ["sun from 12:00 to 09:00; right would be an end after the beginning"]),
        (("log", "Japanese maple 1", "feeding", "2015-06-01", "--on", "2015-06-02"), ["two days are given, 2015-06-01 and 2015-06-02; right would be one"]),
        (("spot", "change", "bench"), ["nothing to change; right would be one of --name, --sun-from, --sun-to, --cloth, --profile, --wind, --surface, --horizon, --roof, --quarantine"]),
        (("spot", "add", "wall", "--surface", "lava"), ["--surface: found 'lava'; right would be 'bench', 'grass', 'gravel', 'paving', 'dark paving', 'ground', 'mulch', 'pale wall' or 'deck'"]),
        (("spot", "add", "wall", "--horizon", "90"), ["--horizon: found '90'; right would be azimuth:height in degrees, such as 90:10,180:35"]),
        (("spot", "add", "wall", "--horizon", "east:10"), ["--horizon: found 'east:10'; right would be azimuth:height in degrees, such as 90:10,180:35"]),
        (("spot", "add", "wall", "--horizon", "180:35,90:10"), ["--horizon: found azimuth 90 after 180; right would be rising azimuths"]),
        (("spot", "change", "bench", "--horizon", "90:95"), ["--horizon: found 90:95; right would be degrees, an azimuth of 0 (north) to below 360 and a height of 0 to 90"]),
        (("spot", "change", "bench", "--horizon", "nan:10"), ["--horizon: found nan:10; right would be degrees, an azimuth of 0 (north) to below 360 and a height of 0 to 90"]),
        (("tree", "add", "2 mapel; pin; mapel"), ["species: found 'mapel', not known yet; the nearest known are: Trident maple, Japanese maple, Crabapple; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree", "species: found 'pin', not known yet; the nearest known are: Japanese red pine, Mugo pine, Japanese white pine; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree"]),
        (("tree", "add", ""), ["no tree is named; right would be trees such as: '3 Japanese maple small; black pine'"]),
        (("tree", "add", "small"), ["'small' names no species; right would be a count and a species, such as: 3 Japanese maple"]),
        (("tree", "add", "10000 Japanese maple"), ["'10000 Japanese maple': 10000 trees; right would be 1 to 500"]),
        (("tree", "add", "black pine", "--label", "JAPANESE maple 1"), ["label 'JAPANESE maple 1' is that of another tree of the garden; right would be one of its own"]),
        (("tree", "add", "2 black pine", "--label", "A"), ["--label goes with one tree; right would be one call for each label"]),
        (("tree", "add", "black pine", "--label", "a\x1b[2Jb"), ["--label: found 'a\\x1b[2Jb'; right would be text without control characters"]),
        (("tree", "add", "black pine", "--label", "Pine \u202e1"), ["--label: found 'Pine \\u202e1'; right would be a name of signs that can be seen, without U+202E"]),
        (("tree", "add", "black pine", "--label", "all"), ["--label: found 'all'; right would be another name: all stands for every tree"]),
        (("tree", "add", "black pine", "--label", "--help"), ["--label: found '--help'; right would be a name that does not begin with -, as options do"]),
        (("tree", "add", "black pine", "--label", "Pine, old"), ["--label: found 'Pine, old'; right would be a name without , and :"]),
        (("tree", "add", "black pine", "--label", "Larch"), ["label 'Larch' is the name of a species; right would be another, such as Larch 1"]),
        (("spot", "add", "wa\u200bll"), ["spot: found 'wa\\u200bll'; right would be a name of signs that can be seen, without U+200B"]),
        (("spot", "change", "bench", "--name", "-x"), ["spot: found '-x'; right would be a name that does not begin with -, as options do"]),
        (("part", "add", "Japanese maple 1", "branch", "low=left"), ["--name: found 'low=left'; right would be a name without ; and ="]),
        (("tree", "add", "black pine", "--label", "🌲" * 61), [f"--label: found '{'🌲' * 59}...; right would be at most 60 characters"]),
        (("tree", "add", "black pine", "--aim", "fame", "--vigour", "6", "--size", "huge"), ["--aim: found 'fame'; right would be 'trunk', 'structure', 'ramification', 'refinement' or 'recovery'", "--vigour: found 6; right would be at most 5", "--size: found 'huge'; right would be 'small', 'medium' or 'large'"]),
        (("tree", "add", "black pine", "--spot", "moon"), ["Japanese black pine 2: no spot 'moon'; right would be one of bench"]),
        (("tree", "add", "black pine", "--last-repot", "2016-03-01"), [f"last repot: 2016-03-01 {AHEAD}"]),
        (("tree", "change", "all"), ["nothing to change; right would be one of --aim, --vigour, --size, --spot, --pot, --pot-kind"]),
        (("tree", "change", "all", "--vigour", "0", "--pot", "-1"), ["--vigour: found 0; right would be at least 1", "--pot: found -1.0; right would be greater than 0"]),
        (("tree", "change", "all", "--pot-kind", "tin"), ["--pot-kind: found 'tin'; right would be 'unglazed', 'dark glazed', 'light glazed', 'black plastic' or 'wood'"]),
        (("tree", "change", "all", "--spot", "moon"), ["no spot 'moon': the nearest are 'bench'"]),
        (("tree", "change", "all", "--vigour", "4", "--day", "2015-12-01"), [f"2015-12-01 {AHEAD}"]),
        (("tree", "import", "none.csv"), ["none.csv: cannot be read (No such file or directory); right would be a CSV file of trees"]),
        (("weather", "import", "none.csv"), ["none.csv: cannot be read (No such file or directory); right would be a CSV file of weather, or a station record"]),
        (("weather", "import", "none.csv", "--unit", "K"), ["--unit K: right would be one of C, F, tenths"]),
        (("weather", "import", "none.csv", "--column", "t_max"), ["--column t_max: right would be NAME=HEADER, such as t_max=TMAX"]),
        (("calendar", "shelf"), ["shelf: is a folder; right would be a file in it"]),
        (("calendar", "/proc/none/bench.ics"), ["/proc/none/bench.ics: cannot be written (No such file or directory); right would be a file in a folder you may write to"]),
        (("stages", "--chart", "garden.db/season.png"), ["garden.db/season.png: cannot be written (File exists); right would be a file in a folder you may write to"]),
    ],
)  # fmt: skip
def test_a_garden_stays_as_it_is(garden: Program, words: tuple[str, ...], lines: list[str]) -> None:
    Path("shelf").mkdir()
    before = rows(), files()
    assert_refused(garden(*words), *lines)
    assert (rows(), files()) == before


def test_a_wrong_verb_is_told_the_right_ones(garden: Program) -> None:
    before = rows()
    item = garden("plan", "--long").out.partition("]")[0].rpartition("[")[2]
    answer = garden("answer", item, "completed")
    assert answer.status == 2
    assert answer.err.startswith("leafclock: 'completed' does not answer ")
    assert answer.err.endswith(", In a week, or Not this year\n")
    assert rows() == before


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (("--lat", "95", "--lon", "-222.5"), ["--lat: found 95.0; right would be at most 90", "--lon: found -222.5; right would be at least -180"]),
        (("--lat", "nan", "--lon", "0"), ["--lat: found nan; right would be at most 90"]),
        (("--lat", "45"), ["latitude and longitude go together"]),
        (("--lat", "0", "--lon", "-140"), ["the nearest bundled climate, Seattle, is 5553 km away: too far to plan from; right would be a weather service (not --offline), or your own measured days, a year or more, with --weather FILE"]),
        (("--place", "Nagno"), ["no bundled place 'Nagno'; near names: Nagano, Nagoya, Andong; right would be one of those listed by: leafclock places, or --lat and --lon"]),
        (("--place", ""), ["--place: found ''; right would be at least 1 character"]),
        ((*SEATTLE, "--zone", "Mars/Base"), ["zone 'Mars/Base' is not known; right would be an IANA name, such as Europe/Berlin"]),
        ((*SEATTLE, "--zone", "Europe"), ["zone 'Europe' is not known; right would be an IANA name, such as Europe/Berlin"]),
        ((*SEATTLE, "--zone", "../../etc/passwd"), ["zone '../../etc/passwd' is not known; right would be an IANA name, such as Europe/Berlin"]),
        ((*SEATTLE, "--units", "feet"), ["--units: found 'feet'; right would be 'metric' or 'us'"]),
        ((*SEATTLE, "--elevation", "9000", "--name", ""), ["--name: found ''; right would be at least 1 character", "--elevation: found 9000.0; right would be at most 6000"]),
        ((*SEATTLE, "--today", "2015-02-29"), [f"'2015-02-29' {NO_DAY}"]),
        ((*SEATTLE, "--today", "9999-12-31"), ["9999-12-31 is out of reach; right would be a day from 1901 to 2099"]),
        ((*SEATTLE, "--trees", "Japanese mapel; 2 Japanese mapel; pien"), ["species: found 'Japanese mapel', not known yet; the nearest known are: Japanese maple, Camellia, Yew; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree", "species: found 'pien', not known yet; the nearest known are: Japanese red pine, Mugo pine, Japanese white pine; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree"]),
        ((*SEATTLE, "--trees", "-3 black pine"), ["'-3 black pine': -3 trees; right would be 1 to 500"]),
        ((*SEATTLE, "--trees", "🍁"), ["species: found '🍁', not known yet; the nearest known are: Trident maple, Japanese maple, Bougainvillea; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree"]),
        (("--from", "none.toml"), ["none.toml: cannot be read (No such file or directory); right would be a garden file"]),
        (("--place", "Seattle", "--weather", "none.csv"), ["none.csv: cannot be read (No such file or directory); right would be a CSV file of weather, or a station record"]),
    ],
)  # fmt: skip
def test_no_garden_is_made(
    leafclock: Program, folder: Path, words: tuple[str, ...], lines: list[str]
) -> None:
    given = words if "--trees" in words else (*words, "--trees", "black pine")
    assert_refused(leafclock("start", *given, *(() if "--today" in words else ("--today", DAY))), *lines)
    assert not list(folder.iterdir())


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("[garden\nname = 'x'", ["is not valid TOML: Expected ']' at the end of a table declaration (at line 1, column 8)"]),
        ("[garden]\n", ["garden: give latitude and longitude, or a bundled place"]),
        ("since = 2015-07-01\n[garden]\nplace = 'Seattle'\n", [f"since: 2015-07-01 {AHEAD}"]),
        ("[garden]\nplace = 'Seattle'\nzone = 'Mars'\n", ["zone 'Mars' is not known; right would be an IANA name, such as Europe/Berlin"]),
        (
            ("since = 'May'\nowner = 'me'\n[garden]\nlat = 47\nlatitude = 95\nlongitude = 1\n[[spot]]\nname = 'x'\nprofile = 'igloo'\nsurface = 'lava'\nhorizon = [[90, 10], [90, 20]]\n"
            "[[tree]]\nvigour = 'strong'\npot = 'tin'\nlast_repot = '2015-02-30'\n[[log]]\non = 2015-05-01T10:00:00\ntrees = []\n"),
            [
                "garden.latitude: found 95; right would be at most 90",
                "garden.lat: no such key; right would be one of id, name, place, latitude, longitude, elevation_m, zone, units",
                f"since: 'May' {NO_DAY}",
                "spot[1].profile: found 'igloo'; right would be 'open', 'cold frame', 'frost-free' or 'heated'",
                "spot[1].surface: found 'lava'; right would be 'bench', 'grass', 'gravel', 'paving', 'dark paving', 'ground', 'mulch', 'pale wall' or 'deck'",
                "spot[1].horizon: found azimuth 90 after 90; right would be rising azimuths",
                "tree[1].species: is missing",
                "tree[1].vigour: found 'strong'; right would be a valid integer",
                "tree[1].pot: found 'tin'; right would be 'unglazed', 'dark glazed', 'light glazed', 'black plastic' or 'wood'",
                f"tree[1].last_repot: '2015-02-30' {NO_DAY}",
                f"log[1].on: 2015-05-01 10:00:00 {NO_DAY}",
                "log[1].trees: right would be at least 1 item after validation, not 0",
                "owner: no such key; right would be one of garden, since, spot, tree, log",
            ],
        ),
        (
            ("[garden]\nplace = 'Seattle'\n[[tree]]\nspecies = 'mapel'\nlabel = 'A'\nspot = 'moon'\n[[tree]]\nspecies = 'black pine'\nlabel = 'a'\n"
            "[[log]]\non = 2015-05-01\ntrees = ['B']\ndid = 'repto'\n[[log]]\non = 2015-05-01\ntrees = ['a']\nsaw = 'colour'\n"),
            [
                "species: found 'mapel', not known yet; the nearest known are: Trident maple, Japanese maple, Crabapple; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree",
                "label 'a' stands twice; right would be one label for each tree",
                "A: no spot 'moon'; right would be one of bench",
                "log of 2015-05-01: no tree 'B'",
                "log of 2015-05-01: no operation 'repto'",
                "log of 2015-05-01: a has no stage 'colour'",
            ],
        ),
        (
            ("[garden]\nplace = 'Seattle'\n[[tree]]\nspecies = 'black pine'\nlabel = 'A'\nlast_repot = 2015-12-01\n"
            "[[log]]\non = 2016-05-01\ntrees = ['A']\ndid = 'wire'\n"),
            [f"tree[1].last_repot: 2015-12-01 {AHEAD}", f"log[1].on: 2016-05-01 {AHEAD}"],
        ),
        (
            "[garden]\nplace = 'Seattle'\n[[spot]]\nname = 'bench'\nsun_from = '08:00Z'\nsun_to = 16\n",
            [
                "spot[1].sun_from: found 08:00:00+00:00; right would be by the garden's clock, such as 08:00:00",
                "spot[1].sun_to: found 16; right would be hours and minutes, such as 9:30",
            ],
        ),
    ],
)  # fmt: skip
def test_all_faults_of_a_garden_file_are_told_at_once(
    leafclock: Program, text: str, lines: list[str]
) -> None:
    Path("court.toml").write_text(text, encoding="utf-8")
    answer = leafclock("start", "--from", "court.toml", "--today", DAY)
    assert_refused(answer, *(f"court.toml: {line}" for line in lines))
    assert files() == {"court.toml"}


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [": has no column 'species'; right would be a header such as: species,label,aim,size,vigour"]),
        ("species,label\n\n", [": holds no trees; right would be one line for each tree below the header"]),
        (
            "species,label,vigour,colour,last_repot\nblack pine,P,7,red,2015-02-30\nblack pine,Q,3,,,\n",
            [
                " line 2: vigour: found '7'; right would be at most 5",
                f" line 2: last_repot: '2015-02-30' {NO_DAY}",
                " line 2: colour: no such key; right would be one of species, label, cultivar, aim, vigour, size, spot, pot, pot_litres, last_repot",
                " line 3: too many cells: no such key; right would be one of species, label, cultivar, aim, vigour, size, spot, pot, pot_litres, last_repot",
            ],
        ),
        (
            "species,label\nmapel,P\nblack pine,p\nblack pine,Japanese maple 1\n",
            [
                ": species: found 'mapel', not known yet; the nearest known are: Trident maple, Japanese maple, Crabapple; for any other there are: Unknown conifer, Unknown deciduous tree, Unknown tropical tree",
                ": label 'p' stands twice; right would be one label for each tree",
                ": label 'Japanese maple 1' is that of another tree of the garden; right would be one of its own",
            ],
        ),
    ],
)  # fmt: skip
def test_trees_of_a_file_come_all_or_none(garden: Program, text: str, lines: list[str]) -> None:
    Path("trees.csv").write_text(text, encoding="utf-8")
    before = rows()
    assert_refused(garden("tree", "import", "trees.csv"), *(f"trees.csv{line}" for line in lines))
    assert rows() == before


def test_a_change_from_before_a_tree_joined_is_refused(garden: Program) -> None:
    before = rows()
    answer = garden("tree", "change", "Japanese maple 1", "--vigour", "5", "--day", "2015-01-10")
    assert_refused(
        answer, f"Japanese maple 1 joined on {DAY}; right would be a day from then on, not 2015-01-10"
    )
    assert rows() == before


def test_what_is_no_database_is_left_alone(leafclock: Program, garden: Program) -> None:
    assert_refused(
        leafclock("plan", "--db", "gardn.db"),
        "gardn.db: there is no such database yet; right would be another, or: leafclock start",
    )
    text = "a letter, not a database\n" * 100
    Path("letter.txt").write_text(text, encoding="utf-8")
    assert_refused(
        garden("plan", "--db", "letter.txt"),
        "letter.txt: file is not a database: choose a database of this program, or a file that does not exist yet",
    )
    assert Path("letter.txt").read_text(encoding="utf-8") == text
    with closing(sqlite3.connect("other.db")) as connection, connection:
        connection.execute("CREATE TABLE birds (name TEXT)")
    before = rows("other.db")
    assert_refused(
        garden("plan", "--db", "other.db"),
        "other.db: another program's database (table birds): choose a new or empty one",
    )
    assert rows("other.db") == before
    with closing(sqlite3.connect("garden.db")) as connection, connection:
        connection.execute("UPDATE leafclock_version SET version_num = '9999'")
    before = rows()
    newer = garden("plan")
    assert newer.status == 2
    assert newer.err.startswith("leafclock: garden.db: written by a newer version of this program")
    assert rows() == before
    assert files() == {"garden.db", "letter.txt", "other.db"}


def test_a_file_that_cannot_be_written_leaves_what_was_published(garden: Program) -> None:
    if os.getuid() == 0:
        target = Path("/proc/bench.ics")  # root may write anywhere else
    else:
        target = Path("closed/bench.ics")
        Path("closed").mkdir(mode=0o500)
    before = rows()
    answer = garden("calendar", str(target))
    assert answer.status == 2
    assert len(answer.err.splitlines()) == 1
    assert rows() == before


@pytest.mark.slow
def test_ten_thousand_trees_are_a_paste_like_any_other(garden: Program) -> None:
    pasted = "\n".join(["500 black pine small"] * 20)
    added = garden("tree", "add", pasted)
    assert added.status == 0
    with closing(sqlite3.connect("garden.db")) as connection:
        (count,) = connection.execute("SELECT count(*) FROM tree").fetchone()
    assert count == 10_005


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("plan", "--weeks", "0"), "'--weeks'"),
        (("start", "--lat", "north"), "'--lat'"),
        (("calendar",), "'FILE.ics'"),
        (("prune",), "'prune'"),
    ],
)
def test_wrong_options_and_commands_are_named(garden: Program, words: tuple[str, ...], named: str) -> None:
    answer = garden(*words)
    assert (answer.status, answer.out) == (2, "")
    assert named in answer.err.splitlines()[-1]


def test_hostile_words_are_repeated_but_not_obeyed(garden: Program) -> None:
    answer = garden("tree", "show", "\x1b]0;owned\x07\x1b[2J\u009b31m")
    assert answer.status == 2
    assert not [sign for sign in answer.err if sign != "\n" and not sign.isprintable()]


def test_who_pastes_a_book_is_not_sent_it_back(garden: Program) -> None:
    refused = garden("tree", "add", "x" * 100_000)
    assert refused.status == 2
    assert len(refused.err) < 2100


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ("UPDATE entry SET happened = '2015-02-45'", "holds '2015-02-45' where a day belongs"),
        ("UPDATE entry SET happened = 20150624", "holds 20150624 where a day belongs"),
        ("UPDATE entry SET recorded_at = 'yesterday'", "holds 'yesterday' where a moment belongs"),
        ("UPDATE entry SET at = 'noon'", "holds 'noon' where a time of day belongs"),
        ("UPDATE entry SET voids = 'x'", "holds 'x' where an id belongs"),
        ("UPDATE entry SET part_ids = '{'", "holds '{' where a list of ids belongs"),
        ("UPDATE garden SET leaf_fall = 'x'", "holds 'x' where a day of the year belongs"),
        ("UPDATE spot SET horizon = '[1]'", "holds '[1]' where a list of pairs of numbers belongs"),
    ],
)
def test_a_row_that_was_changed_by_hand_is_one_line(garden: Program, change: str, found: str) -> None:
    with closing(sqlite3.connect("garden.db")) as connection, connection:
        assert connection.execute(change).rowcount
    before = rows()
    right = "no whole copy lies beside it; look for one made with 'leafclock backup'"
    for words in (("due",), ("log", "all", "wire"), ("calendar", "bench.ics")):
        assert_refused(garden(*words), f"garden.db: {found}: {right}")
    assert rows() == before
    assert files() == {"garden.db"}
