"""Each attack that the guard is there for, tried on the running program."""

from __future__ import annotations

import socket
import stat

import httpx
import pytest

from measure.workbench.guard import MOST_JSON_BYTES, Keys
from measure.workbench.serve import listen


def test_the_program_listens_on_the_loopback_address_only():
    listening = listen(0)
    try:
        assert listening.getsockname()[0] == "127.0.0.1"
        port = listening.getsockname()[1]
        own = socket.gethostbyname(socket.gethostname())
        if not own.startswith("127."):
            with pytest.raises(ConnectionRefusedError):
                socket.create_connection((own, port), timeout=1)
    finally:
        listening.close()


@pytest.mark.parametrize("path", ["/", "/api/start", "/static/js/main.js", "/openapi.json"])
def test_without_the_cookie_nothing_is_served(workbench, path):
    answer = httpx.get(workbench.address + path)
    assert answer.status_code == 401
    assert "Open the address that storeyrod printed" in answer.text


def test_the_token_is_good_once(workbench):
    address = workbench.first_address
    first = httpx.get(address)
    assert first.status_code == 303
    assert first.headers["location"] == "/"
    cookie = first.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert httpx.get(address).status_code == 401


@pytest.mark.parametrize("token", ["", "wrong", "%00", "ä" * 10, "a" * 5000])
def test_a_wrong_token_lets_nobody_in(workbench, token):
    assert httpx.get(f"{workbench.address}/", params={"key": token}).status_code == 401


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "10.0.0.1:80",
        "localhost.evil.example:9",
        "",
        "[::2]",
    ],
)
def test_a_foreign_host_name_is_refused_though_it_points_here(workbench, host):
    with workbench.client() as client:
        answer = client.get("/api/start", headers={"host": host})
    assert answer.status_code in (400, 421)


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1"]
)
def test_another_pages_origin_is_refused(workbench, origin):
    with workbench.client() as client:
        answer = client.post("/api/demo", json={}, headers={"origin": origin})
    assert answer.status_code == 403


def test_our_own_origin_is_served(workbench):
    with workbench.client() as client:
        answer = client.post(
            "/api/lengths", json={"text": "6ft 8in"}, headers={"origin": workbench.address}
        )
    assert answer.json() == {"length_mm": pytest.approx(2032.0)}


def test_a_picture_put_into_another_page_is_refused(workbench):
    headers = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}
    with workbench.client() as client:
        assert client.get("/api/start", headers=headers).status_code == 403


def test_a_body_that_is_too_large_is_refused_whether_it_says_so_or_not(workbench):
    def endless():
        for _ in range(MOST_JSON_BYTES // 65536 + 2):
            yield b" " * 65536

    with workbench.client() as client:
        said = client.post("/api/lengths", content=b" " * (MOST_JSON_BYTES + 1))
        assert said.status_code == 413
        unsaid = client.post("/api/lengths", content=endless())
        assert unsaid.status_code == 413


def test_answers_forbid_framing_foreign_scripts_and_guessing_of_types(workbench):
    with workbench.client() as client:
        answer = client.get("/")
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_modules_are_served_as_javascript(workbench):
    with workbench.client() as client:
        answer = client.get("/static/js/main.js")
    assert answer.headers["content-type"].startswith("text/javascript")


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static/js/%2e%2e/%2e%2e/guard.py",
        "/static//etc/passwd",
    ],
)
def test_the_pages_files_lead_nowhere_else(workbench, path):
    with workbench.client() as client:
        answer = client.get(httpx.URL(workbench.address + "/").copy_with(raw_path=path.encode()))
    assert answer.status_code in (400, 404)


def test_the_cookies_value_outlives_a_restart_and_is_the_users_own(tmp_path):
    first, second = Keys(tmp_path), Keys(tmp_path)
    assert first.cookie_value == second.cookie_value
    assert first.token != second.token
    assert stat.S_IMODE((tmp_path / "page-key").stat().st_mode) == 0o600


def test_answers_say_how_long_they_took(client):
    told = client.get("/api/start").headers["server-timing"]
    assert told.startswith("all;dur=")
    assert 0.0 < float(told.removeprefix("all;dur=")) < 60_000.0
