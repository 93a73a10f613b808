"""Phones without a phone: the pages in this process, and a server in another."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.testclient import TestClient

from lapping.log.opening import open_log
from lapping.phone.app import application
from lapping.phone.guard import Door
from lapping.phone.keys import Keys
from lapping.phone.shop import Shop

ROOT = Path(__file__).resolve().parents[1]
HOST = "127.0.0.1:8452"
HERE = {"origin": f"http://{HOST}"}
SECRET = "a-secret-for-tests-that-is-as-long-as-a-real-one"


def a_shop(path: Path, *, shared: bool = False) -> Shop:
    """Give a shop with a log, made if there is none."""
    with open_log(path):
        pass
    door = Door(
        hosts=frozenset({HOST}), keys=Keys(SECRET), shared=shared, cookie="lapping"
    )
    return Shop(path=path, door=door)


class Phone:
    """A phone with the pages of a shop; it knows the token and makes keys."""

    def __init__(self, shop: Shop, *, raises: bool = True) -> None:
        self.shop = shop
        self.client = TestClient(
            application(shop),
            base_url=f"http://{HOST}",
            follow_redirects=False,
            raise_server_exceptions=raises,
        )
        self.keys = 0

    def get(self, path: str, **headers: str):
        return self.client.get(path, headers=headers)

    def post(self, path: str, **fields: str):
        """Send a form as a page of ours does."""
        self.keys += 1
        known = {"token": self.shop.door.keys.token, "key": f"key-{self.keys}"}
        answer = self.client.post(path, data=known | fields, headers=HERE)
        went = answer.headers.get("location", "")
        # A refused form is shown at an address of its own.
        return self.get(went) if "?refused=" in went else answer

    def sent(self, path: str, **fields: str):
        """Send as our script does; the answer is JSON."""
        self.keys += 1
        known = {"token": self.shop.door.keys.token, "key": f"key-{self.keys}"}
        return self.client.post(
            path, data=known | fields, headers=HERE | {"accept": "application/json"}
        )

    def plane(self, name: str = "Bramble") -> int:
        """Set up a plane; give the number of its sole."""
        went = self.post("/plane/new", name=name, length="250", width="60", unit="mm")
        assert went.status_code == 303, went.text
        return int(went.headers["location"].rpartition("/")[2])

    def dial(self, face: int) -> int:
        """Keep a dial if there is none, and begin a set with it; give its number."""
        if "dial" not in self.get(f"/face/{face}/read").text:
            said = {"method": "dial", "answer0": "um", "answer1": "y"}
            assert self.post(f"/face/{face}/gauge", **said).status_code == 303
        went = self.post(f"/face/{face}/read", gauge="dial")
        assert went.status_code == 303, went.text
        return int(went.headers["location"].rpartition("/")[2])


@contextmanager
def serving(
    log: Path, *options: str, port: int = 0
) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Run `lapping phone` in a process of its own; give its address and the process."""
    env = dict(os.environ, OPENBLAS_NUM_THREADS="1", PYTHONUNBUFFERED="1")
    running = subprocess.Popen(
        [
            *(sys.executable, "-m", "lapping", "phone", "--log", str(log)),
            *("--port", str(port), *options),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env=env,
    )
    try:
        yield _address(running), running
    finally:
        if running.poll() is None:
            running.terminate()
        _, err = running.communicate(timeout=20)
        assert "Traceback" not in err, err


def _address(running: subprocess.Popen[str]) -> str:
    until = time.monotonic() + 60
    assert running.stdout is not None
    while time.monotonic() < until:
        line = running.stdout.readline()
        found = re.match(r"http://[\d.]+:\d+/\S*", line)
        if found:
            return found[0]
        if not line and running.poll() is not None:
            break
    running.kill()
    raise AssertionError(running.communicate()[1])
