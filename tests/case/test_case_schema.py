"""The table of keys and the JSON Schema made of it: whole, and no stricter than the reader."""

import math
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import case_texts
import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.case import patterns, units
from simsoft.case.fields import number_in_unit
from simsoft.case.json_schema import FILE, LINE, json_schema, schema_text
from simsoft.case.keys import WRITTEN, all_keys, find
from simsoft.case.limits import LIMITS
from simsoft.case.read import loads
from simsoft.case.starter import KINDS, starter
from simsoft.core.errors import InputError

ROOT = Path(__file__).parents[2]
WRONG = tomllib.loads((Path(__file__).parent / "refused.toml").read_text(encoding="utf-8"))
RIGHT = [*ROOT.glob("cases/*.toml"), *ROOT.glob("validation/*/case*.toml")]
RIGHT += ROOT.glob("simsoft/case/templates/*.toml")
SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft7Validator(SCHEMA)
MEASURED = {key: limit for key, limit in LIMITS.items() if limit.unit or limit.fraction}


def as_json(value):
    """Return TOML data as editors hand it to a schema: dates as text, no nan and no infinity."""
    if isinstance(value, dict):
        return {key: as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [as_json(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value if isinstance(value, bool | int | float | str) else value.isoformat()


def wrong_text(wrong):
    return getattr(case_texts, wrong["base"]).replace(wrong["old"], wrong["new"], 1)


def test_the_schema_is_a_schema():
    jsonschema.Draft7Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", RIGHT, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_case_template_and_check_is_right(path):
    VALIDATOR.validate(as_json(tomllib.loads(path.read_text(encoding="utf-8"))))


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG.keys())
def test_what_is_wrong_about_one_key_is_refused(wrong):
    tables = as_json(tomllib.loads(wrong_text(wrong)))
    assert VALIDATOR.is_valid(tables) == wrong.get("beyond", False)


@pytest.fixture(scope="module")
def refused_by_server():
    """A function that tells whether a TOML language server's checker refuses any of some files."""
    server = shutil.which("taplo", path=str(Path(sys.executable).parent)) or shutil.which("taplo")
    if server is None:
        pytest.skip("no TOML language server: install the package `taplo`")

    def refused(*words):
        # by its exit status: what it says last is lost at times where it writes into a pipe
        found = subprocess.run(
            [server, "check", *map(str, words)], capture_output=True, check=False, timeout=300
        )
        assert found.returncode in (0, 1)
        return found.returncode == 1

    return refused


def test_a_toml_language_server_sees_the_same(tmp_path, refused_by_server):
    schema = tmp_path / "schema.json"
    schema.write_text(schema_text(), encoding="utf-8")
    right = list(RIGHT)
    for name, wrong in WRONG.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(wrong_text(wrong), encoding="utf-8")
        if wrong.get("beyond"):
            right.append(path)
        else:
            assert refused_by_server("--schema", schema.as_uri(), path), name
    assert len(right) > 100
    assert not refused_by_server("--schema", schema.as_uri(), *right)


@pytest.mark.parametrize("kind", KINDS)
def test_the_schema_line_of_a_starter_case_is_followed(tmp_path, refused_by_server, kind):
    (tmp_path / FILE).write_text(schema_text(), encoding="utf-8")
    path = tmp_path / "own.toml"
    path.write_text(f"{LINE}\n{starter(kind)}", encoding="utf-8")
    assert not refused_by_server(path)
    path.write_text(path.read_text(encoding="utf-8").replace("\nlength", "\nlenght", 1))
    assert refused_by_server(path)


@settings(max_examples=400, deadline=None)
@given(
    key=st.sampled_from(sorted(MEASURED)),
    share=st.floats(-0.2, 1.2),
    scale=st.sampled_from([1e-6, 1e-3, 1.0]),
    form=st.sampled_from([".6g", ".3g", ".2e", ".8f", ".1f", ".0f"]),
    choose=st.integers(0, 40),
)
def test_the_schema_refuses_nothing_that_the_reader_takes(key, share, scale, form, choose):
    limit = MEASURED[key]
    spelled = [s for group in patterns.spellings(limit.unit) for s in group]
    unit = spelled[choose % len(spelled)]
    plain = unit.replace("μ", "µ").replace("%", "percent")
    plain = plain.replace("°C", "degC").replace("°F", "degF").replace("°", "deg")
    number = scale * (limit.low + share * (limit.high - limit.low))
    source = limit.unit or "dimensionless"
    text = f"{units.convert(number, source, plain or 'dimensionless'):{form}} {unit}"
    try:
        number_in_unit(text, limit)
    except ValueError:
        return
    jsonschema.Draft7Validator(patterns.quantity(limit)).validate(text)


@pytest.mark.parametrize("key", all_keys(), ids=lambda key: key.path)
def test_every_key_has_a_meaning_an_example_and_a_way_to_write_it(key):
    assert key.meaning.endswith(".")
    assert len(key.meaning.split()) <= 25
    assert key.form in WRITTEN
    assert key.example


@pytest.mark.parametrize(
    "key", [k for k in all_keys() if k.form not in ("table", "list")], ids=lambda key: key.path
)
def test_examples_and_defaults_are_right_by_the_schema(key):
    schema = SCHEMA
    for step in key.path.split("."):
        schema = schema.get("items", schema)["properties"][step]
    checked = jsonschema.Draft7Validator(schema | {"definitions": SCHEMA["definitions"]})
    for text in filter(None, (key.example, key.default)):
        checked.validate(as_json(tomllib.loads(f"value = {text}"))["value"])


def test_a_key_is_found_by_its_path_or_by_its_end():
    assert [key.path for key in find("parts.thickness")] == ["parts.thickness"]
    assert [key.path for key in find("thickness")] == ["parts.thickness", "tolerance.thickness"]
    with pytest.raises(InputError, match="`thicknes` is no key of a case \\(did you mean"):
        find("thicknes")


def test_meanings_hold_no_key_that_is_gone():
    text = (ROOT / "simsoft" / "case" / "meanings.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(text)
    told = {f"{room}.{key}" for room, keys in tables.pop("of").items() for key in keys} | set(
        tables
    )
    assert told == {key.path for key in all_keys()}


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_case_with_its_schema_line_loads(kind):
    assert loads(f"{LINE}\n{starter(kind)}").title
