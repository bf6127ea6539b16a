"""Damaged files of every kind that is read, each made from its kind and a seed, and what `calibrate` makes of them.

The command runs in a process of its own, with a bound on memory and on time for each file: a crash of a decoder, a
hang and a hunger for memory are told apart from a sentence.
"""

import io
import multiprocessing
import random
import resource
import shutil
import signal
import warnings
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

import cv2
import imagecodecs
import img2pdf
import numpy as np
import pikepdf
import tifffile
from PIL import Image
from typer.testing import CliRunner

from calibrate.__main__ import app
from calibrate.record import LEVEL_NAME, RECORD_NAME

MOST_BYTES = 4 * 2**30
"""Address space that a file may take beyond what the program holds without any."""
MOST_S = 60
"""For one small file; it takes some hundredths of a second where nothing is wrong with it."""
MOST_HARMS = 6
HEAD_BYTES = 256
PNG_MARK, CHUNK_BYTES = b"\x89PNG\r\n\x1a\n", 12
TELLING = (b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\xff\xff\xff\x7f", b"\0\x01\0\0", b"\x80")
"""Numbers at which lengths and counts go wrong."""
PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(["calibrate.__main__"])


def drawn() -> np.ndarray:
    """A plate with a hole inside a border, small, so that many can be tried."""
    grey = np.full((300, 450), 245, np.uint8)
    cv2.rectangle(grey, (10, 10), (440, 290), 20, 2)
    cv2.rectangle(grey, (100, 75), (350, 225), 20, 1)
    cv2.circle(grey, (225, 150), 40, 20, 1)
    return grey


def _by_pillow(kind: str, mode: str = "L", **options: object) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(drawn()).convert(mode).save(stream, kind, **options)
    return stream.getvalue()


def _by_tifffile(pages: int = 1, **options: object) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, np.stack([drawn()] * pages), photometric="minisblack", metadata=None, **options)
    return stream.getvalue()


def _deep_png() -> bytes:
    return bytes(imagecodecs.png_encode(drawn().astype(np.uint16) * 257))


def _pdf(drawn_in_lines: bool, **options: object) -> bytes:
    stream = io.BytesIO()
    if drawn_in_lines:
        pdf = pikepdf.new()
        pdf.add_blank_page(page_size=(108, 72))
        pdf.pages[0].Contents = pdf.make_stream(b"9 9 90 54 re S 30 20 40 30 re S", FlateDecode=False)
    else:
        pdf = pikepdf.open(io.BytesIO(img2pdf.convert(_by_pillow("PNG", dpi=(75, 75)))))
    pdf.save(stream, **options)
    return stream.getvalue()


KINDS: dict[str, Callable[[], bytes]] = {
    "png": lambda: _by_pillow("PNG"),
    "16-bit.png": _deep_png,
    "palette.png": lambda: _by_pillow("PNG", "P"),
    "jpg": lambda: _by_pillow("JPEG"),
    "progressive.jpg": lambda: _by_pillow("JPEG", "RGB", progressive=True),
    "jp2": lambda: _by_pillow("JPEG2000"),
    "j2k": lambda: _by_pillow("JPEG2000", "RGB", no_jp2=True),
    "g4.tif": lambda: _by_pillow("TIFF", "1", compression="group4"),
    "pages.tif": lambda: _by_tifffile(3, compression="deflate"),
    "tiled.tif": lambda: _by_tifffile(tile=(64, 64), compression="jpeg"),
    "big.tif": lambda: _by_tifffile(bigtiff=True, compression="lzw"),
    "scan.pdf": lambda: _pdf(False, object_stream_mode=pikepdf.ObjectStreamMode.disable),
    "packed.pdf": lambda: _pdf(False, object_stream_mode=pikepdf.ObjectStreamMode.generate),
    "lines.pdf": lambda: _pdf(True),
}  # fmt: skip


