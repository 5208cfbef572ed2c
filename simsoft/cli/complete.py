"""What a shell offers on the tab key: files, kinds of part, demo cases, keys, checks, paths."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from simsoft.core.errors import SimsoftError


def files(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Let the shell offer files."""
    return [CompletionItem(incomplete, type="file")]


def folders(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Let the shell offer folders."""
    return [CompletionItem(incomplete, type="dir")]


def kinds(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the kinds of part."""
    from simsoft.case.starter import KINDS

    return _beginning(KINDS, incomplete)


def demos(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the demo cases."""
    from simsoft.case.starter import demo_files

    try:
        return _beginning(sorted(demo_files()), incomplete)
    except SimsoftError:
        return []


def case_keys(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the keys of a case."""
    from simsoft.case.keys import all_keys

    return _beginning((key.path for key in all_keys()), incomplete)


def topics(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the pages of the guide."""
    from simsoft.cli.guide import guide_pages

    return _beginning(guide_pages(), incomplete)


def checks(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the published checks."""
    from simsoft.validate.locate import EXPECTED_FILE, checks_directory

    try:
        found = checks_directory().glob(f"*/{EXPECTED_FILE}")
        return _beginning(sorted(path.parent.name for path in found), incomplete)
    except SimsoftError:
        return []


def paths(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the values of the case named on the line, as ``PATH=``."""
    case = ctx.params.get("case") or _case_on_the_line()
    try:
        tables = tomllib.loads(Path(str(case)).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return []
    return _beginning((f"{path}=" for path in _values(tables, "")), incomplete)


def _case_on_the_line() -> str:
    """Return the case where the line so far cannot be parsed, as it ends in an option."""
    words = os.environ.get("COMP_WORDS", "").split()
    return next((word for word in words if word.endswith(".toml")), "")


def _values(tables: dict[str, object], start: str) -> Iterable[str]:
    for key, value in tables.items():
        path = f"{start}{key}"
        entries = value if isinstance(value, list) else [value]
        inner = [entry for entry in entries if isinstance(entry, dict)]
        if not inner:
            yield path
        for entry in inner:
            named = entry.get("name") if isinstance(value, list) else None
            if named is not None or isinstance(value, dict):
                yield from _values(entry, f"{path}.{named}." if named else f"{path}.")


def _beginning(words: Iterable[str], start: str) -> list[str]:
    return [word for word in words if word.startswith(start)]
