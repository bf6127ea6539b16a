"""Who may speak to the page: its own address, its own origin, whoever came in with the one token."""

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from digitize.cli import app as commands
from digitize.review.alone import LOCK, alone
from digitize.review.app import COOKIE, Gate, review_app
from digitize.review.pictures import TILE_PX
from digitize.review.reviewed import ReviewedSheet

HOST = "127.0.0.1:8899"


@pytest.fixture
def gate() -> Gate:
    return Gate(frozenset({HOST}))


@pytest.fixture
def outside(reviewed: ReviewedSheet, gate: Gate) -> TestClient:
    """A browser that has not come in yet."""
    return TestClient(review_app(reviewed, gate), base_url=f"http://{HOST}")


@pytest.fixture
def inside(outside: TestClient, gate: Gate) -> TestClient:
    assert outside.get("/", params={"token": gate.token}).status_code == 200
    return outside


def test_without_the_token_nothing_is_shown(outside: TestClient) -> None:
    for path in ("/", "/content", "/tile/0/0/0.jpg", "/static/page.js", "/changes"):
        assert outside.get(path).status_code == 401
    assert outside.post("/undo").status_code == 401
    assert outside.get("/", params={"token": "guess"}).status_code == 401


def test_the_token_opens_once(reviewed: ReviewedSheet, gate: Gate) -> None:
    token, app = gate.token, review_app(reviewed, gate)
    first, second = (TestClient(app, base_url=f"http://{HOST}") for _ in range(2))
    assert first.get("/", params={"token": token}).status_code == 200
    assert second.get("/", params={"token": token}).status_code == 401
    assert first.get("/", params={"token": token}).status_code == 200  # a reload in the browser that has the pass


@pytest.mark.parametrize("host", ["museum.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:8899.museum.example"])
def test_a_foreign_host_header_is_refused(inside: TestClient, host: str) -> None:
    assert inside.get("/content", headers={"host": host}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://museum.example"},
        {"origin": "null"},
        {"origin": f"https://{HOST}"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_origin_is_refused(inside: TestClient, headers: dict[str, str]) -> None:
    assert inside.post("/undo", headers=headers).status_code == 403


def test_the_pass_is_out_of_reach_of_scripts_and_of_other_sites(outside: TestClient, gate: Gate) -> None:
    answer = outside.get("/", params={"token": gate.token}, follow_redirects=False)
    cookie = answer.headers["set-cookie"].lower()
    assert cookie.startswith(COOKIE)
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_the_page_may_load_nothing_from_the_network(inside: TestClient) -> None:
    page = inside.get("/")
    assert "default-src 'none'" in page.headers["content-security-policy"]
    parts = [page.text, *(inside.get(f"/static/{name}").text for name in ("page.css", "page.js", "sheet.js"))]
    assert not [part for part in parts if re.search(r"https?:|//[a-z]", part.replace("http://www.w3.org", ""))]


def test_only_its_own_files_are_served(inside: TestClient) -> None:
    for path in ("/static/../app.py", "/static/%2e%2e%2fapp.py", "/static/page.html", "/static/app.py"):
        assert inside.get(path).status_code == 404


def test_tiles_cover_the_sheet_and_end_with_it(inside: TestClient) -> None:
    sheet = inside.get("/content").json()["sheet"]
    columns, rows = -(-sheet["width_px"] // TILE_PX), -(-sheet["height_px"] // TILE_PX)
    assert inside.get(f"/tile/0/{columns - 1}/{rows - 1}.jpg").content.startswith(b"\xff\xd8")
    assert inside.get(f"/tile/0/{columns}/0.jpg").status_code == 404
    assert inside.get(f"/tile/{sheet['levels']}/0/0.jpg").status_code == 404
    assert inside.get(f"/tile/{sheet['levels'] - 1}/0/0.jpg").status_code == 200


def test_every_figure_has_its_enlarged_picture(inside: TestClient) -> None:
    for row in inside.get("/content").json()["rows"]:
        assert inside.get(f"/figure/{row['place'][0]}.jpg").content.startswith(b"\xff\xd8")
    assert inside.get("/figure/9999.jpg").status_code == 404


@pytest.mark.parametrize(
    ("body", "kind"),
    [(b"{", "application/json"), (b"[]", "application/json"), (b"{}", "text/plain"), (b"x" * 9999, "application/json"),
     (b'{"kind": "confirm", "by": "", "version": 0}', "application/json")],
)  # fmt: skip
def test_nonsense_is_answered_with_a_sentence(inside: TestClient, body: bytes, kind: str) -> None:
    answer = inside.post("/say", content=body, headers={"content-type": kind})
    assert answer.status_code == 422
    assert answer.json()["refused"].endswith(".")


def test_a_word_is_answered_with_all_that_follows(inside: TestClient) -> None:
    content = inside.get("/content").json()
    place = content["rows"][0]["place"]
    word = {"kind": "confirm", "place": place, "said": "2 7/16", "by": "A. Reader", "version": content["version"]}
    answer = inside.post("/say", json=word).json()
    assert answer["content"]["version"] > content["version"]
    assert answer["changed"]


def test_a_folder_that_is_none_ends_with_code_2(tmp_path: Path) -> None:
    outcome = CliRunner().invoke(commands, ["review", str(tmp_path / "nowhere")])
    assert outcome.exit_code == 2
    outcome = CliRunner().invoke(commands, ["review", str(tmp_path)])
    assert outcome.exit_code == 2
    assert not (tmp_path / LOCK).exists()


def test_a_second_review_of_the_same_folder_is_kept_out(home: Path) -> None:
    with alone(home / "result"):
        outcome = CliRunner().invoke(commands, ["review", str(home / "result"), "--no-browser"])
    assert outcome.exit_code == 2
    assert "under review already" in outcome.output
