"""Files that cannot be read as a case: one clear line each."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from case_texts import STRIP

from simsoft.case.files import DEEPEST, LARGEST
from simsoft.case.read import load, loads
from simsoft.core.errors import InputError


def refusal(path: Path) -> str:
    """Return the one line a file is refused with, without its folder."""
    with pytest.raises(InputError) as caught:
        load(path)
    (line,) = caught.value.problems
    return line.removeprefix(f"{path.parent}/")


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b"", "c.toml: is empty; title, material, parts and scenarios are needed"),
        (b"# nothing\n", "c.toml: is empty; title, material, parts and scenarios are needed"),
        (b"\x00\x01\x02", "c.toml: is a binary file; a TOML text file is needed"),
        (b"\x89PNG\r\n\x1a\n\x00", "c.toml: is a binary file; a TOML text file is needed"),
        (STRIP.encode("utf-16"), "c.toml: is UTF-16 text; save it as UTF-8"),
        (
            b'title = "a"\nname = "Fl\xfcgel"\n',
            "c.toml: line 2: is not UTF-8 text (byte 0xfc); save it as UTF-8",
        ),
        (
            b'title = "a"\nlength = 30 mm\n',
            "c.toml: line 2, column 13: not valid TOML: expected newline or end of document "
            'after a statement; lines such as length = "30 mm" are needed',
        ),
        (
            b'title = "a',
            "c.toml: line 1, at the end: not valid TOML: unterminated string; lines such as "
            'length = "30 mm" are needed',
        ),
        (
            b'title = "a"\ntitle = "b"\n',
            "c.toml: line 2, column 12: not valid TOML: cannot overwrite a value; lines such as "
            'length = "30 mm" are needed',
        ),
        (
            b"a = " + b"[" * 5000 + b"]" * 5000,
            f"c.toml: is nested too deeply; {DEEPEST} levels are allowed",
        ),
        (
            b".".join([b"a"] * 2000) + b" = 1",
            f"c.toml: is nested too deeply; {DEEPEST} levels are allowed",
        ),
        (
            b".".join([b"a"] * 400_000) + b" = 1",
            f"c.toml: is nested too deeply; {DEEPEST} levels are allowed",
        ),
        (
            b'"a b"' + b'. "a b"' * 100_000 + b" = 1",
            f"c.toml: is nested too deeply; {DEEPEST} levels are allowed",
        ),
        (b"a = 1" + b"0" * 5000, "c.toml: holds a number of too many digits"),
        (b"#" * (LARGEST + 1), "c.toml: has 1000001 bytes; a case file of at most 1000000"),
    ],
    ids=[
        "empty",
        "comment_only",
        "binary",
        "picture",
        "utf16",
        "latin1",
        "no_quotes",
        "open_string",
        "twice",
        "deep_brackets",
        "deep_dots",
        "many_dots",
        "quoted_dots",
        "digits",
        "huge",
    ],
)
def test_bad_content(tmp_path: Path, data: bytes, line: str) -> None:
    path = tmp_path / "c.toml"
    path.write_bytes(data)
    assert refusal(path).startswith(line)


def test_missing_file(tmp_path: Path) -> None:
    assert refusal(tmp_path / "none.toml") == "none.toml: there is no such file"


def test_a_case_named_without_its_ending_is_guessed(tmp_path: Path) -> None:
    (tmp_path / "tail.toml").write_text("")
    line = refusal(tmp_path / "tail")
    assert line.startswith("tail: there is no such file (did you mean `")
    assert line.endswith("tail.toml`?)")


def test_directory(tmp_path: Path) -> None:
    path = tmp_path / "folder"
    path.mkdir()
    assert refusal(path) == "folder: is a directory; a TOML case file is needed"


def test_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "c.toml").write_text(STRIP)
    assert refusal(tmp_path / "c.toml" / "d") == "d: cannot be read; not a directory"


def test_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert refusal(path) == "pipe: is not a plain file; a TOML case file is needed"


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "c.toml"
    path.write_text(STRIP)

    def denied(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", denied)
    assert refusal(path) == "c.toml: cannot be read; permission is denied"


def test_failing_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "c.toml"
    path.write_text(STRIP)

    def broken(self: Path) -> bytes:
        raise OSError(5, "Input/output error", str(self))

    monkeypatch.setattr(Path, "read_bytes", broken)
    assert refusal(path) == "c.toml: cannot be read; input/output error"


def test_name_with_a_null() -> None:
    with pytest.raises(InputError, match="is not a file name"):
        load("a\0b.toml")


def test_overlong_name() -> None:
    with pytest.raises(InputError, match="cannot be read; file name too long"):
        load("a" * 5000)


def test_text_of_a_library_call_has_the_same_limit() -> None:
    with pytest.raises(InputError, match="has 1000001 characters"):
        loads("#" * (LARGEST + 1))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_good_file(tmp_path: Path, encoding: str, newline: str) -> None:
    path = tmp_path / "köder.toml"
    path.write_bytes(STRIP.replace("\n", newline).encode(encoding))
    case = load(path)
    assert case.title == "Test strip"
    assert case.text.splitlines() == STRIP.splitlines()
    assert load(str(path)) == case
