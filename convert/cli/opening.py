"""What ``ownblock open`` does; imported only then."""

import contextlib
import html
import json
import os
import re
import secrets
import socket
import threading
import webbrowser
from pathlib import Path

import click
import uvicorn

from calibration.ground.errors import InputError, OutputError, WordsError
from calibration.ground.files import write_atomically
from convert.job.job import JOB_FILE
from convert.page.app import create_app
from convert.page.server.openings import Openings

HOST = "127.0.0.1"
_CLOSING_S = 2  # an open page listens for news without end, and would hold the program for ever
_KNOCK_S = 0.5  # for a program on this machine to answer
HOME = Path.home() / "ownblock"
DOOR = "Open ownblock.html"
"""The file that opens the page while ownblock runs: read by its owner alone, it keeps the address out of every list of
processes, where a browser's own words can be seen by all."""


def open_page(folder: Path | None, *, port: int, browser: bool) -> int:
    """Serve the page until it is stopped; the exit code. If it is served already, it is opened once more.

    Raises
    ------
    InputError
        If the folder is none.
    """
    home = folder or HOME
    if folder is not None and not folder.is_dir():
        raise InputError(f"There is no folder {folder}.", "Give a job's folder, or a folder of jobs, or none.")
    if browser and port == 0 and _open_already(home):
        click.echo("ownblock is running already; its page is opened once more.", err=True)
        webbrowser.open((HOME / DOOR).as_uri())
        return 0
    os.umask(0o077)  # measurements are personal: what is written from here on is its owner's alone
    settings = uvicorn.Config(
        "unset",
        host=HOST,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=_CLOSING_S,
    )
    try:
        listening = settings.bind_socket()
    except SystemExit as err:  # it has said why in its own words
        raise WordsError(f"The page can't be opened at port {port}.", "Choose another port, or leave it out.") from err
    listening.listen()  # from here on the browser waits its turn instead of being refused
    own_port = listening.getsockname()[1]
    server = uvicorn.Server(settings)
    openings = Openings(used=lambda: _write_door(home, own_port, openings) if browser else None)
    settings.app = create_app(
        home,
        token=secrets.token_urlsafe(32),
        port=own_port,
        new_in=HOME if (home / JOB_FILE).is_file() else None,
        openings=openings,
        stop=lambda: setattr(server, "should_exit", True),
    )
    click.echo(f"The page is open at {_address(own_port, openings)}", err=True)
    click.echo("Leave this window open while you work; Ctrl+C here closes the page.", err=True)
    if browser:
        _write_door(home, own_port, openings)
        threading.Timer(0.3, webbrowser.open, [(HOME / DOOR).as_uri()]).start()
    with contextlib.suppress(KeyboardInterrupt):  # that is how it is closed
        server.run(sockets=[listening])
    if browser:
        (HOME / DOOR).unlink(missing_ok=True)
    return 0


def _address(port: int, openings: Openings) -> str:
    return f"http://{HOST}:{port}/?token={openings.new()}"


def _write_door(home: Path, port: int, openings: Openings) -> None:
    """A file that leads to the page by a name that nobody has used yet."""
    address = html.escape(_address(port, openings))
    told = json.dumps({"home": str(home.resolve()), "port": port}).replace("-->", "")
    with contextlib.suppress(OSError, OutputError):  # without it the printed address still opens the page
        HOME.mkdir(parents=True, exist_ok=True)
        write_atomically(
            HOME / DOOR,
            f'<!doctype html><!-- {told} --><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
            f'<meta http-equiv="refresh" content="0; url={address}"><title>ownblock</title>'
            f'<p><a href="{address}">To ownblock</a></p>',
        )


def _open_already(home: Path) -> bool:
    """Whether the page of this folder is served by an earlier start."""
    try:
        found = re.search(r"<!-- (\{.*?\}) -->", (HOME / DOOR).read_text(encoding="utf-8"))
        told = json.loads(found[1]) if found else {}
        if told.get("home") != str(home.resolve()):
            return False
        with socket.create_connection((HOST, int(told["port"])), timeout=_KNOCK_S):
            return True
    except (OSError, ValueError, KeyError, TypeError):
        return False
