"""Who gets in at the phone page, and what no page lets out."""

from __future__ import annotations

import re
import stat
from pathlib import Path

import cv2
import numpy as np
import pytest

from lapping.errors import BadInput
from lapping.log.opening import open_log
from lapping.log.planes import planes
from lapping.phone.app import CHANGES, PAGES
from lapping.phone.forms import named
from lapping.phone.guard import MOST_FORM_BYTES
from lapping.phone.keys import MOST_WRONG, WITHIN_SECONDS, Attempts, Keys, kept_keys
from lapping.phone.qr import qr_lines
from lapping.phone.serve import (
    THIS_MACHINE,
    Wish,
    door_of,
    listening,
    shop_address,
    warm_up,
)
from tests.made_phone import HERE, HOST, SECRET, Phone, a_shop


@pytest.fixture
def phone(tmp_path: Path) -> Phone:
    return Phone(a_shop(tmp_path / "bench.lapping"))


@pytest.fixture
def shared(tmp_path: Path) -> Phone:
    return Phone(a_shop(tmp_path / "bench.lapping", shared=True))


def changes() -> list[str]:
    """Give the path of every change, each about something numbered 1."""
    return [re.sub(r"{number:int}", "1", path) for path, _ in CHANGES]


def pages() -> list[str]:
    """Give the path of every page."""
    named = {"{number:int}": "1", "{secret}": "wrong", "{paper}": "A4.pdf"}
    named |= {"{method}": "dial"}
    found = [path for path, _ in PAGES]
    for mark, value in named.items():
        found = [path.replace(mark, value) for path in found]
    return found


@pytest.mark.parametrize("path", changes())
def test_no_change_without_token_or_from_another_page(phone: Phone, path: str) -> None:
    token = phone.shop.door.keys.token
    for said, headers, status in (
        ({}, HERE, 403),
        ({"token": "guessed"}, HERE, 403),
        ({"token": token}, {}, 403),
        ({"token": token}, {"origin": "http://shop.example"}, 403),
        ({"token": token}, {"origin": "null"}, 403),
        ({"token": token}, HERE | {"sec-fetch-site": "cross-site"}, 403),
    ):
        answer = phone.client.post(path, data=said | {"key": "k"}, headers=headers)
        assert answer.status_code == status, (said, headers)
    with open_log(phone.shop.path, read_only=True) as log:
        assert log.db.execute("SELECT count(*) FROM entry").fetchone() == (0,)


@pytest.mark.parametrize("host", ["shop.example", "127.0.0.1", "127.0.0.1:1", ""])
def test_another_name_of_the_machine_is_no_way_in(phone: Phone, host: str) -> None:
    answer = phone.get("/", host=host)
    assert answer.status_code == 421
    assert "lapping" not in answer.text.lower()


