"""How long the phone page takes, beside what it cannot do without.

Run with ``python -m tests.benchmarks.bench_phone`` on a quiet machine.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from lapping.kept import Plane
from lapping.log.opening import open_log
from lapping.log.planes import add_face, add_plane, make_face, the_face
from tests.benchmarks.bench_log import FACES, SETS, best_in_turn, fill
from tests.made_phone import ROOT, serving

ROUNDS = 40
STARTS = 9
PHOTOS = 3
STACK = "import typer, sqlite3, starlette.applications, uvicorn, jinja2, segno"
MOST_MS, MOST_BYTES, MOST_PHOTO, MOST_START = 50.0, 100_000, 1.3, 1.5
SAMPLES = ROOT / "sample_measurements"
TANSY = (
    *(("face", "sole"), ("length", "245mm"), ("width", "62mm")),
    ("mouth", "80 mm to 86 mm, across 5.5 mm to 56.5 mm"),
)


class Client:
    """A browser's connection, kept open as browsers do."""

    def __init__(self, address: str) -> None:
        self.host = urlsplit(address).netloc
        self.connection = http.client.HTTPConnection(self.host, timeout=120)

    def asks(
        self, method: str, path: str, body: bytes = b"", kind: str = ""
    ) -> tuple[int, dict[str, str], bytes]:
        headers = {"origin": f"http://{self.host}", "content-type": kind}
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        return answer.status, dict(answer.getheaders()), answer.read()

    def took_ms(self, path: str) -> float:
        """Time one page in milliseconds."""
        start = time.perf_counter()
        status, _, _ = self.asks("GET", path)
        assert status in (200, 202), (path, status)
        return 1e3 * (time.perf_counter() - start)

    def token(self) -> str:
        found = re.search(rb'name="token" value="(\w+)"', self.asks("GET", "/")[2])
        assert found is not None
        return found[1].decode()


def say(what: str, value: float, unit: str, goal: float) -> None:
    """Print a figure with its goal."""
    word = "pass" if value <= goal else "MISSED"
    print(f"{what:42} {value:9.2f} {unit:6} goal {goal:g}: {word}")


def answers(folder: Path) -> None:
    """Time every page and a reading on ten years of log."""
    log = folder / "years.lapping"
    with open_log(log) as opened:
        fill(opened, FACES, SETS)
        face = the_face(opened, "Bramble 0/sole").root
    with serving(log) as (address, _):
        client = Client(address)
        token = client.token()
        weight = len(client.asks("GET", "/")[2])
        static = re.findall(rb'"(/static/[^"]+)"', client.asks("GET", "/")[2])
        weight += sum(len(client.asks("GET", s.decode())[2]) for s in static)
        form = "application/x-www-form-urlencoded"
        gauge = {"token": token, "key": "g", "method": "dial"}
        said = urlencode(gauge | {"answer0": "um", "answer1": "y"}).encode()
        client.asks("POST", f"/face/{face}/gauge", said, form)
        said = urlencode({"token": token, "key": "r", "gauge": "dial"}).encode()
        _, went, _ = client.asks("POST", f"/face/{face}/read", said, form)
        number = went["location"]
        while client.asks("GET", f"/face/{face}/answer")[0] == 202:
            time.sleep(0.5)
        pages = ("/", f"/face/{face}", f"/face/{face}/strokes", f"/face/{face}/history")
        pages += (f"/face/{face}/read", f"/face/{face}/photos", number, "/plane/new")
        medians = []
        for path in pages:
            times = [client.took_ms(path) for _ in range(ROUNDS)]
            medians.append(statistics.median(times))
            name = re.sub(r"\d+", "N", path)
            say(f"page {name}", medians[-1], "ms", MOST_MS)
        times = []
        for i in range(ROUNDS):
            known = {"token": token, "key": uuid.uuid4().hex, "sure": "yes"}
            said = urlencode(
                known | {"place": "0", "what": "again", "text": str(i % 7)}
            ).encode()
            start = time.perf_counter()
            status, _, _ = client.asks("POST", f"{number}/reading", said, form)
            times.append(1e3 * (time.perf_counter() - start))
            assert status == 303
        say("a reading kept", statistics.median(times), "ms", MOST_MS)
        say("all pages, median", statistics.median(medians), "ms", MOST_MS)
        say("the first page with all it needs", weight, "bytes", MOST_BYTES)