def mutant(data: bytes, seed: int) -> bytes:
    """A file with a few harms: bits, numbers, blocks that are gone, moved, doubled, foreign, or cut off."""
    rng = random.Random(seed)
    for _ in range(rng.randint(1, MOST_HARMS)):
        near = HEAD_BYTES if rng.random() < 0.5 else len(data)
        at, length = rng.randrange(max(1, min(near, len(data)))), min(int(2 ** rng.uniform(0, 8)), len(data))
        tail = data[at + length :]
        data = rng.choice(
            [
                data[:at] + bytes([(data[at] if data else 0) ^ 1 << rng.randrange(8)]) + data[at + 1 :],
                data[:at] + (number := rng.choice(TELLING)) + data[at + len(number) :],
                data[:at] + rng.randbytes(length) + tail,
                data[:at] + tail,
                data[: at + length] + data[at:],
                tail + data[: at + length],
                data[:at] if rng.random() < 0.3 else data[:at] + bytes(length) + tail,
            ]
        )
    return _with_checksums(data) if data.startswith(PNG_MARK) and seed % 2 else data


def _with_checksums(png: bytes) -> bytes:
    """A PNG whose chunks have right checksums again: damage behind them is seen by the decoder too."""
    whole, at = PNG_MARK, len(PNG_MARK)
    while at + CHUNK_BYTES <= len(png):
        length = int.from_bytes(png[at : at + 4])
        body = png[at + 4 : at + 8 + length]
        whole += png[at : at + 4] + body + zlib.crc32(body).to_bytes(4)
        at += CHUNK_BYTES + length
    return whole + png[at:]


@dataclass(frozen=True)
class Verdict:
    """What became of one file: "read", "told", "hungry" (told for want of memory), or what is wrong.

    ``peak_bytes`` is the most memory that its process has held so far.
    """

    seed: int
    what: str
    peak_bytes: int = 0


def judged(kind: str, seeds: Sequence[int], folder: Path) -> Iterator[Verdict]:
    """Try files; a process that dies is a verdict too, and the next file gets a new one."""
    left = list(seeds)
    while left:
        here, there = PROCESSES.Pipe()
        child = PROCESSES.Process(target=_try_all, args=(kind, left, folder, there))
        child.start()
        there.close()
        try:
            while left:
                verdict = here.recv()
                left.remove(verdict.seed)
                yield verdict
        except EOFError:
            child.join()
            yield Verdict(left.pop(0), f"the process died by signal {-(child.exitcode or 0)}")
        child.join()
        here.close()


def _try_all(kind: str, seeds: Sequence[int], folder: Path, pipe: Connection) -> None:
    warnings.simplefilter("ignore")
    data = KINDS[kind]()
    used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (used + MOST_BYTES, used + MOST_BYTES))
    for seed in seeds:
        signal.alarm(MOST_S)
        what = _try(kind, mutant(data, seed), folder)
        pipe.send(Verdict(seed, what, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024))
    signal.alarm(0)


def _try(kind: str, data: bytes, folder: Path) -> str:
    path, out = folder / f"mutant.{kind}", folder / "out"
    path.write_bytes(data)
    answer = CliRunner().invoke(app, [str(path), "--out", str(out), "--quiet"])
    wrong = _wrong(answer.exit_code, answer.stderr, out)
    if answer.exception is not None and not isinstance(answer.exception, SystemExit):
        wrong = f"{type(answer.exception).__name__}: {answer.exception}"
    shutil.rmtree(out, ignore_errors=True)
    if wrong:
        return wrong
    return "read" if answer.exit_code == 0 else "hungry" if "more memory" in answer.stderr else "told"


def _wrong(code: int, told: str, out: Path) -> str:
    """What is wrong with an answer: no sentence, more than one a page, or a half-written result."""
    folders = {path.parent for path in out.rglob("*") if path.is_file()}
    if any({path.name for path in folder.iterdir()} != {LEVEL_NAME, RECORD_NAME} for folder in folders):
        return "a half-written result"
    if code == 0 and (not folders or told):
        return "no result and no sentence" if not folders else f"a result and a sentence: {told}"
    lines = told.splitlines()
    if code != 0 and (not lines or not all(line.endswith(".") and len(line) > 20 for line in lines)):
        return f"code {code}, told: {told!r}"
    return ""
