"""Listen for phones: on this machine alone, or on the shop network with the secret."""

from __future__ import annotations

import socket
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import uvicorn

from lapping.errors import BadInput
from lapping.log.opening import open_log
from lapping.phone.app import application
from lapping.phone.guard import Door
from lapping.phone.keys import kept_keys
from lapping.phone.qr import qr_lines
from lapping.phone.shop import Shop

THIS_MACHINE = "127.0.0.1"
SOMEWHERE = ("192.0.2.1", 9)
"""An address kept for documents (RFC 5737); nothing is sent to it."""
WAITING = 64
GOING_ON_SECONDS = 5
READABLE = (
    "Mind: this is plain http. Whoever is on that network can read what is sent, and "
    "with it get in; use it on a network of your own."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What was said on the command line."""

    log: Path
    port: int
    share: bool
    address: str | None
    new_key: bool


def serve(wish: Wish) -> None:
    """Serve the pages until the person stops it."""
    sockets = listening(wish)
    # With port 0 the machine chooses one.
    port = sockets[0].getsockname()[1]
    names = [one.getsockname()[0] for one in sockets]
    shop = Shop(path=wish.log, door=door_of(wish, port, names))
    server = uvicorn.Server(
        uvicorn.Config(
            application(shop),
            access_log=False,  # it would show the secret
            date_header=False,
            http="h11",
            lifespan="off",
            log_level="warning",
            loop="asyncio",
            server_header=False,
            timeout_graceful_shutdown=GOING_ON_SECONDS,
            ws="none",
        )
    )
    say(wish, shop, names[0], port)
    threading.Thread(target=warm_up, daemon=True).start()
    try:
        # While one holds the log open, no other tidies up after every reading, which
        # would take longer than to keep it.
        with open_log(wish.log):
            server.run(sockets=sockets)
    except KeyboardInterrupt:
        pass
    finally:
        shop.works.close()


def listening(wish: Wish) -> list[socket.socket]:
    """Open the doors: the shop network's first, where it is shared."""
    if not wish.share:
        return [_bound(THIS_MACHINE, wish.port)]
    address = wish.address or shop_address()
    first = _bound(address, wish.port)
    if address == THIS_MACHINE:
        return [first]
    return [first, _bound(THIS_MACHINE, first.getsockname()[1])]


def shop_address() -> str:
    """Give this machine's address on the network it uses."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(SOMEWHERE)
        except OSError:
            message = (
                "this computer is on no network now; connect it to the one the phone "
                "is on, or say its address with --address"
            )
            raise BadInput(message) from None
        found: str = asked.getsockname()[0]
        return found


def _bound(address: str, port: int) -> socket.socket:
    # asyncio sends small answers at once only where it is told that this is TCP.
    opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        opened.bind((address, port))
        opened.listen(WAITING)
    except (OSError, OverflowError) as problem:
        opened.close()
        message = (
            f"cannot listen at {address}, port {port} ({problem}); is 'lapping phone' "
            "running already? --port takes another"
        )
        raise BadInput(message) from problem
    return opened


def door_of(wish: Wish, port: int, names: Sequence[str]) -> Door:
    """Say by which names the pages may be asked for, and with which keys."""
    hosts = frozenset(f"{name}:{port}" for name in (*names, THIS_MACHINE, "localhost"))
    return Door(
        hosts=hosts,
        keys=kept_keys(wish.log, new=wish.new_key),
        shared=wish.share,
        cookie=f"lapping-{port}",
    )


def say(wish: Wish, shop: Shop, address: str, port: int) -> None:
    """Say where the pages are, with the code to scan where they are shared."""
    where = f"http://{address}:{port}/"
    if wish.share:
        where += f"in/{shop.door.keys.secret}"
        print("\n".join(qr_lines(where)))
        print("Scan it with the phone's camera, or open:")
    print(where)
    if wish.share:
        print(READABLE)
    else:
        print("On this computer only; --share lets a phone on your network in.")
    print("Ctrl-C stops it; every reading is kept as it is entered.", flush=True)


_SLOW = (
    *("phone.plane_pages", "phone.face_pages", "phone.set_pages", "phone.gauge_pages"),
    *("phone.stroke_pages", "phone.photo_pages", "phone.sheet_pages"),
    *("from_log.advice", "from_log.photos", "from_log.readings", "from_files"),
    *("words.answer", "pictures.face_map", "pictures.contact"),
)


def warm_up() -> None:
    """Load beforehand what the first answer needs, so that nobody waits for it."""
    for name in _SLOW:
        import_module(f"lapping.{name}")
