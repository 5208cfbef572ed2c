"""The line that goes on from the verdict of a brief."""

from types import SimpleNamespace

import pytest

from simsoft.cli import next_step as module
from simsoft.cli.next_step import next_step
from simsoft.design.brief import GO, MARGINAL, NO_GO, OPEN, Finding


def told(monkeypatch, verdicts, seen=(), overrides=()):
    findings = [Finding(None, verdict, None, 0.0, None) for verdict in verdicts]
    monkeypatch.setattr(module, "judge", lambda *_, **__: findings)
    result = SimpleNamespace(case=SimpleNamespace(seen=seen), records=())
    return next_step(result, "my tail.toml", overrides)


def test_go_asks_how_often(monkeypatch):
    assert told(monkeypatch, [GO, GO]).endswith("simsoft tolerance 'my tail.toml'")
    assert "simsoft tolerance" in told(monkeypatch, [GO, OPEN])


@pytest.mark.parametrize("word", [MARGINAL, NO_GO])
def test_a_doubt_or_a_miss_asks_for_a_look_and_then_for_a_change(monkeypatch, word):
    line = told(monkeypatch, [GO, word])
    assert "[[seen]]" in line
    assert line.endswith("simsoft pick 'my tail.toml'")
    assert "[[seen]]" not in told(monkeypatch, [GO, word], seen=("a look",))


def test_the_settings_go_along(monkeypatch):
    line = told(monkeypatch, [NO_GO], overrides=["water.temperature=5 degC"])
    assert line.endswith("'my tail.toml' --set 'water.temperature=5 degC'")


@pytest.mark.parametrize("verdicts", [[], [OPEN]])
def test_without_an_answered_wish_there_is_no_next(monkeypatch, verdicts):
    assert told(monkeypatch, verdicts) is None
