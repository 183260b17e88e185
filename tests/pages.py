"""What tests of the two pages share: a server that runs, and a browser that shows a page.

A module with a fixture ``desk`` has it served, one with a fixture ``written`` has that file shown.
"""

import base64
import contextlib
import threading

import numpy as np
import pytest
from browser import Browser


def unpacked(table):
    """Return the rows of a packed table of the page's data, as its documentation has them."""
    return np.frombuffer(base64.b64decode(table["packed"]), "<i4").reshape(-1, table["columns"])


@contextlib.contextmanager
def serving(desk, **more):
    """Serve a desk until the block is left."""
    from gaitgen.page.server import Server

    server = Server(desk, **more)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """Return a browser for all tests of a module."""
    with contextlib.closing(Browser(tmp_path_factory.mktemp("profile"))) as one:
        yield one


@pytest.fixture
def shown(browser, written):
    """Show a page that was written; nothing may be complained of, and nothing else be asked for."""
    browser.events.clear()
    browser.open(written.as_uri())
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == [written.as_uri()]


@pytest.fixture
def served(browser, desk):
    """Serve a desk and show its page."""
    with serving(desk) as server:
        browser.events.clear()
        browser.open(server.url)
        yield server
        browser.open("about:blank")
