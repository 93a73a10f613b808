"""The phone page in a browser: from the first plane to advice, and when all fails."""

from __future__ import annotations

import signal
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Route, expect

from lapping.log.entering import start_set
from lapping.log.opening import open_log
from lapping.log.planes import the_face
from lapping.log.sets import readings_of, state_of
from tests.browser import Tab, a_tab, chromium
from tests.made_logs import COLUMNS, DIAL, bramble
from tests.made_phone import serving

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
PLACES = [(str(5 + 12 * i), str(5 + 25 * j)) for i in range(20) for j in range(3)]

DRAWN = "() => document.querySelector('img.map').naturalWidth > 0"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """Serve one log to all tests, each of which sets up a plane of its own."""
    log = tmp_path_factory.mktemp("phone") / "bench.lapping"
    with serving(log) as (address, _):
        yield log, address


@pytest.fixture
def tab(browser: Browser, shop: tuple[Path, str]) -> Iterator[Tab]:
    opened = a_tab(browser, shop[1])
    yield opened
    opened.is_well()
    opened.context.close()


def a_set(log: Path, name: str, places: list[tuple[str, str]] | None = None) -> int:
    """Begin a set by dial on a plane of its own; give its number."""
    with open_log(log) as opened:
        face = bramble(opened, name)
        begun = start_set(
            opened, face, "dial", COLUMNS, headers=DIAL, places=places or PLACES[:12]
        )
        return begun.number


def typed(log: Path, number: int) -> list[str]:
    """Give what the log holds of a set, in the order of its places."""
    with open_log(log, read_only=True) as opened:
        found = readings_of(opened, number)
    return [
        one.fact.understood.entered_as
        for one in found
        if one.fact.understood is not None
    ]


def sent(tab: Tab) -> None:
    """Wait until nothing is left in the page."""
    tab.page.wait_for_function(
        "() => !Object.keys(localStorage).some((k) => k.startsWith('lapping-set'))"
    )


