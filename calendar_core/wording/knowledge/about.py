"""What the program tells of itself: how dates, warnings and numbers come about, in a grower's words.

Figures that config/ or the model holds are filled in, so that a page cannot tell other ones than the program goes by.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.science.year.stages import RATES
from calendar_core.weather.traces import YEARS_ENOUGH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.wording.style import Style

PAGES: dict[str, str] = {
    "dates": "How stages, windows and moves are dated, and how sure that is.",
    "warnings": "What is judged, when you are told, and what a warning cannot do.",
    "numbers": "What the figures rest on, and where each of them can be read.",
    "serving": "How phones reach the pages of leafclock serve by TLS: three ways, with the lines to copy.",
}
"""The pages by name, each with what it tells."""

_TEXTS: dict[str, dict[str, str]] = {
    "dates": {
        "Stages of the year": (
            "Buds break, leaves come and flowers open when a tree has had enough heat. Each day counts by how far "
            "its mean is above {base} degC, and for more as days grow longer; the sum begins at the winter solstice. "
            "After a cold winter a little less heat is enough. A mild winter never keeps spring away, but where there "
            "is no winter at all no spring is foretold until you write down what you see.\n"
            "All woody species share this one rule, and a species or a tree differs only in the heat it needs. The "
            "rule was fitted to twelve springs of Harvard Forest in Massachusetts (J. O'Keefe, CC BY) and to "
            "cameras above North American woods. Camellias go by warmth since New Year, tropical trees by their "
            "nights, the end of growth by the length of day, colour and leaf fall by the climate of your place."
        ),
        "What you see": (
            "A new tree has the usual need of its species, with a wide range. Each date you write down with "
            "leafclock seen moves the need of that tree and narrows its dates; to have looked and found buds still "
            "closed tells something too. In the records on which this was tried, three springs of a tree's own "
            "brought the error down to between 3.4 and 5 days."
        ),
        "Weather": (
            "Dates rest on possible years: what was measured up to today, then the forecast, then what each past "
            "year did from here on. With fewer than {enough} past years the months of those there are get shuffled; "
            "with none the monthly normals of the nearest bundled place stand in (leafclock places). The plan says "
            "which. No forecast takes the place of what was measured, and what cannot be true is left out: "
            "leafclock weather check lists it.\n"
            "Past days and forecasts come from Open-Meteo (CC BY 4.0, free for private use, with ERA5 of the "
            "Copernicus Climate Change Service), forecasts also from the US National Weather Service or MET Norway, "
            "station records from the daily archive of NOAA. Your coordinates leave the machine rounded to two "
            "decimals, no closer than about a kilometre."
        ),
        "Windows of work": (
            "A window opens and closes with a stage, a length of day, weeks before frost, or work that was done "
            "before. First frost means {frost} degC at the height of a weather screen. Work that takes leaves has a "
            "last safe day: the earliest of so many weeks before first frost, the heat that new leaves still need, "
            "and the weeks to leaf out again before growth stops with the shortening days. The plan says which of "
            "them it was."
        ),
        "Where trees stand": (
            "Each day a tree's place is held against what the tree bears: one night below the line that protects its "
            "roots, a day that would kill them, nights too cool for a fig, days that scorch. You are asked to bring "
            "it in, or to shade it, when that is likely enough within the {look} days until you look again: {night} "
            "for a night below the line, far less for what kills. A move that is not made stays first in every list "
            "until the tree stands safe."
        ),
        "How sure": (
            "Every date stands with the days between which it falls 8 times in 10, as far as that could be tried, "
            "and every window with the chance that there is one. From about thirty days ahead on no date is surer "
            "than the tree's own usual one. For most bonsai species nobody has published the heat their leaves "
            "need, and trees in pots run ahead of trees in the ground. Where dates were held against what people "
            "saw, hits and misses stand in a table of DEVELOPERS.md."
        ),
    },
    "warnings": {
        "What is judged": (
            "Every tree, hour by hour, where it stands: heat on leaves, more light than the tree is used to, hot and "
            "frozen root balls, drying out, frost on buds and leaves, cold nights for trees of warm countries, wind, "
            "and hail where the weather service tells of it. Twenty courses of the weather are laid around the "
            "forecast, as far apart as forecasts err; a chance is the share of them that do harm."
        ),
        "How it is worked out": (
            "A leaf is as hot as sun, wind and the water it gives off leave it (Campbell and Norman 1998). A root "
            "ball is worked out in three shells, whose water freezes and thaws. A pot dries as a short lawn would in "
            "the same sun and wind (FAO paper 56), by the size of the crown. This is held against published values. "
            "The lines beyond which harm begins are mostly estimates, since no scorch temperature is published for "
            "any bonsai species: config/exposure.toml and the profiles hold them, for you to change."
        ),
        "When you are told": (
            "Danger is told from {danger} on, lesser harm from {caution}, no earlier than {ahead} hours ahead. A "
            "warning changes only where you would do something else, {most} times at most unless a new danger "
            "comes, and is withdrawn when {withdrawn} forecasts in a row no longer find it. Where one move helps "
            "against two things it is asked once. Your quiet hours hold back all but danger that begins before "
            "they end.\n"
            "At {digest} a digest says what stands, when that was judged and on which forecast, so that silence is "
            "not taken for safety. A forecast older than {stale} hours is called too old to judge by, and {silence} "
            "hours without a judgement are told."
        ),
        "What to do": (
            "A warning names the smallest move that keeps a tree below its line, among your own spots: shade the "
            "pot, move it out of the sun, take it in. It stands in your calendar with its hour, and so does the way "
            "back once the move is made. Write moves down, since a tree is judged where the log says it stands."
        ),
        "What it cannot do": (
            "Warnings advise. Official warnings, product labels and local rules come first. Forecasts err, sensors "
            "and mail fail: no tree and no person is safe because no warning was sent."
        ),
    },
    "numbers": {
        "What they rest on": (
            "Every figure in config/ says what it rests on. Of those in the profiles of species {published} are "
            "published, {fitted} were fitted to records, {common_practice} are common practice among growers, "
            "{from_memory} stand there from memory, and {estimate} are estimates that say how they were made. A "
            "figure that species share counts for each."
        ),
        "Where to read them": (
            "Type leafclock species show with a name for all that is known of a species, with the source of each "
            "figure, and leafclock why with the name of an item for what decided it. Type leafclock audit for the "
            "doubtful figures that move most of your dates, and leafclock choices for the questions on which "
            "growers differ: the answer is yours."
        ),
        "What follows work": (
            "Which looks follow which work, how often, until when, and what to do if a look goes badly stands in "
            "config/aftercare.toml. A wound closes along a line in the heat of the growing season, by the widths "
            "that Neely published in 1979 until your own measurements say better. No graft is severed on a date "
            "alone. Held shoots come back when enough warmth has passed for them to have grown out, at the pace "
            "that you counted."
        ),
        "What trees bear": (
            "How heavy each kind of work weighs, how long a tree takes to recover and what is kept apart stands in "
            "config/spacing.toml, strengths and pauses of fertilizing in config/feeding.toml. A weak tree bears "
            "less, and gets less. Leafclock never gives a dose of a pesticide."
        ),
        "Sources": (
            "Publications and pages are listed in config/sources.toml, each with its address and the day it was "
            "read. Where the data files come from, and on what terms, stands in DEVELOPERS.md."
        ),
    },
    "serving": {
        "What holds in each": (
            "By itself leafclock serve answers this machine alone. Whoever else is to come in needs a key, so make one first: "
            "leafclock key add owner 'my phone', or leafclock key password. Once there is one, this machine needs it too.\n"
            "Without TLS whoever is on the way can read pages and keys, and a phone does not install the page, keep "
            "entries or take warnings. Each of these ways gives TLS; take the first if you do not have the others.\n"
            "--name is the name by which phones ask; another name is not answered to. leafclock serve --unit with the "
            "same options prints a service file, so that it runs day and night."
        ),
        "A private network": (
            "Only your own devices are in it, and nothing is open to the world. With Tailscale, whose name for this "
            "machine is taken to be garden.example.ts.net:\n"
            "    leafclock serve --name garden.example.ts.net\n"
            "    tailscale serve --bg 8420\n"
            "With WireGuard, whose address of this machine is taken to be 10.0.0.1, the network itself encrypts, but "
            "browsers call it plain: pages can be read and written, not installed.\n"
            "    leafclock serve --host 10.0.0.1"
        ),
        "A reverse proxy": (
            "On this machine, in front of: leafclock serve --name garden.example.org\n"
            "It has to pass on the name it was asked by (Host), and that it was asked by https (X-Forwarded-Proto), so that "
            "cookies are for https alone. Caddy does both, and fetches its certificate. Caddyfile:\n"
            "    garden.example.org {{\n"
            "        reverse_proxy 127.0.0.1:8420\n"
            "    }}\n"
            "nginx, with certificates of your own, in a server block:\n"
            "    server_name garden.example.org;\n"
            "    listen 443 ssl;\n"
            "    location / {{\n"
            "        proxy_pass http://127.0.0.1:8420;\n"
            "        proxy_http_version 1.1;\n"
            "        proxy_set_header Host $host;\n"
            "        proxy_set_header X-Forwarded-For $remote_addr;\n"
            "        proxy_set_header X-Forwarded-Proto $scheme;\n"
            "        client_max_body_size 2m;\n"
            "    }}\n"
            "What comes with X-Forwarded-For, Forwarded, Via or their like, or by HTTP/1.0, counts as from outside: it needs "
            "a key even while none is made. A bare tunnel that adds nothing, such as ssh -R, cannot be told from this "
            "machine: make a key before you open one."
        ),
        "A certificate of its own": (
            "A home server that has one for its name shows it itself, without a proxy; both files are PEM. After they were "
            "renewed, start the service again.\n"
            "    leafclock serve --host 0.0.0.0 --name garden.example.org \\\n"
            "      --certificate fullchain.pem --certificate-key privkey.pem"
        ),
    },
}


def values(known: Knowledge, shares: Mapping[str, float], style: Style) -> dict[str, str]:
    """Return the figures that pages name, written out; ``shares`` of the profiles' numbers by their basis."""
    rules, places = known.warnings, known.places
    return {
        "base": f"{RATES.base_c:g}",
        "enough": style.count(YEARS_ENOUGH),
        "frost": f"{known.hazards.frost['first_frost'].screen_min_c:g}",
        "look": style.count(places.look_days.value),
        "night": style.chance(places.risk["night"].into),
        "danger": style.chance(rules.danger.raised_from),
        "caution": style.chance(rules.caution.raised_from),
        "ahead": f"{rules.ahead_h.value:g}",
        "most": style.count(rules.change.most),
        "withdrawn": style.count(rules.withdrawn_after.value),
        "digest": f"{rules.digest.at:%H:%M}",
        "stale": f"{rules.stale_h.value:g}",
        "silence": f"{rules.silence_h.value:g}",
        **{basis.replace(" ", "_"): _share(share, style) for basis, share in shares.items()},
    }


def _share(share: float, style: Style) -> str:
    return style.translate("less than 1 %") if 0 < share < 0.005 else f"{share * 100:.0f} %"


def page(topic: str, values: Mapping[str, str], style: Style) -> list[tuple[str, str]]:
    """Return the headings of a page with their texts, filled with what `values` returns."""
    return [
        (style.translate(heading), style.text(style.translate(text).format_map(values)))
        for heading, text in _TEXTS[topic].items()
    ]
