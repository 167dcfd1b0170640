"""What ``ownblock open`` does; imported only then."""

import contextlib
import secrets
import threading
import webbrowser
from pathlib import Path

import click
import uvicorn

from calibration.ground.errors import InputError, WordsError
from convert.job.job import JOB_FILE
from convert.page.app import create_app

HOST = "127.0.0.1"
_CLOSING_S = 2  # an open page listens for news without end, and would hold the program for ever
HOME = Path.home() / "ownblock"


def open_page(folder: Path | None, *, port: int, browser: bool) -> int:
    """Serve the page until it is interrupted; the exit code.

    Raises
    ------
    InputError
        If the folder is none.
    """
    home = folder or HOME
    if folder is not None and not folder.is_dir():
        raise InputError(f"There is no folder {folder}.", "Give a job's folder, or a folder of jobs, or none.")
    token = secrets.token_urlsafe(32)
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
    single = (home / JOB_FILE).is_file()
    settings.app = create_app(home, token=token, port=own_port, new_in=HOME if single else None)
    address = f"http://{HOST}:{own_port}/?token={token}"
    click.echo(f"The page is open at {address}", err=True)
    click.echo("Leave this window open while you work; Ctrl+C here closes the page.", err=True)
    if browser:
        threading.Timer(0.3, webbrowser.open, [address]).start()
    with contextlib.suppress(KeyboardInterrupt):  # that is how it is closed
        uvicorn.Server(settings).run(sockets=[listening])
    return 0