def test_from_the_first_plane_to_advice(tab: Tab, shop: tuple[Path, str]) -> None:
    page = tab.go("/").page
    tab.fits()
    tab.follow("text=New plane")
    page.fill("[name=name]", "Teasel")
    page.fill("[name=length]", "250")
    page.fill("[name=width]", "60")
    tab.fits()
    tab.follow("text=Keep this plane")
    expect(page.locator(".order h2")).to_have_text("Measure before you go on.")
    tab.fits()
    tab.follow("nav >> text=Read")
    tab.fits()
    tab.follow("text=dial")
    page.fill("[name=answer0]", "um")
    page.tap("text=yes")
    tab.fits()
    tab.follow("text=Keep this gauge")
    tab.follow("button:has-text('dial')")
    tab.fits()
    count = page.locator(".place").count()
    for number in range(count):
        expect(page.locator("#place")).to_contain_text(f"{number + 1} of {count}")
        tab.read(str(90 - 8 * abs(number - count // 2)))
        if number == 5:
            tab.fits()
    expect(page.locator("#place")).to_contain_text("All places are done")
    sent(tab)
    tab.follow("#finish button")
    expect(page.locator(".figure")).to_contain_text("µm")
    expect(page.locator(".order h2")).to_contain_text(".")
    page.wait_for_function(DRAWN)
    tab.fits()
    # Two taps for strokes, once the paper is known.
    tab.follow("nav >> text=Strokes")
    page.fill("[name=paper]", "P240")
    tab.follow("button.count:has-text('100')")
    tab.follow("nav >> text=Strokes")
    tab.fits()
    tab.follow("button.count:has-text('50')")
    expect(page.locator(".kept")).to_contain_text("50 strokes on P240")
    # Going back and loading again repeats nothing.
    page.go_back()
    page.go_forward()
    page.reload()
    tab.follow("text=All that was done")
    expect(page.locator(".done li")).to_have_count(3)
    tab.fits()


def test_sixty_places(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Yarrow", PLACES)
    page = tab.go(f"/set/{number}").page
    # Typed faster than a person can, before the script listens, keys go nowhere.
    expect(page.locator("#keys")).to_be_visible()
    wanted = [str((7 * i) % 23) for i in range(60)]
    for i, value in enumerate(wanted):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
        if i in (20, 40):
            # A key that the page has not yet seen is lost with it, as any is.
            expect(page.locator("#place")).to_contain_text(f"{i + 2} of 60")
            page.reload()  # in the middle
            expect(page.locator("#keys")).to_be_visible()
            # What was not sent yet goes first, and a busy machine takes its time.
            here = page.locator("#place")
            expect(here).to_contain_text(f"{i + 2} of 60", timeout=30_000)
            page.focus("#text")
    expect(page.locator("#place")).to_contain_text("All places are done")
    sent(tab)
    assert typed(shop[0], number) == wanted


def test_doubt_back_skip_and_correct(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Sorrel")
    page = tab.go(f"/set/{number}").page
    for value in ("4", "6", "5", "7"):
        tab.read(value)
    stood = page.locator("#keep").bounding_box()
    tab.read("4000")
    expect(page.locator("#said")).to_contain_text("is far from the rest (4 to 7 um)")
    expect(page.locator("#text")).to_have_value("4000")  # it is not lost
    expect(page.locator("#choose")).to_contain_text("Keep it so")
    expect(page.locator("#keep")).to_have_text("Keep")
    tab.fits()
    # No key moved, and Keep once more keeps nothing that is in doubt.
    assert page.locator("#keep").bounding_box() == stood
    page.tap("#keep")
    expect(page.locator("#text")).to_have_value("4000")
    page.tap(".wipe")
    page.fill("#text", "")
    tab.read("8")
    expect(page.locator("#said")).to_have_text("kept: 8 um")
    page.tap("#back")
    expect(page.locator("#was")).to_have_text("was: 8")
    expect(page.locator("#text")).to_have_value("8")
    page.tap(".digits .key:text-is('9')")  # it is typed over
    page.tap("#keep")
    expect(page.locator("#said")).to_have_text("kept: 9 um")
    expect(page.locator("#place")).to_contain_text("6 of 12")
    page.tap("#skip button")
    expect(page.locator("#place")).to_contain_text("7 of 12")
    page.tap("#back")
    expect(page.locator("#was")).to_have_text("was: skipped")
    tab.read("2")
    sent(tab)
    assert typed(shop[0], number) == ["4", "6", "5", "7", "9", "2"]


def test_going_back_from_a_refused_form_sends_nothing(tab: Tab) -> None:
    page = tab.go("/plane/new").page
    page.fill("[name=name]", "Tormentil")
    page.fill("[name=length]", "wide")
    page.fill("[name=width]", "60")
    tab.follow("text=Keep this plane")
    expect(page.locator("[name=name]")).to_have_value("Tormentil")
    page.fill("[name=length]", "225,5")
    tab.follow("text=Keep this plane")
    methods: list[str] = []
    page.on("request", lambda asked: methods.append(asked.method))
    for _ in range(2):
        page.go_back()
    assert set(methods) == {"GET"}


def test_two_quick_taps_count_as_one(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Campion")
    page = tab.go(f"/set/{number}").page
    page.fill("#text", "3")
    page.dblclick("#keep")
    expect(page.locator("#said")).to_have_text("kept: 3 um")
    page.dblclick("#skip button")
    expect(page.locator("#place")).to_contain_text("3 of 12")
    sent(tab)
    # Done beside it asks first.
    tab.follow("#finish button")
    expect(page.locator("#said")).to_have_text("10 places are open: close anyway?")
    tab.fits()
    tab.follow("text=Go on reading")
    expect(page.locator("#place")).to_contain_text("3 of 12")
    with open_log(shop[0], read_only=True) as log:
        face = the_face(log, "Campion/sole").root
    tab.go(f"/face/{face}/strokes")
    page.fill("[name=paper]", "P240")
    with page.expect_navigation():
        page.dblclick("button.count:has-text('100')", no_wait_after=True)
    expect(page.locator(".kept")).to_contain_text("kept: 100 strokes on P240")
    tab.go(f"/face/{face}/history")
    expect(page.locator(".done li")).to_have_count(2)


def test_one_set_in_two_tabs(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Teazle")
    first = tab.go(f"/set/{number}").page
    second = tab.context.new_page()
    second.goto(first.url)
    tab.read("12")
    sent(tab)
    second.fill("#text", "14")
    second.press("#text", "Enter")
    expect(second.locator("#said")).to_contain_text("read already elsewhere: 12 um")
    second.tap("#choose >> text=Leave it out")
    expect(second.locator("#place")).to_contain_text("2 of 12")
    sent(tab)
    assert typed(shop[0], number) == ["12"]


def test_offline_and_back(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Tansy")
    page = tab.go(f"/set/{number}").page
    tab.read("3")
    expect(page.locator("#said")).to_have_text("kept: 3 um")
    tab.context.set_offline(True)
    for value in ("4", "5", "6"):
        tab.read(value)
    expect(page.locator("#banner")).to_contain_text("3 kept in this page")
    expect(page.locator("#place")).to_contain_text("5 of 12")
    assert typed(shop[0], number) == ["3"]
    tab.context.set_offline(False)
    page.reload()
    sent(tab)
    expect(page.locator("#place")).to_contain_text("5 of 12")
    assert typed(shop[0], number) == ["3", "4", "5", "6"]


def test_two_doubts_from_offline_are_asked_one_by_one(
    tab: Tab, shop: tuple[Path, str]
) -> None:
    number = a_set(shop[0], "Mallow")
    page = tab.go(f"/set/{number}").page
    for value in ("4", "6", "5"):
        tab.read(value)
    sent(tab)
    tab.context.set_offline(True)
    for value in ("4000", "5000", "7"):
        tab.read(value)
    page.click(".digits .key:text-is('8')")  # begun, and not entered yet
    tab.context.set_offline(False)
    expect(page.locator("#place")).to_contain_text("4 of 12")
    expect(page.locator("#text")).to_have_value("4000")
    expect(page.locator("#said")).to_contain_text("Not kept yet")
    page.reload()  # a doubt is not forgotten either
    expect(page.locator("#text")).to_have_value("4000")
    page.fill("#text", "3")
    page.click("#keep")
    expect(page.locator("#place")).to_contain_text("5 of 12")
    expect(page.locator("#text")).to_have_value("5000")
    page.click("#finish button")
    expect(page.locator("#place")).to_contain_text("5 of 12")  # not while one is open
    page.click("#choose >> text=Keep it so")
    expect(page.locator("#place")).to_contain_text("7 of 12")
    sent(tab)
    assert typed(shop[0], number) == ["4", "6", "5", "7", "3", "5000"]


def test_an_answer_lost_on_the_way_counts_once(
    tab: Tab, shop: tuple[Path, str]
) -> None:
    number = a_set(shop[0], "Bracken")
    page = tab.go(f"/set/{number}").page
    lost = []

    def lose(route: Route) -> None:
        if len(lost) < 2:
            lost.append(route.fetch().status)  # it came through, and nobody is told
            route.abort()
        else:
            route.continue_()

    page.route("**/reading", lose)
    tab.read("3")
    tab.read("4")
    sent(tab)
    assert lost == [200, 200]
    assert typed(shop[0], number) == ["3", "4"]


def test_a_server_killed_and_started_again(browser: Browser, tmp_path: Path) -> None:
    log = tmp_path / "bench.lapping"
    number = a_set(log, "Bramble")
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    with serving(log, port=port) as (address, running):
        tab = a_tab(browser, address).go(f"/set/{number}")
        for value in ("3", "4"):
            tab.read(value)
        sent(tab)
        running.send_signal(signal.SIGKILL)
        running.wait(timeout=20)
        for value in ("5", "6"):
            tab.read(value)
    expect(tab.page.locator("#banner")).to_contain_text("2 kept in this page")
    with serving(log, port=port):
        sent(tab)
        tab.read("7")
        sent(tab)
        tab.page.reload()
        expect(tab.page.locator("#place")).to_contain_text("6 of 12")
    assert typed(log, number) == ["3", "4", "5", "6", "7"]
    tab.is_well()
    tab.context.close()


def test_two_phones_on_one_face(
    tab: Tab, browser: Browser, shop: tuple[Path, str]
) -> None:
    number = a_set(shop[0], "Clover")
    other = a_tab(browser, shop[1])
    for one in (tab, other):
        one.go(f"/set/{number}")
    for i in range(12):
        one = (tab, other)[i % 2]
        # Each sees what the other has read, and goes on after it.
        expect(one.page.locator("#place")).to_contain_text(
            f"{i + 1} of 12", timeout=8000
        )
        one.read(str(i))
        sent(one)
        for both in (tab, other):
            both.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert typed(shop[0], number) == [str(i) for i in range(12)]
    expect(other.page.locator("#place")).to_contain_text("All places are done")
    # Both press Done at the same time, and it is done once.
    for one in (tab, other):
        one.page.evaluate("document.querySelector('#finish').requestSubmit()")
    for one in (tab, other):
        one.page.wait_for_url("**/face/*")
    with open_log(shop[0], read_only=True) as log:
        assert state_of(log, number) == "finished"
    other.is_well()
    other.context.close()


def test_a_photo_and_its_corners_dragged(tab: Tab, shop: tuple[Path, str]) -> None:
    with open_log(shop[0]) as log:
        face = bramble(log, "Nettle").root
    page = tab.go(f"/face/{face}/photos").page
    tab.fits()
    page.set_input_files("[name=photo] >> nth=0", SAMPLES / "tansy_before.jpg")
    page.wait_for_url("**/photo/*")
    tab.follow("a:text-is('Photograph it again')")
    page.check("[name=toe][value=left] >> nth=0")
    page.set_input_files("[name=photo] >> nth=0", SAMPLES / "tansy_after.jpg")
    page.wait_for_url("**/photo/*")
    expect(page.locator(".figure")).to_contain_text("%", timeout=60_000)
    tab.fits()
    tab.follow("text=The outline is wrong")
    field = page.locator("#corners")
    ring = page.get_by_role("button", name="toe-right corner")
    ring.wait_for()
    before = field.input_value().split(" ")
    box = ring.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 10, steps=4)
    expect(page.locator(".glass")).to_be_visible()
    page.mouse.up()
    expect(page.locator(".glass")).to_be_hidden()
    dragged = field.input_value().split(" ")
    assert [one == two for one, two in zip(before, dragged, strict=True)] == [
        True, False, True, True,
    ]  # fmt: skip
    wide = float(page.locator("#stage").get_attribute("data-width") or 0)
    scale = wide / page.locator("#stage img").bounding_box()["width"]
    moved = float(dragged[1].split(",")[0]) - float(before[1].split(",")[0])
    assert moved == pytest.approx(30 * scale, abs=2)
    ring.focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    assert field.input_value() != " ".join(dragged)
    # Back to where it was, by hand.
    page.tap("text=Corners as numbers")
    field.fill(" ".join(before))
    tab.fits()
    tab.follow("text=Look again with these corners")
    expect(page.locator(".figure")).to_contain_text("%", timeout=60_000)
    page.wait_for_function(DRAWN)


def test_without_a_script(browser: Browser, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Fescue")
    tab = a_tab(browser, shop[1], script=False).go(f"/set/{number}")
    for value in ("3", "4"):
        tab.page.fill("#text", value)
        tab.page.click("#keep")
    expect(tab.page.locator("#place")).to_contain_text("3 of 12")
    tab.page.click("#skip button")
    expect(tab.page.locator("#place")).to_contain_text("4 of 12")
    tab.fits()
    assert typed(shop[0], number) == ["3", "4"]
    tab.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_fault_for_those_who_do_not_see_or_touch(
    browser: Browser, shop: tuple[Path, str], scheme: str
) -> None:
    number = a_set(shop[0], f"Burdock {scheme}")
    with open_log(shop[0], read_only=True) as log:
        face = the_face(log, f"Burdock {scheme}/sole").root
    tab = a_tab(browser, shop[1], scheme=scheme)
    found = []
    for path in (
        *("/", "/plane/new", f"/face/{face}", f"/face/{face}/strokes", "/sheets"),
        *(f"/face/{face}/gauge?method=dial", f"/face/{face}/photos", "/nothing"),
        *(f"/set/{number}", f"/face/{face}/history", f"/face/{face}/gauge"),
    ):
        tab.go(path)
        if path == f"/face/{face}":
            tab.page.wait_for_selector(".order")
        for fault in Axe().run(tab.page).response["violations"]:
            if fault["impact"] in ("serious", "critical"):
                found.append((path, fault["id"], fault["nodes"][0]["html"][:100]))
    assert found == []
    tab.context.close()


def test_by_keyboard_alone(tab: Tab, shop: tuple[Path, str]) -> None:
    number = a_set(shop[0], "Vetch")
    page = tab.go(f"/set/{number}").page
    page.focus("#text")
    page.keyboard.type("-4")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_have_text("kept: -4 um")
    seen = []
    for _ in range(24):
        page.keyboard.press("Tab")
        seen.append(
            page.evaluate(
                "() => { const at = document.activeElement;"
                " return [at.id || at.textContent.trim(),"
                " at === document.body ? 'solid' : getComputedStyle(at).outlineStyle] }"
            )
        )
    assert [name for name, outline in seen if outline != "solid"] == []
    names = [name for name, _ in seen]
    assert {"keep", "back", "Skip", "Done", "1", "9"} <= set(names)


def test_the_first_page_is_light(tab: Tab, shop: tuple[Path, str]) -> None:
    weights = []
    tab.page.on("response", lambda got: weights.append(len(got.body())))
    tab.go("/").page.wait_for_load_state("networkidle")
    assert len(weights) >= 3
    assert sum(weights) < 100_000


def test_the_code_lets_a_phone_in_and_a_new_key_shuts_it_out(
    browser: Browser, tmp_path: Path
) -> None:
    log = tmp_path / "bench.lapping"
    share = ("--share", "--address", "127.0.0.1")
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    with serving(log, *share, port=port) as (address, _):
        start, _, secret = address.partition("in/")
        stranger = a_tab(browser, start).go("/")
        expect(stranger.page.locator("body")).to_contain_text("scan the code")
        stranger.context.close()
        phone = a_tab(browser, start).go(f"/in/{secret}")
        expect(phone.page.locator("h1")).to_have_text("Planes")
        (cookie,) = phone.context.cookies()
        assert cookie["httpOnly"]
        assert cookie["sameSite"] == "Strict"
        assert secret not in cookie["value"]
        # The key is in no page that stays open, and going back does not show it.
        assert secret not in phone.page.url
        tap = phone.go("/plane/new").page
        tap.fill("[name=name]", "Teasel")
        tap.fill("[name=length]", "250")
        tap.fill("[name=width]", "60")
        phone.follow("text=Keep this plane")
    with serving(log, *share, port=port):
        phone.go("/")  # a restart throws nobody out
        expect(phone.page.locator("h2")).to_have_text("Teasel")
    with serving(log, *share, "--new-key", port=port):
        phone.go("/")
        expect(phone.page.locator("body")).to_contain_text("scan the code")
    phone.is_well()
    phone.context.close()
