"""The explore server: who may ask, what is refused, one question at a time, when it ends."""

import http.client
import json
import socket
import threading
import time
from pathlib import Path

import pytest

from simsoft.case.read import load, loads
from simsoft.cli import explore_server
from simsoft.cli.explore_server import ADDRESS, TOKEN, Service, make_server, serve
from simsoft.cli.explore_service import service_of
from simsoft.core.errors import InputError, SolveError
from simsoft.design.explore import knobs, predict_setting, settings
from simsoft.design.sweep.run import read_base
from simsoft.design.sweep.screening import screening_records
from simsoft.report.html.explore import answer_data
from simsoft.report.units import show
from simsoft.results.record import select

CASE = Path("cases/paddle_100.toml")


class Running:
    """A server under test and how it is asked."""

    def __init__(self, service):
        self.service = service
        self.server = make_server(service, 0)
        self.port = self.server.server_address[1]
        self.thread = threading.Thread(target=serve, args=(self.server, service), daemon=True)
        self.thread.start()

    def ask(self, method, path, body=None, **headers):
        """Return status and body of a request; headers with None are left out."""
        line = http.client.HTTPConnection(ADDRESS, self.port, timeout=30)
        sent = {TOKEN: self.service.token} | {k.replace("_", "-"): v for k, v in headers.items()}
        data = body if isinstance(body, bytes) or body is None else json.dumps(body).encode()
        try:
            line.request(method, path, data, {k: v for k, v in sent.items() if v is not None})
            reply = line.getresponse()
            return reply.status, reply.read()
        finally:
            line.close()


def stand_in(solve=lambda how, values: {"how": how, **values}):
    return Service("<html>page</html>", "secret-token", solve, lambda values: Path("kept.toml"))


@pytest.fixture
def running():
    started = []

    def start(service):
        started.append(Running(service))
        return started[-1]

    yield start
    for one in started:
        one.server.shutdown()
        one.thread.join(10)


def test_it_listens_on_this_machine_alone(running):
    assert running(stand_in()).server.server_address[0] == "127.0.0.1"


def test_the_page_comes_with_its_token_only(running):
    here = running(stand_in())
    assert here.ask("GET", "/?token=secret-token") == (200, b"<html>page</html>")
    for path in ("/", "/?token=", "/?token=secret-tokem", "/?token=secret-token1"):
        status, body = here.ask("GET", path)
        assert status == 403
        assert b"page" not in body


@pytest.mark.parametrize("path", ["/solve", "/keep", "/alive", "/bye"])
@pytest.mark.parametrize("token", [None, "", "wrong", "secret-token "])
def test_no_question_without_the_token(running, path, token):
    if token == "secret-token ":
        token = "secret-token-"
    here = running(stand_in())
    status, body = here.ask("POST", path, {"values": {}}, **{TOKEN: token})
    assert status == 403
    assert b"wrong token" in body


@pytest.mark.parametrize("host", ["lure.example", "lure.example:80", "127.0.0.1", "0.0.0.0", ""])
def test_a_foreign_host_is_refused(running, host):
    """A page elsewhere whose name is made to point here must not be served."""
    here = running(stand_in())
    for method, path in (("GET", "/?token=secret-token"), ("POST", "/solve")):
        assert here.ask(method, path, {"values": {}}, Host=host)[0] == 403
    assert here.ask("GET", "/?token=secret-token", Host=f"localhost:{here.port}")[0] == 200


def test_a_foreign_origin_is_refused(running):
    here = running(stand_in())
    body = {"values": {}}
    assert here.ask("POST", "/solve", body, Origin="http://lure.example")[0] == 403
    assert here.ask("POST", "/solve", body, Origin=f"http://127.0.0.1:{here.port}")[0] == 200


def test_ten_megabytes_are_not_read(running):
    here = running(stand_in())
    with socket.create_connection((ADDRESS, here.port), timeout=10) as line:
        head = f"POST /solve HTTP/1.1\r\nHost: 127.0.0.1:{here.port}\r\n{TOKEN}: secret-token\r\n"
        line.sendall(f"{head}Content-Length: 10000000\r\n\r\n".encode())
        assert b"413" in line.recv(200)  # answered before the body is sent
    assert here.ask("POST", "/alive", {})[0] == 200


