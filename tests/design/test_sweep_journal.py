"""The journal whatever happens to its file: rows are what was written, or they are run again."""

import os
import random
import stat
import warnings

import pytest
from sweep_cases import STRIP

from simsoft.cli import main as cli
from simsoft.core.errors import DamageWarning, OutputError
from simsoft.design.sweep.journal import journal
from simsoft.design.sweep.row import DONE, Cell, Row

FLIPS = 60  # single bits turned; the long run turns more


def rows(count):
    return [
        Row(
            f"{i:064x}",
            DONE,
            "",
            (Cell(f'["s","p","q{i}","Hz",{{}}]', i / 7.0, 0.0, 1.0, None, "b"),),
        )
        for i in range(count)
    ]


@pytest.fixture
def filled(tmp_path):
    kept = rows(40)
    with journal(tmp_path) as into:
        into.put(kept)
    return kept


def read(folder, keys):
    """Return the rows of a journal and what was said about damage."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        with journal(folder) as kept:
            known = kept.known(keys)
            found = kept.get(keys)
    assert set(found) == known
    assert all(issubclass(item.category, DamageWarning) for item in caught)
    return found, [str(item.message) for item in caught]


def test_rows_come_back_as_they_were_put(tmp_path, filled):
    found, said = read(tmp_path, [row.key for row in filled])
    assert [found[row.key] for row in filled] == filled
    assert said == []


def flipped(data, bit):
    changed = bytearray(data)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


def spoilt_reads(folder, kept, bits):
    """Turn one bit at a time; return how often something was lost and how often that was named."""
    path = folder / "rows.sqlite"
    whole, keys = path.read_bytes(), [row.key for row in kept]
    lost = named = 0
    for bit in bits:
        for old in folder.iterdir():
            old.unlink()
        path.write_bytes(flipped(whole, bit))
        found, said = read(folder, keys)
        for row in kept:
            assert found.get(row.key, row) == row, f"bit {bit}: a row is not what was written"
        lost += len(found) < len(kept)
        named += bool(said)
        again, _ = read(folder, keys)
        assert again == found, f"bit {bit}: the second opening finds other rows"
    return lost, named


def test_no_turned_bit_gives_a_wrong_row_or_a_traceback(tmp_path, filled):
    size = 8 * (tmp_path / "rows.sqlite").stat().st_size
    bits = random.Random(20).sample(range(size), FLIPS)
    lost, named = spoilt_reads(tmp_path, filled, bits)
    assert lost > 0
    assert named >= lost // 2


def test_every_byte_of_the_head_may_be_wrong(tmp_path, filled):
    spoilt_reads(tmp_path, filled, range(3, 800, 17))


@pytest.mark.slow
def test_turned_bits_long(tmp_path, filled):
    size = 8 * (tmp_path / "rows.sqlite").stat().st_size
    spoilt_reads(tmp_path, filled, random.Random(7).sample(range(size), 1000))


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9])
def test_a_cut_file_is_set_aside_and_named(tmp_path, filled, share):
    path = tmp_path / "rows.sqlite"
    path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])
    found, said = read(tmp_path, [row.key for row in filled])
    assert len(found) < len(filled)
    assert share == 0.0 or "set aside as rows.damaged-1.sqlite" in said[0]


def test_sound_rows_are_carried_over_from_a_damaged_file(tmp_path, filled):
    path = tmp_path / "rows.sqlite"
    data = bytearray(path.read_bytes())
    data[36] ^= 0xFF  # pages said to be free
    path.write_bytes(bytes(data))
    found, said = read(tmp_path, [row.key for row in filled])
    assert found == {row.key: row for row in filled}
    assert "40 rows in it are sound" in said[0]


def test_a_damaged_row_is_named_and_not_known(tmp_path, filled):
    with journal(tmp_path) as kept:
        kept.connection.execute(
            "UPDATE checked SET row = substr(row, 1, 20) || x'00' WHERE key = ?", (filled[3].key,)
        )
    found, said = read(tmp_path, [row.key for row in filled])
    assert set(found) == {row.key for row in filled} - {filled[3].key}
    assert said == [
        f"{tmp_path / 'rows.sqlite'}: row {filled[3].key[:12]} is damaged; it is run again"
    ]


def test_a_row_under_another_key_is_no_row(tmp_path, filled):
    with journal(tmp_path) as kept:
        blob = kept.connection.execute("SELECT row FROM checked WHERE key = ?", (filled[0].key,))
        kept.connection.execute("INSERT INTO checked VALUES (?, ?)", ("f" * 64, *blob.fetchone()))
    found, _ = read(tmp_path, ["f" * 64])
    assert found == {}


@pytest.mark.skipif(os.name != "posix", reason="modes and owners")
def test_the_file_is_the_users_alone(tmp_path, filled):
    assert stat.S_IMODE((tmp_path / "rows.sqlite").stat().st_mode) == 0o600


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives away")
def test_the_file_of_another_user_is_refused(tmp_path, filled):
    os.chown(tmp_path / "rows.sqlite", 12345, 12345)
    with pytest.raises(OutputError, match="belongs to another user"), journal(tmp_path):
        pass


@pytest.fixture
def swept(tmp_path, monkeypatch, capsys):
    """Sweep a small case in a folder; return what the command says on stderr."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "strip.toml").write_text(STRIP)
    words = ["sweep", "strip.toml", "--workers", "1", "--out", "out", "--vary"]

    def call():
        with warnings.catch_warnings():
            warnings.simplefilter("always")
            with pytest.raises(SystemExit) as caught:
                cli.main([*words, "parts.strip.thickness=1:2:0.5 mm"])
        assert caught.value.code == 0
        return capsys.readouterr().err

    call()
    return call


def test_a_damaged_row_of_a_sweep_is_run_again_and_named(swept, tmp_path):
    out = tmp_path / "out"
    whole = {name: (out / name).read_bytes() for name in ("sweep.h5", "sweep.csv")}
    with journal(out) as kept:
        kept.connection.execute("UPDATE checked SET row = x'00' WHERE key LIKE '%'")
    (out / "sweep.h5").unlink()
    said = swept()
    assert said.count("is damaged; it is run again") == 3
    assert {name: (out / name).read_bytes() for name in whole} == whole


def test_a_damaged_sweep_file_is_written_again_and_named(swept, tmp_path):
    path = tmp_path / "out" / "sweep.h5"
    whole = path.read_bytes()
    place = whole.index(b"missing_index") if b"missing_index" in whole else len(whole) // 2
    path.write_bytes(whole[: max(place, 3 * len(whole) // 4)])
    swept()
    assert path.read_bytes() == whole
    changed = bytearray(whole)
    changed[len(whole) // 2] ^= 1
    path.write_bytes(bytes(changed))
    assert "is damaged, its checksum does not fit; it is written again" in swept()
    assert path.read_bytes() == whole


def test_a_damaged_name_that_is_no_text_is_named_like_any_damage(tmp_path, filled):
    """The database quotes such a name in its reason, and a reason must be text."""
    path = tmp_path / "rows.sqlite"
    data = path.read_bytes()
    at = data.index(b"CREATE TABLE")
    for place in range(at, at + 40):
        path.write_bytes(data[:place] + b"\xc5" + data[place + 1 :])
        found, said = read(tmp_path, [row.key for row in filled])
        for row in filled:
            assert found.get(row.key, row) == row
        assert said
        for old in tmp_path.iterdir():
            old.unlink()
