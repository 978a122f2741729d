"""The figures that a built site tells, page by page, read as a person reads them.

In: the files of a site. Out: checks that pages and data agree to the digits they show. Nothing
here is computed by the program: pages are read by their words, data by standard readers.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from html.parser import HTMLParser

import pytest

_UNSEEN = {"script", "style", "svg", "title"}
_BLOCKS = {"p", "li", "tr", "h1", "h2", "h3", "div", "dl", "summary", "table", "td", "th", "dd"}
_EMPTY = {"meta", "link", "input", "br", "img", "col", "path", "rect", "use"}

_OPENING = re.compile(
    r"Start: (?P<start>.+), (?P<day>\d+ \w+ \d{4})(?: \(good from (?P<first>[^()]+) to "
    r"(?P<last>[^()]+)\)| \(no day beside it is as good\))?"
    r"(?:, first camp on (?P<camp>\d+ \w+))?\. Kit: (?P<kit>.+?)\. "
    r"About (?P<rough>\d+) of (?P<nights>\d+) nights will be rough, in four journeys of five "
    r"between (?P<low>\d+) and (?P<high>\d+)\."
)


@cache
def page_text(page: bytes) -> str:
    """Return what a page says in metric units, blocks on lines of their own."""
    reader = _Reader()
    reader.feed(page.decode())
    plain = "".join(reader.pieces).translate({0x202F: " ", 0xA0: " ", 0xAD: None})
    return "\n".join(filter(None, (" ".join(line.split()) for line in plain.splitlines())))


class _Reader(HTMLParser):
    """Keeps what a reader in metric units sees; the pages close every element that they open."""

    def __init__(self):
        super().__init__()
        self.pieces: list[str] = []
        self.hidden: list[bool] = []

    def handle_starttag(self, tag, attrs):
        if tag in _BLOCKS:
            self.pieces.append("\n")
        if tag not in _EMPTY:
            unseen = tag in _UNSEEN or "imperial" in (dict(attrs).get("class") or "").split()
            self.hidden.append(unseen or self.hidden[-1:] == [True])

    def handle_startendtag(self, tag, attrs):
        """Nothing is inside."""

    def handle_endtag(self, tag):
        self.hidden.pop()
        if tag in _BLOCKS:
            self.pieces.append("\n")

    def handle_data(self, data):
        if self.hidden[-1:] != [True]:
            self.pieces.append(data)


def _number(text: str) -> float:
    """Return a printed number; its thousands are set apart by spaces."""
    return float(text.replace(" ", ""))


def _day(text: str, year: int) -> date:
    """Return a date in words, of a year where it tells none."""
    told = text if re.search(r"\d{4}$", text) else f"{text} {year}"
    return datetime.strptime(told, "%d %B %Y").date()


def _fact(opening: str, *labels: str) -> str:
    """Return what a line of the first screen says; empty where there is none."""
    for label in labels:
        found = re.search(rf"^{label}\n(.+)$", opening, re.M)
        if found:
            return found[1]
    return ""


def _odds(words: str) -> tuple[float, float]:
    """Return the smallest and largest chance of a dangerous night that odds in words allow."""
    found = re.search(r"(\w+) 1 night in (\d+)", words)
    if found is None:
        found = re.search(r"bout (\d+) of (\d+) nights", words)
        share = int(found[1]) / int(found[2])
        return share * 0.85, share * 1.15
    share = 1 / int(found[2])
    return (0.0, share) if found[1].lower() == "under" else (share * 0.85, share * 1.15)


def assert_figures_agree(files: Mapping[str, bytes]) -> None:
    """Compare every figure of the first screen with the other pages and the data."""
    plan = page_text(files["index.html"])
    opening = plan[plan.index("Start: ") : plan.index("week by week")]
    told = _OPENING.search(opening).groupdict()
    data = json.loads(files["plan.json"])
    _dates(told, data)
    _nights(told, data, files)
    _danger(opening, data, files)
    _remedy(opening, data)
    _better_kit(opening, told, data, page_text(files["kits.html"]))
    _load(opening, data, page_text(files["load.html"]))
    _money(opening, data, files)
    assert opening in page_text(files["one-file.html"])


def _dates(told, data):
    """The day of departure, the good window about it, the leg that starts."""
    day = _day(told["day"], 0)
    assert day.isoformat() == data["depart"] == data["legs"][0]["arrive"]
    reached = _day(told["camp"], day.year) if told["camp"] else day
    assert reached.isoformat() == data["legs"][0]["camp_reached"]
    assert told["start"] == data["legs"][0]["name"]
    assert told["kit"] == data["kit"]
    first, last = (date.fromisoformat(data["good_window"][end]) for end in ("first", "last"))
    assert first <= day <= last
    if told["first"]:
        assert _day(told["last"], day.year) == last
        # "20 to 22 October" has its month once.
        start = told["first"] if " " in told["first"] else f"{told['first']} {last:%B %Y}"
        assert _day(start, day.year) == first
    else:
        assert first == last


def _nights(told, data, files):
    """Nights, rough ones and their range, in all and leg by leg."""
    rows = list(csv.DictReader(io.StringIO(files["plan.csv"].decode("utf-8-sig"))))
    assert int(told["nights"]) == data["nights"] == sum(int(row["nights"]) for row in rows)
    assert int(told["rough"]) == round(data["rough_nights"])
    assert sum(float(row["rough_nights"]) for row in rows) == pytest.approx(
        data["rough_nights"], abs=1e-4
    )
    low, high = data["rough_nights_range"]
    assert (int(told["low"]), int(told["high"])) == (round(low), round(high))
    assert low <= data["rough_nights"] <= high
    assert_legs_agree(files)


def assert_legs_agree(files: Mapping[str, bytes]) -> None:
    """Compare each leg's rough nights on Plan, Calendar and its region's page with the data."""
    data = json.loads(files["plan.json"])
    calendar, plan = (page_text(files[f"{name}.html"]) for name in ("calendar", "index"))
    regions = "\n".join(page_text(page) for name, page in files.items() if "region-" in name)
    for leg in data["legs"]:
        rough, name = f"{leg['rough_nights']:.1f}", re.escape(leg["name"])
        assert re.search(rf"^{name}\n.*\n{rough} of {leg['nights']}$", calendar, re.M), name
        assert re.search(rf"^{name}\b.*{rough} of {leg['nights']} rough", plan, re.M), name
        assert re.search(
            rf"^{name}: .*, {leg['nights']} nights?, about {rough} .*of them rough", regions, re.M
        ), name


def _danger(opening, data, files):
    """Odds in words hold the expected number; nights under hazards are counted alike."""
    rows = list(csv.DictReader(io.StringIO(files["plan.csv"].decode("utf-8-sig"))))
    expected = data["dangerous_nights"]
    assert sum(float(row["dangerous_nights"]) for row in rows) == pytest.approx(expected, abs=1e-4)
    least, most = _odds(_fact(opening, "Danger"))
    assert least * data["nights"] <= expected <= most * data["nights"]
    serious = re.search(r"^(\d+) nights? under", _fact(opening, "Hazards"))
    counted = int(serious[1]) if serious else 0
    assert counted == data["serious_nights"] == sum(int(row["serious_nights"]) for row in rows)


def _remedy(opening, data):
    """What helps, its price and the nights it saves."""
    helps, remedy = _fact(opening, "What helps"), data["remedy"] or data["helps_a_little"]
    if remedy is None:
        assert helps == "Nothing does noticeably."
        return
    price, saved = re.search(r", ([\d ]+) \w+: (under|about) (\d+) rough nights?", helps).group(
        1, 3
    )
    assert _number(price) == round(remedy["price"])
    assert int(saved) == max(1, round(remedy["nights_saved"]))
    assert ("danger" in helps) is remedy["ends_danger"]


def _kit_rows(kits: str) -> list[dict[str, str]]:
    """Return the rows of Kits' table: name with its tags, rough, dangerous, bought and landed."""
    row = r"^\d+\. (?P<name>.+)\n(?P<rough>[\d.]+).*\n(?P<danger>[\d.]+).*\n(?P<bought>[\d ]+) \w"
    return [found.groupdict() for found in re.finditer(row, kits, re.M)]


