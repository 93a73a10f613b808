"""How long the phone page takes, beside what it cannot do without."""

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
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from lapping.kept import Plane
from lapping.log.opening import open_log
from lapping.log.planes import add_face, add_plane, make_face, the_face
from tests.benchmarks.bench_log import FACES, SETS, fill
from tests.benchmarks.ratios import Figure, in_turn, tell
from tests.made_phone import ROOT, serving

ROUNDS = 40
STARTS = 9
PHOTOS = 3
STACK = "import typer, sqlite3, starlette.applications, uvicorn, jinja2, segno"
MOST_MS, MOST_KB, MOST_PHOTO, MOST_START = 50.0, 100.0, 1.3, 1.5
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


def answers(folder: Path) -> Iterator[Figure]:
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
        medians = [
            statistics.median(client.took_ms(path) for _ in range(ROUNDS))
            for path in pages
        ]
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
        kept = statistics.median(times)
    yield Figure(
        what="phone: a page, ten years of log, median",
        value=statistics.median(medians),
        goal=MOST_MS,
        unit="ms",
        bound="opening the log, its queries",
    )
    yield Figure(
        what="phone: the slowest of its pages, median",
        value=max(medians),
        goal=MOST_MS,
        unit="ms",
        bound="the same",
    )
    yield Figure(
        what="phone: a reading sent and kept, median",
        value=kept,
        goal=MOST_MS,
        unit="ms",
        bound="the disk",
    )
    yield Figure(
        what="phone: the first page with all it needs",
        value=weight / 1000,
        goal=MOST_KB,
        unit="kB",
        bound="its style sheet",
    )


def photos(folder: Path) -> Iterator[Figure]:
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
    yield Figure(
        what="phone: a photo's answer / the command's own work",
        value=min(ratios),
        goal=MOST_PHOTO,
        bound="the look at the photo",
    )


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
    photo = (SAMPLES / "tansy_after.jpg").read_bytes()
    # The same photo sent again is known already; a remark in it makes it another.
    photo = photo[:2] + b"\xff\xfe\x00\x22" + edge.encode() + photo[2:]
    body += photo + f"\r\n--{edge}--\r\n".encode()
    kind = f"multipart/form-data; boundary={edge}"
    _, went, _ = client.asks("POST", f"/face/{face}/photos", body, kind)
    where = went["location"]
    client.asks("GET", where)
    while not json.loads(client.asks("GET", f"{where}/state")[2])["done"]:
        time.sleep(0.01)
    assert b'class="figure"' in client.asks("GET", where)[2]


def starting(folder: Path) -> Iterator[Figure]:
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
    times = in_turn({"imports": imports, "starts": starts}, STARTS)
    yield Figure(
        what="phone: from the start to a page / importing its stack",
        value=times["starts"] / times["imports"],
        goal=MOST_START,
        bound="importing, opening the log",
    )


def measure() -> Iterator[Figure]:
    """Give every figure of the phone page."""
    with tempfile.TemporaryDirectory() as folder:
        for part in (answers, photos, starting):
            yield from part(Path(folder))


if __name__ == "__main__":
    tell(measure())