@pytest.mark.parametrize(
    "body",
    [
        b'{"values": {"a": NaN}}', b'{"values": {"a": Infinity}}', b"[" * 5000, b"[]", b"1",
        b'{"values": [1]}', b'{"values": {}, "how": "guess"}', b"\xff\xfe", b"",
    ],
)  # fmt: skip
def test_what_is_no_question_is_refused(running, body):
    asked = []
    here = running(stand_in(lambda how, values: asked.append(how) or {}))
    status, told = here.ask("POST", "/solve", body)
    assert status == 400
    assert json.loads(told)["problems"]
    assert not asked


def test_a_question_without_a_length_is_refused(running):
    here = running(stand_in())
    with socket.create_connection((ADDRESS, here.port), timeout=10) as line:
        head = f"POST /solve HTTP/1.1\r\nHost: 127.0.0.1:{here.port}\r\n{TOKEN}: secret-token\r\n"
        line.sendall(f"{head}\r\n".encode())
        assert b"411" in line.recv(200)


def test_one_question_at_a_time(running):
    inside, most, go = [], [], threading.Event()

    def slow(how, values):
        inside.append(1)
        most.append(len(inside))
        go.wait(120)
        inside.pop()
        return {}

    here = running(stand_in(slow))
    found = []
    threads = [
        threading.Thread(target=lambda: found.append(here.ask("POST", "/solve", {"values": {}})[0]))
        for _ in range(20)
    ]
    for thread in threads:
        thread.start()
    until = time.monotonic() + 60
    while len(found) < 19 and time.monotonic() < until:
        time.sleep(0.01)
    assert here.ask("POST", "/alive", {})[0] == 200  # it hears while it solves
    go.set()
    for thread in threads:
        thread.join(10)
    assert sorted(found) == [200] + [503] * 19
    assert max(most) == 1


def test_a_thousand_quick_moves_are_answered_or_told_to_wait(running):
    here = running(stand_in())
    found = [here.ask("POST", "/solve", {"values": {"a": n}})[0] for n in range(1000)]
    assert set(found) <= {200, 503}
    assert 200 in found


@pytest.mark.parametrize(
    ("error", "status"),
    [(InputError(["lost"]), 400), (SolveError("lost"), 422), (KeyError("lost"), 500)],
)
def test_errors_are_told_and_the_next_question_is_answered(running, error, status):
    failing = [True]

    def solve(how, values):
        if failing.pop() if failing else False:
            raise error
        return {}

    here = running(stand_in(solve))
    found, body = here.ask("POST", "/solve", {"values": {}})
    assert found == status
    assert "lost" in json.loads(body)["problems"][0]
    assert here.ask("POST", "/solve", {"values": {}})[0] == 200