def _planned(kits: str) -> dict[str, str]:
    """Return the row of the kit of the plan."""
    (row,) = (one for one in _kit_rows(kits) if "planned with" in one["name"])
    return row


def _better_kit(opening, told, data, kits):
    """Both kits' rough nights stand on Kits too, and the opening has the plan's own."""
    better = _fact(opening, "Better kit", "Safer kit", "Kit that can go")
    mine, row = f"{data['rough_nights']:.1f}", _planned(kits)
    assert row["name"].startswith(told["kit"]) and row["rough"] == mine
    assert row["danger"] == f"{data['dangerous_nights']:.1f}"
    if better:
        title, theirs, own = re.search(
            r"^(.+?): ([\d.]+) rough nights instead of ([\d.]+)", better
        ).groups()
        assert own == mine
        (other,) = (one for one in _kit_rows(kits) if re.search("(better|safer) kit", one["name"]))
        assert other["name"].startswith(title) and other["rough"] == theirs


def _load(opening, data, load):
    """The margin, and the leg that leaves the least."""
    spare = re.search(r"^([\d ]+) kg under .* start, (.+)\.$", _fact(opening, "Load"))
    over = re.search(r"^([\d ]+) kg over the rated mass on (.+)\.$", _fact(opening, "Overload"))
    if spare:
        assert _number(spare[1]) == data["load_margin_kg"] // 1
    elif over:
        assert -_number(over[1]) == data["load_margin_kg"] // 1
    else:
        assert data["load_margin_kg"] is None and "nknown" in _fact(opening, "Load")
        return
    amount, leg = (spare or over).groups()
    assert re.search(rf"\b{amount} kg\b", load) and leg in load


def _money(opening, data, files):
    """What the kit costs on Kits and the fuel costs on Load, together; the budget."""
    told = _fact(opening, "Money")
    spent = re.search(r"^([\d ]+|unknown)(?: (\w+))? for the kit and all fuel", told)[1]
    assert (spent == "unknown") is (data["money"]["kit_and_fuel"] is None)
    if spent != "unknown":
        assert _number(spent) == round(data["money"]["kit_and_fuel"])
    budget = re.search(r"a budget of ([\d ]+) ", told)
    assert (budget is None) is (data["money"]["budget"] is None)
    if budget is not None:
        assert _number(budget[1]) == data["money"]["budget"]
        assert ("over a budget" in told) is (_number(spent) > _number(budget[1]))
    kits, load = page_text(files["kits.html"]), page_text(files["load.html"])
    bought = _number(_planned(kits)["bought"])
    fuel = re.search(r"^In all\n(?:.*\n){2}([\d ]+) ", load, re.M)
    if spent != "unknown":
        assert _number(spent) == pytest.approx(bought + _number(fuel[1]), abs=2)
