"""What random bytes are thrown at, and what must not happen.

Each target takes bytes. It may answer or refuse; a refusal is a sentence that can be
printed, and anything else that is raised is a bug.
"""

from __future__ import annotations

import atexit
import io
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image

from lapping.errors import LappingError
from lapping.log.exchange import export_log, import_folder
from lapping.log.opening import open_log
from lapping.photo.reading import picture_of
from lapping.readings_file.from_disk import load_text
from lapping.readings_file.reading import read_file
from lapping.slopes import read_slope
from lapping.typed import read_typed
from lapping.units import parse_length_mm, parse_length_um, parse_target_um, unit_um
from tests.made_logs import bench
from tests.test_log_exchange import full

Target = Callable[[bytes], None]
ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_measurements"
MEMORY = Path("/dev/shm")
LONGEST_SENTENCE = 6000
"""Twenty mistakes are shown of a file; nothing that was typed is shown at length."""


@contextmanager
def refused_in_words() -> Iterator[None]:
    """Let a refusal pass if it can be read by a person."""
    try:
        yield
    except LappingError as refusal:
        said = str(refusal)
        assert said.strip(), "a refusal that says nothing"
        assert len(said) < LONGEST_SENTENCE, f"{len(said)} characters of refusal"
        assert "Traceback" not in said
        controls = {c for c in said if ord(c) < 32} - {"\n"}
        assert not controls, f"the refusal has control characters: {controls}"
        said.encode("utf-8")


def units(data: bytes) -> None:
    """Read the text as a length, a target, a unit, a slope and a bare number."""
    text = data.decode("utf-8", "replace")
    for comma in (False, True):
        for parse in (parse_length_um, parse_length_mm, parse_target_um):
            with refused_in_words():
                parse(text, decimal_comma=comma)
        with refused_in_words():
            read_typed(text, decimal_comma=comma)
    with refused_in_words():
        unit_um(text)
    with refused_in_words():
        read_slope(text)


def _scratch() -> Path:
    return MEMORY if MEMORY.is_dir() else Path(tempfile.gettempdir())


def readings(data: bytes) -> None:
    """Read the bytes as a readings file."""
    with tempfile.NamedTemporaryFile(dir=_scratch(), suffix=".csv") as file:
        file.write(data)
        file.flush()
        with refused_in_words():
            load_text(Path(file.name), "fuzz.csv")
            read_file(file.name)


def pictures(data: bytes) -> None:
    """Read the bytes as a photo."""
    with refused_in_words():
        picture_of(data)


def folders(data: bytes) -> None:
    """Bring in a folder one of whose files is the bytes; the first byte says which."""
    whole = exported()
    names = sorted(path.name for path in whole.iterdir() if path.is_file())
    with tempfile.TemporaryDirectory(dir=_scratch()) as scratch:
        folder, log_file = Path(scratch) / "folder", Path(scratch) / "bench.lapping"
        shutil.copytree(whole, folder)
        name = names[data[0] % len(names)] if data else names[0]
        (folder / name).write_bytes(data[1:])
        with open_log(log_file) as log:
            before = _entries(log_file)
            with refused_in_words():
                import_folder(log, folder)
                return
            assert _entries(log_file) == before, "a refused folder left something"


def _entries(path: Path) -> int:
    with open_log(path, read_only=True) as log:
        (count,) = log.db.execute("SELECT count(*) FROM entry").fetchone()
    return int(count)


_EXPORTED: list[Path] = []


def exported() -> Path:
    """Give a folder exported from a small log, made once."""
    if not _EXPORTED:
        scratch = Path(tempfile.mkdtemp(dir=_scratch()))
        with bench(scratch / "small.lapping") as log:
            full(log, scratch)
            export_log(log, scratch / "folder")
        atexit.register(shutil.rmtree, scratch, ignore_errors=True)
        _EXPORTED.append(scratch / "folder")
    return _EXPORTED[0]


TARGETS: dict[str, Target] = {
    "units": units,
    "readings": readings,
    "pictures": pictures,
    "folders": folders,
}
WORDS: dict[str, tuple[str, ...]] = {
    "units": (
        *("0.05mm", "50um", "50µm", "2thou", "0.002in", "±0.04mm", "1/64in", '2"'),
        *("0,05", "-12", "+3", "1e-3", "arcsec", "um/m", "0.02mm/m", "inf", "½", "−4"),
    ),
    "readings": (
        *("# method:", "dial", "feeler", "straightedge", "level", "winding", "square"),
        *("# face: sole", "lap", "# length: 250 mm", "# width: 60 mm", "# unit: um"),
        *("# mouth: 80 mm to 86 mm", "# holes: 5,5,3", "# sense: high-positive"),
        *("low-positive", "# datum: gravity", "# leaves:", "# turned: half", "seat"),
        *("# reference_at:", "along,across,reading", "across\\along", "goes", "stops"),
        *("line", "no light", ";", "\t", ",", "\n", "\r\n", '"', "\ufeff", "0.05+0.10"),
    ),
    "pictures": ("\xff\xd8\xff", "Exif", "IHDR", "IDAT", "acTL", "ftypheic"),
    "folders": ('"id"', '"entry"', "null", "1", "-1", "{}", "[]", '"sha256"', ",,"),
}


def seeds(name: str) -> list[bytes]:
    """Give inputs to begin with: whole ones, which are then spoilt."""
    if name == "units":
        return [word.encode() for word in WORDS["units"]]
    if name == "readings":
        paths = [*SAMPLES.glob("*.csv"), *(ROOT / "tests" / "bad_files").glob("*.csv")]
        return [path.read_bytes() for path in sorted(paths)]
    if name == "pictures":
        return small_pictures()
    files = sorted(path for path in exported().iterdir() if path.is_file())
    return [bytes([number]) + path.read_bytes() for number, path in enumerate(files)]


def small_pictures() -> list[bytes]:
    """Give small pictures of the kinds that are read and of some that are refused."""
    found = []
    plain = Image.linear_gradient("L").resize((48, 32))
    for mode, kind in (
        ("RGB", "JPEG"),
        ("L", "JPEG"),
        ("CMYK", "JPEG"),
        ("RGB", "PNG"),
        ("RGBA", "PNG"),
        ("P", "PNG"),
        ("RGB", "BMP"),
    ):
        held = io.BytesIO()
        exif = Image.Exif()
        exif[0x0112] = 6
        plain.convert(mode).save(
            held, kind, **({"exif": exif} if kind != "BMP" else {})
        )
        found.append(held.getvalue())
    return found