@pytest.mark.parametrize("path", [*pages(), "/nothing", "/static/x/nothing"])
def test_every_answer_has_the_strict_headers(phone: Phone, path: str) -> None:
    headers = phone.get(path).headers
    policy = dict(
        part.strip().split(" ", 1)
        for part in headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    if not path.startswith("/static"):
        assert headers["cache-control"] == "no-store"


@pytest.mark.parametrize("path", [p for p in pages() if not p.startswith("/in/")])
def test_shared_pages_need_the_cookie(shared: Phone, path: str) -> None:
    for cookie in (None, "guessed", SECRET, shared.shop.door.keys.token):
        shared.client.cookies.clear()
        if cookie is not None:
            shared.client.cookies.set("lapping", cookie)
        answer = shared.get(path)
        assert answer.status_code == 403
        assert "scan the code" in answer.text


@pytest.mark.parametrize("path", changes())
def test_shared_changes_need_the_cookie_too(shared: Phone, path: str) -> None:
    assert shared.post(path, name="Bramble").status_code == 403


def test_the_secret_lets_a_phone_in_for_good(shared: Phone) -> None:
    answer = shared.get(f"/in/{SECRET}")
    assert answer.status_code == 200
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert SECRET not in answer.headers["set-cookie"]
    assert SECRET not in answer.text
    assert shared.get("/").status_code == 200
    assert shared.plane() > 0


def test_wrong_secrets_have_to_wait(shared: Phone) -> None:
    for _ in range(MOST_WRONG):
        assert shared.get(f"/in/{SECRET[:-1]}").status_code == 403
    # Not even the right one is told from a wrong one now.
    answer = shared.get(f"/in/{SECRET}")
    assert answer.status_code == 429
    assert "Wait a minute" in answer.text
    assert "set-cookie" not in answer.headers


def test_a_wrong_cookie_is_a_guess_like_any_other(shared: Phone) -> None:
    for number in range(MOST_WRONG):
        shared.client.cookies.set("lapping", f"guess-{number}")
        assert shared.get("/").status_code == 403
    assert shared.get("/").status_code == 429


def test_attempts_are_forgotten_and_do_not_fill_the_memory() -> None:
    now = 0.0
    attempts = Attempts(lambda: now)
    for _ in range(MOST_WRONG):
        attempts.wrong("192.0.2.7")
    assert attempts.too_many("192.0.2.7")
    assert not attempts.too_many("192.0.2.8")
    now = WITHIN_SECONDS + 1
    assert not attempts.too_many("192.0.2.7")
    for number in range(3000):
        attempts.wrong(str(number))
    assert len(attempts._wrong) <= 1000


def test_the_key_is_kept_for_its_owner_only(tmp_path: Path) -> None:
    log = tmp_path / "bench.lapping"
    first = kept_keys(log, new=False)
    (file,) = tmp_path.iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert len(first.secret) >= 43  # 32 random bytes
    assert kept_keys(log, new=False) == first
    assert kept_keys(log, new=True) != first
    assert len({first.secret, first.cookie, first.token}) == 3


def test_it_listens_on_this_machine_alone_unless_shared(tmp_path: Path) -> None:
    wish = Wish(log=tmp_path / "l", port=0, share=False, address=None, new_key=False)
    (one,) = listening(wish)
    with one:
        assert one.getsockname()[0] == THIS_MACHINE
        taken = Wish(
            log=wish.log,
            port=one.getsockname()[1],
            share=False,
            address=None,
            new_key=False,
        )
        with pytest.raises(BadInput, match="running already"):
            listening(taken)
    door = door_of(wish, 8452, [THIS_MACHINE])
    assert door.hosts == {HOST, "localhost:8452"}
    assert not door.shared


def test_shared_it_listens_at_the_address_said(tmp_path: Path) -> None:
    wish = Wish(
        log=tmp_path / "l", port=0, share=True, address="127.0.0.2", new_key=False
    )
    sockets = listening(wish)
    names = [one.getsockname()[0] for one in sockets]
    assert names == ["127.0.0.2", THIS_MACHINE]
    for one in sockets:
        one.close()
    for address, port in (("192.0.2.7", 0), ("127.0.0.1", 99_999)):
        wrong = Wish(
            log=wish.log, port=port, share=True, address=address, new_key=False
        )
        with pytest.raises(BadInput, match="cannot listen at"):
            listening(wrong)


def test_on_no_network_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def unreachable(*_: object) -> None:
        raise OSError(101, "Network is unreachable")

    monkeypatch.setattr("socket.socket.connect", unreachable)
    with pytest.raises(BadInput, match="on no network"):
        shop_address()


def test_what_is_too_much_is_refused_before_it_is_read(phone: Phone) -> None:
    face = phone.plane()
    large = "x" * (MOST_FORM_BYTES + 1)
    assert phone.post("/plane/new", name=large).status_code == 413
    # Sent in pieces it does not say how much it is.
    pieces = (b"name=" + b"x" * 20_000 for _ in range(10))
    answer = phone.client.post(
        f"/face/{face}/strokes",
        content=pieces,
        headers=HERE | {"content-type": "application/x-www-form-urlencoded"},
    )
    assert answer.status_code == 413
    with open_log(phone.shop.path, read_only=True) as log:
        assert [one.fact.name for one in planes(log)] == ["Bramble"]


def test_only_files_of_the_pages_are_given_out(phone: Phone) -> None:
    for name in ("../keys.py", "..%2fkeys.py", "%2e%2e/keys.py", "bench.lapping"):
        assert phone.get(f"/static/x/{name}").status_code == 404
    assert phone.get("/static/x/bench.css").status_code == 200


def test_no_sentence_says_where_files_are(phone: Phone, tmp_path: Path) -> None:
    face = phone.plane()
    for path in ("/face/999", "/set/999", "/photo/999", f"/set/{face}"):
        text = phone.get(path).text
        assert str(tmp_path) not in text
    phone.shop.path.write_bytes(b"no log any more")
    answer = phone.get("/")
    assert answer.status_code == 503
    assert "the log is no log of lapping but some other file" in answer.text
    assert str(tmp_path) not in answer.text


def test_the_code_in_the_terminal_reads_as_the_address() -> None:
    """Read back by OpenCV's detector, which is not what made it."""
    said = f"http://192.0.2.20:8452/in/{Keys(SECRET).secret}"
    rows = []
    for line in qr_lines(said):
        assert line.startswith("\x1b[30;107m")  # black on white, whatever the terminal
        blocks = line.removeprefix("\x1b[30;107m").removesuffix("\x1b[0m")
        rows.append([block in "▀█" for block in blocks])
        rows.append([block in "▄█" for block in blocks])
    picture = np.where(np.array(rows), 0, 255).astype(np.uint8)
    picture = cv2.resize(picture, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert read == said
    assert len(rows[0]) < 60
    assert len(qr_lines(said)) <= 22  # with what is said below, a small terminal


@pytest.mark.parametrize("name", [name for _, name in (*PAGES, *CHANGES)])
def test_every_path_leads_to_something_there_is(name: str) -> None:
    assert callable(named(name))


def test_all_that_is_loaded_beforehand_is_there() -> None:
    warm_up()