def test_a_taken_port_is_one_line():
    with socket.create_server((ADDRESS, 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"--port {port}: cannot be taken"):
            make_server(stand_in(), port)


def test_it_ends_when_the_tab_is_gone(running, monkeypatch):
    monkeypatch.setattr(explore_server, "LEFT", 0.2)
    here = running(stand_in())
    assert here.ask("POST", "/bye", {})[0] == 200
    here.thread.join(10)
    assert not here.thread.is_alive()


def test_it_stays_where_the_page_is_loaded_again(running, monkeypatch):
    monkeypatch.setattr(explore_server, "LEFT", 1.5)
    here = running(stand_in())
    here.ask("POST", "/bye", {})
    here.ask("GET", "/?token=secret-token")
    here.thread.join(2.5)
    assert here.thread.is_alive()


@pytest.fixture(scope="module")
def base():
    return read_base(str(CASE), ())


def test_knobs_hold_the_cases_own_values(base):
    known = {knob.path: knob for knob in knobs(base)}
    assert {"parts.tail.thickness", "material.durometer", "water.temperature"} <= set(known)
    for knob in known.values():
        assert knob.low <= knob.value <= knob.high
        places = (knob.value - knob.low) / knob.step
        assert places == pytest.approx(round(places), abs=1e-6)
    assert known["parts.tail.thickness"].value == 2.0
    assert settings(list(known.values()), {path: k.value for path, k in known.items()}) == []


@pytest.mark.parametrize(
    "values",
    [
        {"title": 1.0}, {"parts.tail.thickness": "1 mm"}, {"parts.tail.thickness": 1e9},
        {"parts.tail.thickness": float("nan")}, {"parts.tail.thickness": True},
        {"parts.tail.thickness": None}, {"__class__": 1.0}, {"profile": 1.0},
    ],
)  # fmt: skip
def test_only_knobs_and_only_their_range(base, values):
    with pytest.raises(InputError):
        settings(knobs(base), values)


def test_an_answer_is_that_of_the_screening_solver(base):
    changes = settings(knobs(base), {"parts.tail.thickness": 1.8, "material.durometer": 44.0})
    found = predict_setting(base, changes, "screen")
    own = [r for r in found.records if "water_temperature" not in r.at]
    assert own == screening_records(load(CASE, changes))


def test_a_clause_in_other_water_is_answered_in_that_water(base):
    changes = settings(knobs(base), {"parts.tail.thickness": 1.8})
    found = predict_setting(base, changes, "screen")
    (cold,) = [f for f in found.findings if f.clause.temperature is not None]
    there = f"water.temperature={cold.clause.temperature:.9g} K"
    (start,) = select(screening_records(load(CASE, [*changes, there])), "start_speed")
    assert cold.record.value == pytest.approx(start.value, rel=1e-9)
    assert cold.verdict == ("meets" if start.value <= cold.clause.at_most else "misses")


@pytest.mark.parametrize(("how", "known"), [("screen", False), ("march", True)])
def test_the_width_from_edge_to_edge_stands_where_a_march_tells_it(base, how, known):
    found = predict_setting(base, [], how)
    (tail,) = answer_data(found)["groups"]
    assert ("edge to edge" in tail["head"]) == known
    assert all(len(row) == len(tail["head"]) for row in tail["rows"])
    wide = select(found.records, "edge_to_edge", speed=0.6)
    assert bool(wide) == known
    if known:
        cell = tail["rows"][2][tail["head"].index("edge to edge")]
        assert cell == show(wide[0])


def test_what_only_a_march_tells_is_left_open(base):
    """A stroke that screening does not know is no stroke missed."""
    found = predict_setting(base, [], "screen")
    stroke = next(f for f in found.findings if f.clause.quantity == "stroke")
    assert stroke.record.value is None
    assert stroke.verdict == "not answered"
    assert answer_data(found)["verdict"] == "meets so far"
    rows = answer_data(found)["groups"][0]["rows"]
    assert "beats" in {row[1] for row in rows}


def test_the_whole_service_of_a_case(tmp_path):
    case = tmp_path / "own.toml"
    case.write_text(CASE.read_text(encoding="utf-8"), encoding="utf-8")
    service = service_of(str(case), ())
    assert service.token in service.page
    assert len(service.token) >= 32
    assert service_of(str(case), ()).token != service.token
    found = service.solve("screen", {"parts.tail.thickness": 1.8})
    assert found["groups"][0]["lead"].startswith("starts at")
    json.dumps(found, allow_nan=False)
    kept = service.keep({"parts.tail.thickness": 1.8})
    assert kept == tmp_path / "own_2.toml"
    assert loads(kept.read_text(encoding="utf-8")).parts[0].thickness.values[0] == pytest.approx(
        0.0018
    )
    assert service.keep({}) == tmp_path / "own_3.toml"
    assert case.read_text(encoding="utf-8") == CASE.read_text(encoding="utf-8")


def test_a_start_of_a_coarse_mesh_says_so():
    """The claw's own run gives no start; screening's coarse one must not read like an answer."""
    found = answer_data(predict_setting(read_base("cases/claw_95.toml", ()), [], "screen"))
    (claw,) = found["groups"]
    assert claw["lead"].endswith("by a coarse mesh alone: march it") or claw["lead"].startswith(
        "no start told"
    )
