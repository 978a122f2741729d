"""The preview: built, served on this machine alone, built again on saving."""

import json
import threading
import time
import urllib.error
import urllib.request
from http.client import HTTPConnection

import pytest
from small_trips import leg, saved, stored, trip

from sheltermap.preview import Preview, served, watched

GOOD = trip(leg("Karst fields"))
BAD = GOOD.replace("nights = 4", "nights = <b>")


def got(address, path=""):
    """Return what a browser gets."""
    with urllib.request.urlopen(address + path, timeout=20) as answer:
        return answer.read().decode(), answer.headers


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """Return a preview of a small trip that watches and serves, and its address."""
    folder, room = tmp_path_factory.mktemp("trip"), tmp_path_factory.mktemp("room")
    saved(folder, GOOD)
    preview, stop = Preview(folder, room, stored(folder)), threading.Event()
    with served(preview) as address:
        watching = threading.Thread(target=watched, args=(preview, lambda _: None, stop))
        watching.start()
        yield preview, address, folder
        stop.set()
        watching.join()


def news(address, seen):
    """Return the news after a version."""
    return json.loads(got(address, f"state?seen={seen}")[0])


def test_the_site_is_built_and_shown(shown):
    """The frame, its script, and the first page of the site."""
    _, address, _ = shown
    assert news(address, 0) == {"version": 1, "built": True, "problems": [], "doubts": []}
    page, headers = got(address)
    assert "<iframe" in page and "default-src 'none'" in headers["Content-Security-Policy"]
    assert "fetch(" in got(address, "preview.js")[0]
    assert "Karst fields" in got(address, "site/index.html")[0]


def test_saving_builds_again_and_a_broken_file_is_told(shown):
    """A problem stands on the page, the last site stays, and mending it goes on."""
    preview, address, folder = shown
    seen = preview.version
    saved(folder, BAD)
    broken = news(address, seen)
    assert broken["version"] == seen + 1 and broken["built"]
    (problem,) = broken["problems"]
    line = BAD.split("\n").index("nights = <b>") + 1
    assert f", line {line}: expected valid TOML, got 'nights = <b>'" in problem
    assert "Karst fields" in got(address, "site/index.html")[0]
    saved(folder, GOOD.replace("Karst fields", "Salt lake"))
    mended = news(address, seen + 1)
    assert mended["problems"] == []
    assert "Salt lake" in got(address, "site/index.html")[0]


def test_files_beside_the_trip_count_too(shown):
    """A region that is drawn anew changes the plan; what is no input does not."""
    preview, address, folder = shown
    seen = preview.version
    (folder / "notes.txt").write_text("x", encoding="utf-8")
    time.sleep(1)
    assert preview.version == seen
    (folder / "regions.geojson").write_text("{}", encoding="utf-8")
    assert news(address, seen)["version"] == seen + 1


@pytest.mark.parametrize("host", ["example.org", "", "127.0.0.1.example.org"])
def test_it_answers_to_its_own_name_only(shown, host):
    """A page of another host that points its name here would else read the plan."""
    _, address, _ = shown
    there = HTTPConnection(address.split("/")[2])
    there.putrequest("GET", "/site/index.html", skip_host=True)
    there.putheader("Host", host)
    there.endheaders()
    with there.getresponse() as answer:
        assert answer.status == 403
    there.close()


@pytest.mark.parametrize("path", ["../trip.toml", "site/../../x", "other", "site/%2e%2e/%2e%2e/x"])
def test_nothing_else_is_served(shown, path):
    """Only the site lies open."""
    with pytest.raises(urllib.error.HTTPError) as raised:
        got(shown[1], path)
    with raised.value as refused:
        assert refused.code in (403, 404)


def test_it_listens_here_only(shown):
    """No other machine can ask."""
    assert shown[1].startswith("http://127.0.0.1:")
