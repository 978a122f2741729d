"""A trip's site while its file is being written: built, served here, built again on saving.

In: a trip file. Out: a page on this machine alone, with the site or with what is wrong. Assumes
one person who edits: a build begins once the files rest, and the last save counts.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from watchdog.events import FileSystemEvent, FileSystemEventHandler
from watchdog.observers import Observer

from sheltermap import pipeline
from sheltermap.files import in_folder
from sheltermap.resources import bundled
from sheltermap.told import told
from sheltermap.trip.model import reading
from sheltermap.vocabulary import InputError

HOST = "127.0.0.1"
"""This machine alone: nobody else on a network gets an answer."""

_REST_S = 0.3  # Editors save in several steps.
_LONGEST_WAIT_S = 20.0
_READING = {"opened", "closed_no_write"}  # A build reads what it watches.
_SUFFIXES = {".toml", ".geojson", ".json", ".gpx"}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "frame-src 'self'; base-uri 'none'; form-action 'none'"
)
_PAGES = ("index.html", "preview.js", "preview.css")


class Preview:
    """
    The builds of one trip, one after the other.

    Parameters
    ----------
    trip : path
        A trip file or its folder.
    room : path
        An empty folder for the site.
    climate : path, optional
        As for `pipeline.build`.

    Attributes
    ----------
    version : int
        Counts builds; 0 before the first.
    """

    def __init__(self, trip: Path, room: Path, climate: Path | None = None) -> None:
        self.trip = in_folder(trip, "trip.toml")
        self.site = room / "site"
        self.climate = climate
        self.version = 0
        self._problems: list[str] = []
        self._doubts: list[str] = []
        self._news = threading.Condition()

    def build(self) -> None:
        """Build the site; where that fails, keep the last one and what is wrong."""
        problems: list[str] = []
        doubts: list[str] = []
        try:
            report = pipeline.build(self.trip, self.site, climate=self.climate)
            doubts = list(report.doubts)
        except InputError as error:
            problems = told(error.problems)
        except Exception as error:
            # Whoever edits goes on; what no check foresaw is told as it is.
            problems = [f"{type(error).__name__}: {error}"]
        with self._news:
            self._problems, self._doubts = problems, doubts
            self.version += 1
            self._news.notify_all()

    def news(self, seen: int) -> dict:
        """
        Return what the last build came to, once there is one that was not seen.

        Parameters
        ----------
        seen : int
            Version that was seen. After a while the answer comes without a new one.

        Returns
        -------
        dict
            ``version``, ``built`` (whether there is a site), ``problems``, ``doubts``.
        """
        with self._news:
            self._news.wait_for(lambda: self.version != seen, _LONGEST_WAIT_S)
            return {
                "version": self.version,
                "built": (self.site / "index.html").is_file(),
                "problems": self._problems,
                "doubts": self._doubts,
            }

    def folders(self) -> set[Path]:
        """Return the folders of the trip and of the files that it names."""
        try:
            files = reading(self.trip).files
        except InputError:
            return {self.trip.parent}
        names = [files.regions, *files.hazards, *files.kits, files.route]
        near = {(self.trip.parent / name).parent for name in names if name}
        return {folder for folder in {self.trip.parent, *near} if folder.is_dir()}

    def stamp(self) -> dict[Path, tuple[int, int]]:
        """Return when the files that a trip may hold were changed, and their sizes."""
        found = {}
        for folder in self.folders():
            for path in folder.iterdir():
                if path.suffix.lower() in _SUFFIXES:
                    try:
                        state = path.stat()
                    except OSError:
                        continue  # Gone meanwhile.
                    found[path] = (state.st_mtime_ns, state.st_size)
        return found


class _Handler(SimpleHTTPRequestHandler):
    """Answers for one preview: its own pages, its news, the files of the site."""

    def __init__(self, preview: Preview, *args: object) -> None:
        self.preview = preview
        super().__init__(*args, directory=str(preview.site.parent))  # type: ignore[arg-type]

    def do_GET(self) -> None:
        """Answer a request."""
        where = urlsplit(self.path)
        if not self._from_here():
            self.send_error(403, "This preview answers to its own machine only")
        elif where.path == "/state":
            seen = parse_qs(where.query).get("seen", ["0"])[0]
            news = self.preview.news(int(seen) if seen.isdecimal() else 0)
            self._answer(json.dumps(news).encode(), "application/json")
        elif where.path.removeprefix("/") in ("", *_PAGES):
            self._own(where.path.removeprefix("/") or _PAGES[0])
        elif where.path.startswith("/site/"):
            super().do_GET()
        else:
            self.send_error(404)

    def do_HEAD(self) -> None:
        """Answer nothing: no page of ours asks so."""
        self.send_error(405)

    def _from_here(self) -> bool:
        """Return whether the browser asked for this machine by name.

        A page of another host that points its name here would else read the plan.
        """
        host = (self.headers.get("Host") or "").rsplit(":", 1)[0]
        return host in (HOST, "localhost")

    def _own(self, name: str) -> None:
        kinds = {".html": "text/html", ".js": "text/javascript", ".css": "text/css"}
        page = bundled("site_template") / "preview" / name
        self._answer(page.read_bytes(), f"{kinds[page.suffix]}; charset=utf-8", policy=True)

    def _answer(self, content: bytes, kind: str, policy: bool = False) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        if policy:
            self.send_header("Content-Security-Policy", _POLICY)
        self.end_headers()
        self.wfile.write(content)

    def end_headers(self) -> None:
        """Send what goes with every answer: nothing is kept, since it changes."""
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        super().end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """Keep the terminal free for what is wrong."""


class _Server(ThreadingHTTPServer):
    """A server whose terminal stays free of browsers that went away."""

    daemon_threads = True

    def handle_error(self, request: object, client_address: object) -> None:
        """Tell errors, but for connections that ended."""
        if not isinstance(sys.exception(), ConnectionError):
            super().handle_error(request, client_address)  # type: ignore[arg-type]


@contextmanager
def served(preview: Preview, port: int = 0) -> Iterator[str]:
    """
    Give the address at which a preview is served while the context lasts.

    Parameters
    ----------
    preview : Preview
    port : int
        0 takes one that is free.

    Yields
    ------
    str
    """
    with _Server((HOST, port), partial(_Handler, preview)) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"http://{HOST}:{server.server_address[1]}/"
        finally:
            server.shutdown()


class _Saved(FileSystemEventHandler):
    """Notes that something was changed in a folder that is watched; reading is no change."""

    def __init__(self) -> None:
        self.happened = threading.Event()

    def on_any_event(self, event: FileSystemEvent) -> None:
        """Note it."""
        if event.event_type not in _READING:
            self.happened.set()


def watched(preview: Preview, tell: Callable[[Preview], None], stop: threading.Event) -> None:
    """
    Build a trip now, and again whenever one of its files is saved, until told to stop.

    Parameters
    ----------
    preview : Preview
    tell : callable
        Called after each build.
    stop : threading.Event
    """
    saved, seen = _Saved(), None
    watching: set[Path] = set()
    observer = Observer()
    observer.start()
    try:
        while not stop.is_set():
            saved.happened.clear()
            for folder in preview.folders() - watching:
                observer.schedule(saved, str(folder))
                watching.add(folder)
            stamp = preview.stamp()
            if stamp != seen:
                seen = stamp
                preview.build()
                tell(preview)
            # What was saved during the build is noted already, and rests like any other.
            while not stop.is_set() and not saved.happened.wait(0.5):
                pass
            time.sleep(_REST_S)
    finally:
        observer.stop()
        observer.join()
