"""Anything at all is sent to the phone page, and by many at once: never a traceback."""

from __future__ import annotations

import http.client
import re
import threading
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lapping.log.entering import start_set
from lapping.log.examine import troubles
from lapping.log.opening import open_log
from lapping.log.sets import readings_of
from lapping.phone.app import CHANGES, PAGES
from tests.made_logs import COLUMNS, DIAL, bramble
from tests.made_phone import HERE, Phone, a_shop, serving

FIELDS = (
    *("name", "length", "width", "unit", "face", "left_edge", "mouth_from", "mouth_to"),
    *("target", "metal", "paper", "count", "other", "load", "lap", "fresh_sheet"),
    *("method", "answer0", "answer1", "gauge", "stick", "base", "turned", "new"),
    *("place", "what", "text", "sure", "at", "again", "corners", "shows", "toe"),
    *("before", "photo", "units", "back_to", "note", "key"),
)
TELLING = (
    *("", "0", "-1", "1", "2", "99999999999", "245", "60mm", "1e400mm", "nan", "inf"),
    *("P240", "100", "5min", "4kg", "dial", "leaves", "um", "0.01mm", "y", "sole"),
    *("Bramble", "Bramble/sole", "left side", "yes", "skip", "correct", "after"),
    *("/", "//x", "../../etc/passwd", "'; DROP TABLE entry; --", "{{ 7 * 7 }}"),
    *("1,1 2,2 3,3 4,4", "\0", "\ud7ff", "٣", "½", "−4", "0.05 0.08", "<b>", "a" * 300),
)
VALUES = st.sampled_from(TELLING) | st.text(max_size=30)
FORMS = st.dictionaries(st.sampled_from(FIELDS), VALUES, max_size=9)
NUMBERS = st.sampled_from([2, 2, 2, 4, 4, 4, 0, 1, 3, 5, 2**31, 2**63, 10**25])


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """Give a phone on a log that has a little of everything."""
    made = Phone(a_shop(tmp_path_factory.mktemp("fuzz") / "bench.lapping"))
    number = made.dial(made.plane())
    made.sent(f"/set/{number}/reading", place="0", text="4")
    made.post("/face/2/strokes", paper="P240", count="100")
    yield made
    made.shop.works.close()


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Phone:
    """Give a phone with set 4 begun, which nothing else takes back."""
    made = Phone(a_shop(tmp_path_factory.mktemp("reader") / "bench.lapping"))
    assert made.dial(made.plane()) == 4
    return made


def well(phone: Phone, answer: object, path: str) -> None:
    """Check that an answer is one of ours and tells nothing of the machine."""
    status, text = answer.status_code, answer.text
    assert status < 500, (path, text)
    assert "Traceback" not in text
    assert str(phone.shop.path.parent) not in text


@pytest.mark.parametrize("path", [path for path, _ in CHANGES])
@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(form=FORMS, number=NUMBERS, json=st.booleans())
def test_any_form_is_answered(
    phone: Phone, path: str, form: dict[str, str], number: int, json: bool
) -> None:
    path = path.replace("{number:int}", str(number))
    send = phone.sent if json else phone.post
    phone.keys = time.perf_counter_ns()
    well(phone, send(path, **form), path)


@settings(max_examples=150, deadline=None)
@given(
    path=st.sampled_from([path for path, _ in PAGES]),
    number=NUMBERS,
    name=VALUES,
    query=st.dictionaries(st.sampled_from(["at", "again", "method", "v"]), VALUES),
)
def test_any_page_is_answered(
    phone: Phone, path: str, number: int, name: str, query: dict[str, str]
) -> None:
    path = path.replace("{number:int}", str(number))
    for mark in ("{secret}", "{paper}", "{method}"):
        path = path.replace(mark, name.encode().hex() or "x")
    answer = phone.client.get(path, params=query)
    if answer.status_code != 429:
        well(phone, answer, path)


@settings(max_examples=60, deadline=None)
@given(
    body=st.binary(max_size=400),
    kind=st.sampled_from(
        [
            *("application/x-www-form-urlencoded", "multipart/form-data; boundary=b"),
            *("multipart/form-data", "application/json", "text/plain", ""),
            "application/x-www-form-urlencoded; charset=utf-7",
        ]
    ),
    path=st.sampled_from(["/plane/new", "/face/2/photos", "/set/4/reading"]),
)
def test_any_bytes_are_answered(
    phone: Phone, body: bytes, kind: str, path: str
) -> None:
    answer = phone.client.post(
        path, content=body, headers=HERE | {"content-type": kind}
    )
    well(phone, answer, path)


@settings(max_examples=80, deadline=None)
@given(
    place=st.integers(0, 22),
    text=VALUES | st.decimals(allow_nan=False, places=2).map(str),
    what=st.sampled_from(["new", "correct", "again", "skip", ""]),
)
def test_any_reading_is_answered(
    reader: Phone, place: int, text: str, what: str
) -> None:
    reader.keys = time.perf_counter_ns()
    said = {"place": str(place), "text": text, "what": what}
    answer = reader.sent("/set/4/reading", **said)
    well(reader, answer, "/set/4/reading")
    assert answer.status_code in (200, 409, 422)
    well(reader, reader.get("/set/4"), "/set/4")


