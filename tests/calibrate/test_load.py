import hashlib
import struct
import zlib

import img2pdf
import numpy as np
import pikepdf
import pypdfium2
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps

from calibrate.errors import InputError
from calibrate.files.depth import to_eight_bit, upright
from calibrate.files.load import load_page, page_count
from calibrate.files.plain_png import read_plain_png
from calibrate.sheet import ResolutionStatus

RAMP = np.tile(np.arange(240, dtype=np.uint8), (120, 1))
"""Every column its own grey: a wrong turn, mirror or polarity shows."""
BLACK_CORNER = np.ones((120, 240), np.bool_)
BLACK_CORNER[:30, :50] = False


def write_tiff(path, samples, **options):
    tifffile.imwrite(path, samples, metadata=None, **options)
    return path


class TestTiff:
    @pytest.mark.parametrize("options", [{}, {"compression": "deflate"}, {"tile": (64, 64)}, {"rowsperstrip": 7}])
    def test_eight_bit_grey_comes_back_exactly(self, tmp_path, options):
        page = load_page(write_tiff(tmp_path / "a.tif", RAMP, **options))
        assert np.array_equal(page.pixels, RAMP)

    @pytest.mark.parametrize("compression", ["group4", "tiff_deflate", None])
    @pytest.mark.parametrize("mode", ["white is zero", "black is zero"])
    def test_one_bit(self, tmp_path, compression, mode):
        # Written by libtiff through Pillow, an outside writer of fax pages.
        image = Image.fromarray(BLACK_CORNER)
        options = {} if compression is None else {"compression": compression}
        image.save(tmp_path / "a.tif", tiffinfo={262: 0 if mode == "white is zero" else 1}, **options)
        with tifffile.TiffFile(tmp_path / "a.tif") as tiff:
            stored = tiff.pages[0].photometric
        with Image.open(tmp_path / "a.tif") as reopened:
            seen = np.asarray(reopened.convert("L"))
        assert np.array_equal(load_page(tmp_path / "a.tif").pixels, seen), stored

    def test_white_is_zero_is_turned_over(self, tmp_path):
        path = write_tiff(tmp_path / "a.tif", RAMP, photometric="miniswhite")
        assert np.array_equal(load_page(path).pixels, 255 - RAMP)

    def test_sixteen_bit_keeps_the_scale(self, tmp_path):
        path = write_tiff(tmp_path / "a.tif", RAMP.astype(np.uint16) * 257)
        page = load_page(path)
        assert page.pixels.dtype == np.uint8
        # The brightest sample is below full scale; the scale is the power of two above it, not the sample itself.
        assert np.array_equal(page.pixels, RAMP)

    def test_pages_are_counted_and_chosen(self, tmp_path):
        write_tiff(tmp_path / "a.tif", np.stack([RAMP, 255 - RAMP, RAMP // 2]), photometric="minisblack")
        assert page_count(tmp_path / "a.tif") == 3
        page = load_page(tmp_path / "a.tif", 2)
        assert (page.page, page.page_count) == (2, 3)
        assert np.array_equal(page.pixels, 255 - RAMP)

    @pytest.mark.parametrize("page", [0, -1, 4])
    def test_a_page_out_of_range_is_told(self, tmp_path, page):
        write_tiff(tmp_path / "a.tif", np.stack([RAMP] * 3), photometric="minisblack")
        with pytest.raises(InputError, match=f"no page {page}: the file has 3 pages"):
            load_page(tmp_path / "a.tif", page)

    # A metre is 39.37 inches: 118.11 pixels a centimetre are 300 an inch.
    @pytest.mark.parametrize(("unit", "value", "dpi"), [("INCH", 300, 300), ("CENTIMETER", 118.11, 300)])
    def test_resolution_units(self, tmp_path, unit, value, dpi):
        path = write_tiff(tmp_path / "a.tif", RAMP, resolution=(value, 1.25 * value), resolutionunit=unit)
        resolution = load_page(path).resolution
        assert resolution.status is ResolutionStatus.STATED
        assert resolution.x_dpi == pytest.approx(dpi, rel=1e-4)
        assert resolution.y_dpi == pytest.approx(1.25 * dpi, rel=1e-4)

    def test_no_unit_is_no_resolution(self, tmp_path):
        path = write_tiff(tmp_path / "a.tif", RAMP, resolution=(300, 300), resolutionunit="NONE")
        assert load_page(path).resolution.status is ResolutionStatus.UNKNOWN

    def test_colour_stays_colour(self, tmp_path):
        colour = np.dstack([RAMP, RAMP // 2, 255 - RAMP])
        assert np.array_equal(load_page(write_tiff(tmp_path / "a.tif", colour, photometric="rgb")).pixels, colour)

    def test_planes_stored_apart_come_together(self, tmp_path):
        colour = np.dstack([RAMP, RAMP // 2, 255 - RAMP])
        planes = np.moveaxis(colour, -1, 0)
        path = write_tiff(tmp_path / "a.tif", planes, photometric="rgb", planarconfig="separate")
        assert np.array_equal(load_page(path).pixels, colour)


class TestPngAndJpeg:
    def test_sixteen_bit_png(self, tmp_path):
        Image.fromarray(RAMP.astype(np.uint16) * 257).save(tmp_path / "a.png")
        assert np.array_equal(load_page(tmp_path / "a.png").pixels, RAMP)

    def test_one_bit_and_palette_png(self, tmp_path):
        Image.fromarray(BLACK_CORNER).save(tmp_path / "a.png")
        assert np.array_equal(load_page(tmp_path / "a.png").pixels, BLACK_CORNER * np.uint8(255))
        Image.fromarray(RAMP).convert("P").save(tmp_path / "b.png")
        assert np.array_equal(load_page(tmp_path / "b.png").pixels, RAMP)

    def test_transparent_is_paper(self, tmp_path):
        layers = np.dstack([np.zeros_like(RAMP)] * 3 + [RAMP])
        Image.fromarray(layers, "RGBA").save(tmp_path / "a.png")
        assert np.array_equal(load_page(tmp_path / "a.png").pixels, 255 - RAMP)

    def test_density_of_png_is_per_metre(self, tmp_path):
        Image.fromarray(RAMP).save(tmp_path / "a.png", dpi=(300, 300))
        assert load_page(tmp_path / "a.png").resolution.x_dpi == pytest.approx(300, rel=1e-3)

    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_exif_turn_is_pillows(self, tmp_path, orientation):
        exif = Image.Exif()
        exif[274] = orientation
        Image.fromarray(RAMP).save(tmp_path / "a.jpg", exif=exif, quality=95, dpi=(300, 220))
        with Image.open(tmp_path / "a.jpg") as image:
            expected = np.asarray(ImageOps.exif_transpose(image))
        page = load_page(tmp_path / "a.jpg")
        assert np.array_equal(page.pixels, expected)
        assert page.resolution.x_dpi == (220 if orientation >= 5 else 300)

    @pytest.mark.parametrize("behind", [False, True])
    @pytest.mark.parametrize("orientation", [1, 3, 6])
    def test_exif_turn_of_a_png_stands_before_or_behind_its_pixels(self, tmp_path, orientation, behind):
        exif = Image.Exif()
        exif[274] = orientation
        Image.fromarray(np.dstack([RAMP, RAMP[:, ::-1], RAMP])).save(tmp_path / "a.png", exif=exif, dpi=(300, 220))
        if behind:
            data = (tmp_path / "a.png").read_bytes()
            at = data.index(b"eXIf") - 4
            chunk = data[at : at + 12 + struct.unpack(">I", data[at : at + 4])[0]]
            (tmp_path / "a.png").write_bytes(data.replace(chunk, b"")[:-12] + chunk + data[-12:])
        with Image.open(tmp_path / "a.png") as image:
            image.load()
            expected = np.asarray(ImageOps.exif_transpose(image))
        page = load_page(tmp_path / "a.png")
        assert np.array_equal(page.pixels, expected)
        assert page.resolution.x_dpi == pytest.approx(220 if orientation >= 5 else 300, rel=1e-3)

    @pytest.mark.parametrize("colour", [False, True])
    def test_a_png_cut_in_its_pixels_or_with_a_wrong_byte_in_them_is_damaged(self, tmp_path, colour):
        grain = np.random.default_rng(5).integers(0, 255, (120, 200, 3)[: 3 if colour else 2], np.uint8)
        Image.fromarray(grain).save(tmp_path / "a.png")
        data = (tmp_path / "a.png").read_bytes()
        middle = len(data) // 2
        wrong = bytes([data[middle] ^ 1])
        for spoilt in (data[:middle], data[:-200], data[:middle] + wrong + data[middle + 1 :]):
            (tmp_path / "spoilt.png").write_bytes(spoilt)
            with pytest.raises(InputError, match="damaged or cut short"):
                load_page(tmp_path / "spoilt.png")

    @pytest.mark.parametrize("colour", [False, True])
    def test_pixels_of_a_png_in_many_chunks_are_pillows(self, tmp_path, colour):
        ramps = np.dstack([RAMP, RAMP[:, ::-1], 255 - RAMP])
        Image.fromarray(ramps if colour else RAMP).save(tmp_path / "a.png", compress_level=9)
        data = (tmp_path / "a.png").read_bytes()
        at = data.index(b"IDAT") - 4
        body = data[at + 8 : -16]
        parts = [b"IDAT" + body[k : k + 50] for k in range(0, len(body), 50)]
        chunks = [struct.pack(">I", len(p) - 4) + p + struct.pack(">I", zlib.crc32(p)) for p in parts]
        (tmp_path / "a.png").write_bytes(data[:at] + b"".join(chunks) + data[-12:])
        with Image.open(tmp_path / "a.png") as image:
            assert np.array_equal(load_page(tmp_path / "a.png").pixels, np.asarray(image))

    @pytest.mark.parametrize("kind", range(5))
    @pytest.mark.parametrize("colour", [False, True])
    def test_each_filter_of_a_png_is_undone_as_pillow_does(self, tmp_path, kind, colour):
        """ISO/IEC 15948, clause 9: any bytes are a filtered row; Pillow's libpng is the other decoder."""
        height, width = 40, 30
        grain = np.random.default_rng(kind).integers(0, 256, (height, 1 + width * (3 if colour else 1)), np.uint8)
        grain[:, 0] = kind
        header = struct.pack(">IIBBBBB", width, height, 8, 2 if colour else 0, 0, 0, 0)
        chunks = [b"IHDR" + header, b"IDAT" + zlib.compress(grain.tobytes()), b"IEND"]
        stored = [struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in chunks]
        path = tmp_path / "a.png"
        path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(stored))
        with Image.open(path) as image:
            assert np.array_equal(read_plain_png(image), np.asarray(image))

    @pytest.mark.parametrize("options", [{"subsampling": 2}, {"progressive": True}, {"keep_rgb": True}])
    @pytest.mark.parametrize("behind", [b"", b"what a camera adds"])
    def test_pixels_of_a_jpeg_are_pillows(self, tmp_path, options, behind):
        Image.fromarray(np.dstack([RAMP, RAMP[:, ::-1], 255 - RAMP])).save(tmp_path / "a.jpg", **options)
        with (tmp_path / "a.jpg").open("ab") as file:
            file.write(behind)
        with Image.open(tmp_path / "a.jpg") as image:
            assert np.array_equal(load_page(tmp_path / "a.jpg").pixels, np.asarray(image))

    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_turns_of_an_array_are_pillows(self, orientation):
        exif = Image.Exif()
        exif[274] = orientation
        image = Image.fromarray(RAMP)
        image.getexif()[274] = orientation
        assert np.array_equal(upright(RAMP, orientation), np.asarray(ImageOps.exif_transpose(image)))

    def test_a_camera_knows_no_paper(self, tmp_path):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[33434] = 0.01
        Image.fromarray(RAMP).save(tmp_path / "a.jpg", exif=exif, dpi=(300, 300))
        resolution = load_page(tmp_path / "a.jpg").resolution
        assert resolution.status is ResolutionStatus.UNKNOWN
        assert "camera" in resolution.note

    @pytest.mark.parametrize(("size", "focus"), [((400, 300), 28 / 43.267 * 500 / 400), ((600, 300), None)])
    def test_a_stated_focal_length_holds_for_the_whole_picture_alone(self, tmp_path, size, focus):
        """Exif 41989, 40962, 40963; by the diagonal of 36 x 24 mm film (CIPA DCG-001), from memory."""
        exif = Image.Exif()
        exif.get_ifd(0x8769).update({41989: 28, 40962: size[0], 40963: size[1]})
        Image.fromarray(np.full((300, 400), 200, np.uint8)).save(tmp_path / "a.jpg", exif=exif)
        found = load_page(tmp_path / "a.jpg").focus
        assert found == (None if focus is None else pytest.approx(focus, rel=1e-3))

    def test_jpeg_2000(self, tmp_path):
        Image.fromarray(RAMP).save(tmp_path / "a.jp2", irreversible=False)
        assert np.array_equal(load_page(tmp_path / "a.jp2").pixels, RAMP)


class TestPdf:
    @pytest.fixture
    def scan(self, tmp_path):
        path = tmp_path / "scan.png"
        Image.fromarray(np.dstack([RAMP, RAMP // 2, 255 - RAMP])).save(path, dpi=(200, 200))
        return path

    def wrapped(self, scan, tmp_path, **options):
        path = tmp_path / "a.pdf"
        path.write_bytes(img2pdf.convert(str(scan), **options))
        return path

    def test_embedded_scan_at_its_own_pixels(self, scan, tmp_path):
        page = load_page(self.wrapped(scan, tmp_path))
        assert np.array_equal(page.pixels, np.dstack([RAMP, RAMP // 2, 255 - RAMP]))
        assert page.resolution.x_dpi == pytest.approx(200, rel=1e-3)

    @pytest.mark.parametrize(("rotate", "quarters"), [(0, 0), (90, -1), (180, 2), (270, 1)])
    def test_turned_page(self, scan, tmp_path, rotate, quarters):
        # /Rotate turns clockwise when shown (ISO 32000-1, table 30, from memory).
        path = self.wrapped(scan, tmp_path)
        with pikepdf.open(path, allow_overwriting_input=True) as pdf:
            pdf.pages[0].Rotate = rotate
            pdf.save(path)
        expected = np.rot90(np.dstack([RAMP, RAMP // 2, 255 - RAMP]), quarters)
        assert np.array_equal(load_page(path).pixels, expected)

    @pytest.mark.parametrize(
        ("a", "b", "c", "d", "e", "f"),
        [(-1, 0, 0, -1, 1, 1), (0, 1, -1, 0, 1, 0), (0, -1, 1, 0, 0, 1), (-1, 0, 0, 1, 1, 0), (1, 0, 0, -1, 0, 1)],
    )
    def test_turned_and_mirrored_placing_is_as_rendered(self, scan, tmp_path, a, b, c, d, e, f):
        side = 180
        path = self.wrapped(scan, tmp_path)
        with pikepdf.open(path, allow_overwriting_input=True) as pdf:
            page = pdf.pages[0]
            name = next(iter(page.Resources.XObject))
            page.Contents = pdf.make_stream(
                f"q {side * a} {side * b} {side * c} {side * d} {side * e} {side * f} cm {name} Do Q".encode()
            )
            page.MediaBox = [0, 0, side, side]
            pdf.save(path)
        # Outside witness: the page as PDFium draws it.
        document = pypdfium2.PdfDocument(path)
        shown = document[0].render(scale=1).to_numpy()[..., 2::-1].astype(int)
        document.close()
        pixels = load_page(path).pixels
        grid = [(0.2, 0.2), (0.2, 0.8), (0.8, 0.2), (0.8, 0.8)]
        for u, v in grid:
            ours = pixels[int(v * pixels.shape[0]), int(u * pixels.shape[1])].astype(int)
            assert np.abs(ours - shown[int(v * side), int(u * side)]).max() < 12

    def test_vector_page_is_drawn_at_300_dpi(self, tmp_path):
        with pikepdf.new() as pdf:
            pdf.add_blank_page(page_size=(144, 72))
            pdf.pages[0].Contents = pdf.make_stream(b"0 0 36 36 re f")
            pdf.save(tmp_path / "a.pdf")
        page = load_page(tmp_path / "a.pdf")
        assert page.pixels.shape[:2] == (300, 600)
        assert page.pixels[-10, 10].max() == 0
        assert page.pixels[10, 10].min() == 255
        assert page.resolution.x_dpi == 300

    def test_password(self, scan, tmp_path):
        path = self.wrapped(scan, tmp_path)
        with pikepdf.open(path) as pdf:
            pdf.save(tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="o", user="u"))
        with pytest.raises(InputError, match="password"):
            load_page(tmp_path / "locked.pdf")


class TestBadFiles:
    def test_zero_bytes(self, tmp_path):
        (tmp_path / "a.png").touch()
        with pytest.raises(InputError, match="empty"):
            load_page(tmp_path / "a.png")

    def test_missing_and_folder(self, tmp_path):
        with pytest.raises(InputError, match="can't be opened"):
            load_page(tmp_path / "none.png")
        with pytest.raises(InputError, match="folder"):
            load_page(tmp_path)

    def test_wrong_kind(self, tmp_path):
        (tmp_path / "a.png").write_text("<html>not found</html>")
        with pytest.raises(InputError, match="not a TIFF, PNG"):
            load_page(tmp_path / "a.png")

    @pytest.mark.parametrize("part", [0.02, 0.3, 0.7, 0.97])
    @pytest.mark.parametrize("kind", ["png", "jpg", "jp2", "tif", "pdf"])
    def test_cut_short(self, tmp_path, kind, part):
        rng = np.random.default_rng(1)
        Image.fromarray(rng.integers(0, 255, (150, 150), np.uint8)).save(tmp_path / f"a.{kind}")
        data = (tmp_path / f"a.{kind}").read_bytes()
        (tmp_path / f"a.{kind}").write_bytes(data[: int(part * len(data))])
        with pytest.raises(InputError):
            load_page(tmp_path / f"a.{kind}")

    def test_a_billion_pixels_are_refused_from_the_header(self, tmp_path):
        def chunk(name, body):
            return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

        header = chunk(b"IHDR", struct.pack(">IIBBBBB", 40_000, 30_000, 8, 0, 0, 0, 0))
        data = b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")
        (tmp_path / "a.png").write_bytes(data)
        with pytest.raises(InputError, match="40000 x 30000 pixels, more than the 400 million"):
            load_page(tmp_path / "a.png")

    @pytest.mark.parametrize(("width", "height"), [(40_000, 30_000), (65_536, 32_768), (2**31 - 1, 1)])
    def test_a_large_tiff_is_refused_from_the_header(self, tmp_path, width, height):
        samples = np.zeros((16, 16), np.uint8)
        path = write_tiff(tmp_path / "a.tif", samples)
        with tifffile.TiffFile(path, mode="r+b") as tiff:
            tiff.pages[0].tags["ImageWidth"].overwrite(width)
            tiff.pages[0].tags["ImageLength"].overwrite(height)
        with pytest.raises(InputError, match="more than the 400 million"):
            load_page(path)

    @pytest.mark.parametrize("nested", ["pages", "forms", "arrays", "states"])
    def test_a_pdf_that_nests_forever_ends(self, tmp_path, nested):
        """Pages that hold themselves, a form that draws itself, arrays in arrays, states saved without end."""
        deep = 200_000
        content = {"forms": "/A Do", "states": "q " * deep}.get(nested, "0 0 9 9 re f")
        kids = "[2 0 R 3 0 R]" if nested == "pages" else "[3 0 R]"
        more = f"/Nest {'[' * deep}{']' * deep}" if nested == "arrays" else ""
        objects = [
            "<< /Type /Catalog /Pages 2 0 R >>",
            f"<< /Type /Pages /Kids {kids} /Count 1 >>",
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 200] /Contents 4 0 R"
            f" /Resources << /XObject << /A 5 0 R >> >> {more} >>",
            f"<< /Length {len(content)} >>\nstream\n{content}\nendstream",
            "<< /Type /XObject /Subtype /Form /BBox [0 0 200 200] /Resources << /XObject << /A 5 0 R >> >> /Length 8 >>"
            "\nstream\n/A Do   \nendstream",
        ]
        data = "%PDF-1.7\n" + "".join(f"{number} 0 obj\n{each}\nendobj\n" for number, each in enumerate(objects, 1))
        (tmp_path / "a.pdf").write_text(f"{data}trailer\n<< /Root 1 0 R /Size 6 >>\n%%EOF\n")
        sentence = ""
        try:
            assert page_count(tmp_path / "a.pdf") <= 2
            load_page(tmp_path / "a.pdf")
        except InputError as error:
            sentence = str(error)
        assert len(sentence.splitlines()) <= 1

    @pytest.mark.parametrize("back_to", [0, 1, 2])
    def test_a_chain_of_pages_that_comes_back_on_itself_ends(self, tmp_path, back_to):
        path = write_tiff(tmp_path / "a.tif", np.stack([RAMP] * 3), photometric="minisblack")
        with tifffile.TiffFile(path) as tiff:
            offsets = [page.offset for page in tiff.pages]
            tags = struct.unpack("<H", path.read_bytes()[offsets[2] : offsets[2] + 2])[0]
        # An IFD is a count, entries of 12 bytes, and the offset of the next one (TIFF 6.0, section 2).
        next_at, data = offsets[2] + 2 + 12 * tags, bytearray(path.read_bytes())
        data[next_at : next_at + 4] = struct.pack("<I", offsets[back_to])
        path.write_bytes(bytes(data))
        assert page_count(path) <= 3
        assert np.array_equal(load_page(path, 1).pixels, RAMP)

    def test_hash_is_of_the_bytes(self, tmp_path):
        Image.fromarray(RAMP).save(tmp_path / "a.png")
        digest = hashlib.sha256((tmp_path / "a.png").read_bytes()).hexdigest()
        assert load_page(tmp_path / "a.png").sha256 == digest

    @settings(max_examples=60)
    @given(st.integers(0, 2**32 - 1))
    def test_damage_anywhere_gives_a_picture_or_one_sentence(self, tmp_path_factory, seed):
        rng = np.random.default_rng(seed)
        folder = tmp_path_factory.mktemp("damage")
        kind = ["png", "jpg", "jp2", "tif", "pdf"][seed % 5]
        Image.fromarray(RAMP).save(folder / f"a.{kind}")
        data = bytearray((folder / f"a.{kind}").read_bytes())
        for place in rng.integers(0, len(data), 4):
            data[place] = rng.integers(256)
        (folder / f"a.{kind}").write_bytes(bytes(data))
        sentence, dtype = "", None
        try:
            dtype = load_page(folder / f"a.{kind}").pixels.dtype
        except InputError as error:
            sentence = str(error)
        assert dtype == np.uint8 or len(sentence.splitlines()) == 1


class TestDepth:
    @given(st.integers(8, 16), st.integers(0, 2**32 - 1))
    def test_reduction_keeps_order_and_ends(self, bits, seed):
        rng = np.random.default_rng(seed)
        samples = np.sort(rng.integers(0, 2**bits, (1, 50)).astype(np.uint16), axis=1)
        samples[0, 0], samples[0, -1] = 0, 2**bits - 1
        eight = to_eight_bit(samples)
        assert (np.diff(eight.astype(int)) >= 0).all()
        assert (eight[0, 0], eight[0, -1]) == (0, 255)

    def test_signed_samples_are_refused(self):
        with pytest.raises(InputError, match="int16"):
            to_eight_bit(np.zeros((4, 4), np.int16))