def photos(folder: Path) -> None:
    """Time a photo's answer against the command's own work on the same file."""
    log = folder / "photo.lapping"
    with open_log(log) as opened:
        face = add_face(
            opened,
            make_face("sole", TANSY),
            add_plane(opened, Plane(name="Tansy")),
        ).root
    ratios = []
    with serving(log) as (address, running):
        time.sleep(5)  # what is loaded beforehand is loaded
        for _ in range(PHOTOS):
            work = _work_seconds()
            client = Client(address)
            token = client.token()
            start = time.perf_counter()
            _send(client, face, token)
            ratios.append((time.perf_counter() - start) / work)
        assert running.poll() is None
    say("a photo's answer / the command's work", min(ratios), "", MOST_PHOTO)


def _work_seconds() -> float:
    """Give what the command works on the photo, without starting and loading."""
    code = f"""
import time
from pathlib import Path
from lapping.log.planes import read_settings
from lapping.photo.look import look
face = read_settings({TANSY!r})
photo = Path({str(SAMPLES / "tansy_after.jpg")!r})
start = time.perf_counter()
look(photo, face)
print(time.perf_counter() - start)
"""
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, encoding="utf-8", check=True
    )
    return float(ran.stdout)


def _send(client: Client, face: int, token: str) -> None:
    edge = uuid.uuid4().hex
    fields = {"token": token, "key": edge, "shows": "after", "toe": ""}
    body = b"".join(
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n'
        f"{value}\r\n".encode()
        for name, value in fields.items()
    )
    body += (
        f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"'
        "\r\nContent-Type: image/jpeg\r\n\r\n"
    ).encode()
    body += (SAMPLES / "tansy_after.jpg").read_bytes() + f"\r\n--{edge}--\r\n".encode()
    kind = f"multipart/form-data; boundary={edge}"
    _, went, _ = client.asks("POST", f"/face/{face}/photos", body, kind)
    where = went["location"]
    client.asks("GET", where)
    while not json.loads(client.asks("GET", f"{where}/state")[2])["done"]:
        time.sleep(0.01)
    assert b'class="figure"' in client.asks("GET", where)[2]


def starting(folder: Path) -> None:
    """Time starting until the first page against importing what it stands on."""
    log = folder / "start.lapping"
    with open_log(log):
        pass
    env = dict(os.environ)
    # As installed, with everything compiled, ours and what it stands on.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    env["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")

    def imports() -> None:
        subprocess.run([sys.executable, "-c", STACK], check=True, env=env)

    def starts() -> None:
        with subprocess.Popen(
            [
                sys.executable,
                "-m",
                "lapping",
                "phone",
                "--log",
                str(log),
                "--port",
                "0",
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
            env=env | {"PYTHONUNBUFFERED": "1"},
        ) as running:
            assert running.stdout is not None
            Client(running.stdout.readline().strip()).asks("GET", "/plane/new")
            running.kill()

    imports()
    starts()
    times = best_in_turn({"imports": imports, "starts": starts}, STARTS)
    for name, took in times.items():
        print(f"{name} {1e3 * took:.0f} ms")
    ratio = times["starts"] / times["imports"]
    say("the first page after the start / imports", ratio, "", MOST_START)


def main() -> None:
    """Print each figure with its goal."""
    with tempfile.TemporaryDirectory() as folder:
        for part in (answers, photos, starting):
            part(Path(folder))


if __name__ == "__main__":
    main()