class Client:
    """A phone on a connection of its own to a server in another process."""

    def __init__(self, address: str) -> None:
        self.host = urlsplit(address).netloc
        self.connection = http.client.HTTPConnection(self.host, timeout=60)
        self.token = ""

    def asks(self, method: str, path: str, body: str = "") -> tuple[int, str]:
        headers = {"origin": f"http://{self.host}", "accept": "application/json"}
        headers["content-type"] = "application/x-www-form-urlencoded"
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        text = answer.read().decode()
        found = re.search(r'name="token" value="(\w+)"', text)
        self.token = found[1] if found else self.token
        return answer.status, text

    def sends(self, path: str, **fields: str) -> tuple[int, str]:
        known = {"token": self.token, "key": uuid.uuid4().hex}
        return self.asks("POST", path, urlencode(known | fields))


def resident_kb(process: int) -> int:
    """Give how much memory a process holds."""
    said = Path(f"/proc/{process}/status").read_text("ascii")
    found = re.search(r"VmRSS:\s+(\d+) kB", said)
    assert found is not None
    return int(found[1])


@pytest.mark.parametrize(
    ("clients", "seconds"),
    [(6, 2.0), pytest.param(20, 60.0, marks=pytest.mark.long)],
)
def test_many_at_once_lose_nothing(
    tmp_path: Path, clients: int, seconds: float
) -> None:
    """Each client keeps readings and looks at pages; all that was kept is there."""
    log = tmp_path / "bench.lapping"
    with open_log(log) as opened:
        faces = [bramble(opened, f"Bramble {number}") for number in range(clients)]
        places = [("5", "5"), ("125", "30")]
        sets = [
            start_set(opened, face, "dial", COLUMNS, headers=DIAL, places=places).number
            for face in faces
        ]
    kept: list[list[str]] = [[] for _ in range(clients)]
    problems: list[str] = []
    memory: list[int] = []

    def works(number: int, address: str, until: float) -> None:
        client = Client(address)
        pages = ("/", f"/set/{sets[number]}", f"/face/{faces[number].root}/history")
        client.asks("GET", "/")
        rounds = 0
        # Twice on a machine that is busy with other things, too.
        while time.monotonic() < until or rounds < 2:
            rounds += 1
            text = str(len(kept[number]) % 7)
            said = {"place": "1", "what": "again", "text": text, "sure": "yes"}
            answers = [client.sends(f"/set/{sets[number]}/reading", **said)]
            if answers[0][0] == 200:
                kept[number].append(text)
            answers += [client.asks("GET", path) for path in pages]
            problems.extend(t[:200] for status, t in answers if status != 200)
            # A thumb is not as fast, and readings of a minute are not those of years.
            time.sleep(0.02)
        client.connection.close()

    with serving(log) as (address, running):
        until = time.monotonic() + seconds
        threads = [
            threading.Thread(target=works, args=(number, address, until))
            for number in range(clients)
        ]
        for thread in threads:
            thread.start()
        while time.monotonic() < until:
            time.sleep(seconds / 10)
            memory.append(resident_kb(running.pid))
        for thread in threads:
            thread.join()
    assert problems == []
    with open_log(log, read_only=True) as opened:
        assert troubles(opened) == []
        for number, said in zip(sets, kept, strict=True):
            found = [one.fact.understood for one in readings_of(opened, number)]
            assert [one.entered_as for one in found if one is not None] == said
    assert min(map(len, kept)) >= 2
    if seconds > LOADED_SECONDS:
        assert max(memory[6:]) < memory[5] + GROWS_KB, memory


LOADED_SECONDS = 30.0
"""By then all is loaded that is loaded beforehand."""
GROWS_KB = 12_000
"""A thread's own heap comes and goes; a leak of a page each time would be more."""


def test_the_terminal_may_write_meanwhile(tmp_path: Path) -> None:
    """Another program opens and closes the log between and during requests.

    The last to close a log tidies it up, and must not take a server for gone.
    """
    log = tmp_path / "bench.lapping"
    with open_log(log) as opened:
        bramble(opened)
    with serving(log) as (address, _):
        client = Client(address)
        for number in range(6):
            with open_log(log) as opened:
                face = bramble(opened, f"Sorrel {number}")
                places = [("5", "5"), ("125", "30")]
                begun = start_set(
                    opened, face, "dial", COLUMNS, headers=DIAL, places=places
                )
            assert client.asks("GET", f"/set/{begun.number}")[0] == 200
            for text in ("4", "5"):
                said = {"place": "0", "what": "again", "text": text}
                status, _ = client.sends(f"/set/{begun.number}/reading", **said)
                assert status == 200
                with open_log(log, read_only=True) as opened:
                    assert len(readings_of(opened, begun.number)) == int(text) - 3
        client.connection.close()
    with open_log(log, read_only=True) as opened:
        assert troubles(opened) == []
